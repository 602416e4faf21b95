package compare

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/exact"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Outlier is a peak that lies far from the others of its cell. It is flagged and never dropped.
type Outlier struct {
	Cell      string             `json:"cell"`
	Drop      string             `json:"drop"`
	Peak      quantity.Force     `json:"peak_N"`
	Tests     []message.Sentence `json:"tests"`
	Statement message.Sentence   `json:"statement"`
}

// Outliers tests the logarithms of the peaks that held, cell by cell, by Grubbs' and Dixon's tests at the level 0.05 of
// each cell. Cells with a lower bound among their peaks are tested on those that held; fewer than three cannot be.
func Outliers(cells []Cell) []Outlier {
	out := []Outlier{}
	for _, c := range cells {
		var logs []float64
		var rows []Row
		for _, r := range c.Drops {
			if r.Outcome == drop.Held && r.Peak != nil && !r.CutOff && !r.Again {
				logs, rows = append(logs, math.Log(r.Peak.SI())), append(rows, r)
			}
		}
		flagged := map[int][]message.Sentence{}
		for _, test := range []func([]float64, exact.Side, float64) (exact.Outlier, error){exact.Grubbs, exact.Dixon} {
			o, err := test(logs, exact.Either, SignificanceLevel)
			if err != nil || !o.Flagged {
				continue
			}
			flagged[o.Index] = append(flagged[o.Index], message.Say("%s p = %s", o.Test, probability(o.P)))
		}
		for i, r := range rows {
			if tests := flagged[i]; len(tests) > 0 {
				out = append(out, Outlier{Cell: c.Name(), Drop: r.Drop, Peak: *r.Peak, Tests: tests, Statement: message.Say("drop %s at %s lies far from the others of its cell (%s; %s): look at its record and specimen; it counts unless a cause is found there", message.Own(r.Drop), *r.Peak, message.Names(c.Name()), message.Join(", ", tests...))})
			}
		}
	}
	return out
}
