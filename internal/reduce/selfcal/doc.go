// Package selfcal measures how often the intervals of one reduction hold the truth: arrests like that of the record are computed, so that the
// truth is known, the record's own noise is laid on them, and they are reduced again.
package selfcal
