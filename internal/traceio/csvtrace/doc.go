// Package csvtrace reads force records in delimited text, as loggers write it.
//
// # Dialects
//
//	between fields   comma, semicolon, tab, one or more spaces
//	decimal sign     point, or comma (not with comma between unquoted fields)
//	encoding         UTF-8 or Latin-1, and UTF-16 of either order, with or without byte-order mark
//	line ends        LF, CRLF, CR
//	preamble         any lines before the samples; "Sample rate: 10000 Hz" or "Interval,0.0001" is
//	                 used when there is no time column
//	comments         lines that begin with #, //, %, or ; where that does not part the fields
//	saturated        "# saturated: channel 1, samples 1200 to 1259" before the samples masks them; it is what a live capture
//	                 writes where its source was at the end of its range
//	header           one line of names, with units in brackets, after a slash, an underscore, a space or a
//	                 semicolon ("Force [kN]", "F_kN", "time/s", "Load;kgf"), or a second line of units; or none
//	units            N, kN, daN, kgf, lbf, ...; V, mV, mV/V; g and m/s2, with a mass a force; counts, raw, adc
//	time             s, ms, us, ns, min, h; sample numbers; clock times 13:05:00.123 or 1:05:00.123 PM, with or
//	                 without a date; minutes and seconds 05:00.123;
//	                 or no time column with a rate
//	fields           quoted or not; a separator may trail
//
// Thousands separators are refused: they cannot be told from decimals safely, be they commas, points, quotation
// marks or spaces that do not break. A row has at most 512 fields.
//
// # Time base
//
// Times that lie on a straight line within the digits they are printed with are taken as even, and are not
// kept in memory. The rate is that of the line, rounded to the fewest digits its uncertainty allows.
// Times of which many rows share each, such as whole seconds, give the rate by counting; when they hold unlike
// numbers of rows, the record is refused. Times without a unit are taken in the unit that makes a record of a drop:
// seconds where they do, else ms or us with a warning; where two units do, the record is refused until one is stated.
// Readings that share one time are averaged, readings that go back in time are left out, up to three missing
// samples are bridged by a straight line, and longer gaps are filled with NaN, each with a finding. Times
// that still are uneven are interpolated onto an even base with a warning that says how uneven they were.
//
// # Memory
//
// Text is read in chunks; what is kept is 8 bytes for each sample of each channel kept, and 8 bytes for each
// time as well when the times are not even.
package csvtrace
