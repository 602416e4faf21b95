package traceio

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// DefaultMaxSamples is the number of samples per channel above which a record is refused when
// Options.MaxSamples is 0: 2^28, 2 GiB per channel.
const DefaultMaxSamples = 1 << 28

// Reading is what changes how the bytes of a record are read: what a person knows that the file may not say, and which
// reader reads. It is stored with what was worked out of the record, so that the record is read the same way again: the
// JSON names are stable. The zero value lets the file speak for itself.
type Reading struct {
	// Rate is the sample rate of a record without a time column, or with sample numbers only; 0 = as
	// the file says.
	Rate quantity.Frequency `json:"rate_Hz,omitempty"`
	// Channel keeps only the channel of this name (case does not matter) or column number ("2"); ""
	// keeps all.
	Channel string `json:"channel,omitempty"`
	// Mass turns accelerations into forces, F = m a; 0 leaves them accelerations.
	Mass quantity.Mass `json:"mass_kg,omitempty"`
	// ForceUnit is the unit of the force channel when the file gives none.
	ForceUnit string `json:"force_unit,omitempty"`
	// TimeUnit is the unit of the time column when the file gives none; "" takes seconds.
	TimeUnit string `json:"time_unit,omitempty"`
	// FullScale is what a number of 1 means where a record gives shares of full scale, "5 V" or "50 kN"; "" leaves
	// them shares.
	FullScale string `json:"full_scale,omitempty"`
	// Units gives the unit of a channel by its name (case does not matter) or column number ("2"). It
	// stands above what the file says.
	Units map[string]string `json:"units,omitempty"`
	// DecimalComma says that the decimal sign is a comma where the file leaves it open.
	DecimalComma bool `json:"decimal_comma,omitempty"`
	// By is the reader and its version, "csv/1"; "" = the one that knows the file best.
	By string `json:"by,omitempty"`
}

// Options is how a record is read: what changes what comes out, and what bounds or eases the work.
type Options struct {
	Reading
	// MaxSamples refuses a record with more samples per channel; 0 = DefaultMaxSamples.
	MaxSamples int
	// Samples is the number of samples of each channel when it is known, 0 when not; it only saves memory.
	Samples int
	// Size is the number of bytes to come when it is known, 0 when not; it only saves memory.
	Size int64
	// Checked is the SHA-256 of the bytes in lower-case hex when the caller has checked it: they are not hashed again.
	Checked string
	// Keep says which channel's values are wanted, by its place among channels that have no values yet; the others are
	// checked like it and their values are left out, which saves memory on long records. nil, or -1 = all.
	Keep func(channels []drop.Channel) int
	// Original receives every byte of the file, unchanged and in order, as it is read; nil = nobody.
	Original io.Writer
}

// Limit is the largest number of samples per channel that may be read.
func (o Options) Limit() int {
	if o.MaxSamples > 0 {
		return o.MaxSamples
	}
	return DefaultMaxSamples
}

// UnitOf is the unit given for the channel of this name or column number (counted from 1).
func (r Reading) UnitOf(name, number string) (unit string, given bool) {
	if u, ok := r.Units[name]; ok {
		return u, true
	}
	if u, ok := r.Units[number]; ok {
		return u, true
	}
	for k, u := range r.Units {
		if strings.EqualFold(k, name) {
			return u, true
		}
	}
	return "", false
}

// Choose is the place of the channel that Channel asks for among the names of a record's channels, in the order of their
// numbers; -1 when it asks for none. The error names those that are there.
func (r Reading) Choose(names []string) (int, error) {
	if r.Channel == "" {
		return -1, nil
	}
	for i, n := range names {
		if strings.EqualFold(n, r.Channel) || strconv.Itoa(i+1) == r.Channel {
			return i, nil
		}
	}
	return -1, fmt.Errorf("there is no channel %q; the record has %s", r.Channel, strings.Join(names, ", "))
}
