package drop

import (
	"cmp"
	"encoding"
	"fmt"
	"slices"
)

// Evidence is what a sample of a record is.
type Evidence uint8

// The kinds of evidence. Only a Measured sample shows what the channel did.
const (
	Measured   Evidence = iota
	Bridged             // a straight line between its neighbours stands there
	Saturated           // the amplifier or logger could not follow: the true value lies beyond it
	Lost                // no number came: a gap of the time base, an empty field, NaN
	OutOfRange          // the logger wrote a word or a sign for overload instead of a number
)

var evidenceNames = [...]string{"measured", "bridged", "saturated", "lost", "out of range"}

var _ interface {
	encoding.TextMarshaler
	encoding.TextUnmarshaler
} = (*Evidence)(nil)

// String names the kind.
func (e Evidence) String() string { return evidenceNames[e] }

// MarshalText gives the name.
func (e Evidence) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// UnmarshalText reads the name.
func (e *Evidence) UnmarshalText(text []byte) error {
	i := slices.Index(evidenceNames[:], string(text))
	if i < 0 {
		return fmt.Errorf("%q is no kind of evidence; write one of %v", text, evidenceNames)
	}
	*e = Evidence(i)
	return nil
}

// Stretch says what the samples From to To-1 are, and why.
type Stretch struct {
	From int      `json:"from"`
	To   int      `json:"to"`
	Is   Evidence `json:"is"`
	Why  string   `json:"why,omitempty"`
}

// Mask says which samples of a channel were not measured: stretches in order that do not overlap. A sample in none of
// them was measured, so that the mask of a good record is empty.
type Mask []Stretch

// With gives the mask with one more stretch. Where samples are masked already, they stay what they are.
func (m Mask) With(s Stretch) Mask {
	if s.To <= s.From || s.Is == Measured {
		return m
	}
	if n := len(m); n == 0 || m[n-1].To <= s.From { // the usual case: at the end
		if n > 0 && m[n-1].To == s.From && m[n-1].Is == s.Is && m[n-1].Why == s.Why {
			m[n-1].To = s.To
			return m
		}
		return append(m, s)
	}
	if m.covers(s) { // often, and the rest takes as long as the mask
		return m
	}
	out := make(Mask, 0, len(m)+2)
	put := func(t Stretch) {
		if n := len(out); n > 0 && out[n-1].To == t.From && out[n-1].Is == t.Is && out[n-1].Why == t.Why {
			out[n-1].To = t.To
			return
		}
		out = append(out, t)
	}
	at := s.From // samples of s before it are placed
	free := func(to int) {
		if to = min(to, s.To); at < to {
			t := s
			t.From, t.To = at, to
			put(t)
		}
	}
	for _, t := range m {
		if t.To > at && t.From < s.To || t.From >= s.To {
			free(t.From)
			at = max(at, t.To)
		}
		put(t)
	}
	free(s.To)
	return out
}

// covers tells that every sample of a stretch is in the mask already.
func (m Mask) covers(s Stretch) bool {
	i, _ := slices.BinarySearchFunc(m, s.From, func(t Stretch, at int) int { return cmp.Compare(t.To, at+1) })
	for at := s.From; ; i++ {
		if at >= s.To {
			return true
		}
		if i >= len(m) || m[i].From > at {
			return false
		}
		at = m[i].To
	}
}

// Join gives the mask with the stretches of another. Where both mask a sample, it is what m says.
func (m Mask) Join(other Mask) Mask {
	for _, s := range other {
		m = m.With(s)
	}
	return m
}

// Within gives the stretches that touch the samples from to to-1, cut to them.
func (m Mask) Within(from, to int) Mask {
	var out Mask
	for _, s := range m {
		if s.From, s.To = max(s.From, from), min(s.To, to); s.From < s.To {
			out = append(out, s)
		}
	}
	return out
}

// At is what a sample is.
func (m Mask) At(sample int) Evidence {
	i, _ := slices.BinarySearchFunc(m, sample, func(s Stretch, at int) int {
		switch {
		case s.To <= at:
			return -1
		case s.From > at:
			return 1
		}
		return 0
	})
	if i < len(m) && m[i].From <= sample && sample < m[i].To {
		return m[i].Is
	}
	return Measured
}

// EvidenceCounts is how many samples of a stretch are of each kind.
type EvidenceCounts struct {
	Measured   int `json:"measured"`
	Bridged    int `json:"bridged"`
	Saturated  int `json:"saturated"`
	Lost       int `json:"lost"`
	OutOfRange int `json:"out_of_range"`
}

// Whole tells that all samples were measured.
func (c EvidenceCounts) Whole() bool { return c.Bridged+c.Saturated+c.Lost+c.OutOfRange == 0 }

// Count counts the samples from to to-1.
func (m Mask) Count(from, to int) EvidenceCounts {
	c := EvidenceCounts{Measured: max(to-from, 0)}
	for _, s := range m.Within(from, to) {
		n := s.To - s.From
		c.Measured -= n
		switch s.Is {
		case Measured:
		case Bridged:
			c.Bridged += n
		case Saturated:
			c.Saturated += n
		case Lost:
			c.Lost += n
		case OutOfRange:
			c.OutOfRange += n
		}
	}
	return c
}
