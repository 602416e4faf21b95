package wavtrace

import (
	"fmt"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/traceio/wav"
)

// findings are mandatory because doubtful samples must reach the person: grade, place, fact, way out and the samples concerned.
// A fault makes measures unusable unless a person decides otherwise; "clipped" is the kind that reductions know.
func (all columns) findings(t *drop.Trace, w *wav.Reader) {
	for i, c := range all {
		name := t.Channels[i].Name
		if s := c.full; s.times > 0 {
			t.Findings = append(t.Findings, drop.Finding{Kind: "clipped", Grade: drop.Fault, Place: fmt.Sprintf("%s, sample %d", t.Name, s.from),
				Fact: fmt.Sprintf("%s stands at full scale for %d samples", name, s.to-s.from), From: s.from, To: s.to, Count: s.times,
				WayOut: "the true peak lies beyond it; take it as a bound only, and set a larger range for the next drop"})
		}
		if s := c.none; s.times > 0 {
			t.Findings = append(t.Findings, drop.Finding{Kind: "no-number", Grade: drop.Fault, Place: fmt.Sprintf("%s, sample %d", t.Name, s.from),
				Fact: fmt.Sprintf("%s has no number for %d samples", name, s.to-s.from), From: s.from, To: s.to, Count: s.times,
				WayOut: "look at what wrote the file, and record again"})
		}
	}
	if why := w.Ended(); why != "" {
		t.Findings = append(t.Findings, drop.Finding{Kind: "unfinished", Grade: drop.Warning, Place: t.Name, Fact: why, Count: 1,
			WayOut: "copy the file again when the logger has closed it; what lies behind is missing"})
	}
}

// stretch is the first run of samples of a kind, and how many runs there are.
type stretch struct{ from, to, last, times int }

func (s *stretch) add(at int) {
	if s.times == 0 || at != s.last {
		if s.times++; s.times == 1 {
			s.from, s.to = at, at
		}
	}
	if s.to == at {
		s.to++
	}
	s.last = at + 1
}
