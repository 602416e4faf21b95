// Package compare says what a campaign's drops show together, with broken specimens marked as bounds.
package compare

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Entry is one reduced drop as it enters a comparison.
type Entry struct {
	Drop     drop.Drop
	Outcome  drop.Outcome   // as decided, or as proposed when nobody has decided
	Decided  bool           // a person has settled it
	Reason   string         // of a void drop or an override
	Peak     quantity.Force // NaN when there is no reduction
	Expanded quantity.Force
	Audit    string             // verdict of the audit
	Trusted  bool               // the audit does not disagree
	CutOff   bool               // the record does not show its peak: even the peak is a lower bound
	Rebuilt  *[2]quantity.Force // where the top was rebuilt from the motion of the mass: the peak lies between them
	NoScale  bool               // the uncertainty of the force scale is not known
	Planned  bool               // planned, not taken: it makes its cell known and is only counted
	Again    bool               // an earlier drop of its specimen counts: it is shown and left out of every estimate
	LeftOut  string             // the finding that leaves it out of every estimate, as long as nobody has settled it
}

// Row is one drop in a cell.
type Row struct {
	Drop       string             `json:"drop"`
	Specimen   string             `json:"specimen"`
	Outcome    drop.Outcome       `json:"outcome"`
	Decided    bool               `json:"decided"`
	Reason     string             `json:"reason,omitempty"`
	Peak       *quantity.Force    `json:"peak_N"`
	Expanded   *quantity.Force    `json:"u_N"` // expanded uncertainty
	LowerBound bool               `json:"lower_bound"`
	CutOff     bool               `json:"cut_off"`                   // the record does not show its peak
	Rebuilt    *[2]quantity.Force `json:"peak_interval_N,omitempty"` // where the top was rebuilt
	NoScale    bool               `json:"force_scale_unknown"`       // u_N leaves the force scale out
	Audit      string             `json:"audit_verdict"`
	// Again tells that an earlier drop of the specimen counts and this one is left out of every estimate.
	Again bool `json:"dropped_again"`
	// LeftOut is the finding that leaves the drop out of every estimate.
	LeftOut string `json:"left_out,omitempty"`
}

// Row is the entry as it is shown.
func (e Entry) Row() Row {
	r := Row{
		Drop: e.Drop.ID, Specimen: e.Drop.Specimen.ID, Outcome: e.Outcome, Decided: e.Decided, Reason: e.Reason, Audit: e.Audit,
		LowerBound: e.CutOff || e.Outcome == drop.Broke || e.Outcome == drop.Slipped, CutOff: e.CutOff, Rebuilt: e.Rebuilt, NoScale: e.NoScale, Again: e.Again || e.LeftOut != "", LeftOut: e.LeftOut,
	}
	if p := e.Peak.SI(); !math.IsNaN(p) && !math.IsInf(p, 0) {
		r.Peak, r.Expanded = &e.Peak, &e.Expanded
	}
	return r
}

// Cell is one combination of factor levels.
type Cell struct {
	Levels map[string]string `json:"levels"`
	N      int               `json:"n"` // valid drops: held + broke + slipped
	Held   int               `json:"held"`
	Broke  int               `json:"broke"`
	Slip   int               `json:"slipped"`
	Void   int               `json:"void"`
	// Planned counts the drops of this cell that are planned and not taken; they are not among Drops.
	Planned int `json:"planned"`
	// Again counts the drops of specimens of which an earlier drop counts; they are among Drops and nowhere else.
	Again int `json:"dropped_again"`
	// LeftOut counts the drops that a finding leaves out; they are among Drops and nowhere else.
	LeftOut int   `json:"left_out"`
	Drops   []Row `json:"drops"`
	// Mean, SD, Lo and Hi are of the peaks of the specimens that held, null when too few held. With
	// MeanIsLowerBound they leave out broken, slipped and cut-off drops, whose arrest force would have been
	// higher than their peak.
	Mean             *quantity.Force `json:"mean_N"`
	SD               *quantity.Force `json:"sd_N"`
	Lo               *quantity.Force `json:"lo_N"`
	Hi               *quantity.Force `json:"hi_N"`
	MeanIsLowerBound bool            `json:"mean_is_lower_bound"`
	// BrokeMean is the mean peak at the break of those that broke: a lower bound of their arrest force
	// and a sample of the strength.
	BrokeMean *quantity.Force    `json:"broke_mean_N"`
	BreakLo   *float64           `json:"break_lo"`
	BreakHi   *float64           `json:"break_hi"`
	Statement message.Sentence   `json:"statement"`
	averaged  int                // peaks behind Mean
	entered   int                // when its first drop was
	Warnings  []message.Sentence `json:"warnings"`
}

// Key is the cell's levels in one line, factors in their usual order.
func (c Cell) Key() string { return levelText(c.Levels) }

// Name is the cell's levels without the factors' names, but for some factors.
func (c Cell) Name(but ...string) string {
	var parts []string
	for _, k := range drop.Factors(c.Levels) {
		if !slices.Contains(but, k) {
			parts = append(parts, c.Levels[k])
		}
	}
	return strings.Join(parts, ", ")
}

func levelText(levels map[string]string) string {
	var parts []string
	for _, k := range drop.Factors(levels) {
		parts = append(parts, k+" "+levels[k])
	}
	return strings.Join(parts, ", ")
}

// Cells groups the trial drops by the levels of the factors that vary, in the order of their
// levels, and sums each cell up at the confidence given (0.95 usual). Check drops are left out.
func Cells(entries []Entry, confidence float64) ([]Cell, error) {
	if !(confidence > 0.5 && confidence < 1) {
		return nil, fmt.Errorf("confidence %g is outside 0.5 to 1; 0.95 is usual", confidence)
	}
	entries = MarkAgain(entries)
	var drops []drop.Drop
	for _, e := range entries {
		if e.Drop.Role != drop.Check {
			drops = append(drops, e.Drop)
		}
	}
	factors := drop.VaryingFactors(drops)
	var order []string
	group := map[string][]Entry{}
	level := map[string]map[string]string{}
	for _, e := range entries {
		if e.Drop.Role == drop.Check {
			continue
		}
		l := levelsAmong(e.Drop, factors)
		k := levelText(l)
		if group[k] == nil {
			order = append(order, k)
			level[k] = l
		}
		group[k] = append(group[k], e)
	}
	cells := make([]Cell, 0, len(order))
	for at, k := range order {
		c, err := sumUp(level[k], group[k], confidence)
		if err != nil {
			return nil, fmt.Errorf("cell %s: %w", k, err)
		}
		c.entered = at
		cells = append(cells, c)
	}
	sortCells(cells, factors)
	return cells, nil
}

func sortCells(cells []Cell, factors []string) {
	sort.SliceStable(cells, func(i, j int) bool { return before(cells[i].Levels, cells[j].Levels, factors) })
}

// before orders cells by the first factor in which they differ: quantities by size, words by the alphabet.
func before(a, b map[string]string, factors []string) bool {
	for _, f := range factors {
		if a[f] == b[f] {
			continue
		}
		x, ux, _, errX := quantity.ParseAny(a[f])
		y, uy, _, errY := quantity.ParseAny(b[f])
		if errX == nil && errY == nil && ux.Dim == uy.Dim && x != y {
			return x < y
		}
		return a[f] < b[f]
	}
	return false
}

func sumUp(levels map[string]string, entries []Entry, confidence float64) (Cell, error) {
	c := Cell{Levels: levels, Drops: []Row{}, Warnings: []message.Sentence{}}
	var held, broke []float64
	cut := 0
	for _, e := range entries {
		if e.Planned {
			c.Planned++
			continue
		}
		r := e.Row()
		usable := r.Peak != nil
		c.Drops = append(c.Drops, r)
		switch {
		case e.LeftOut != "" && e.Outcome != drop.Void:
			c.LeftOut++
			continue
		case e.Again:
			c.Again++
			continue
		}
		switch e.Outcome {
		case drop.Held:
			c.Held++
			if e.CutOff {
				cut++
				c.Warnings = append(c.Warnings, message.Say("the record of drop %s does not show its peak, which is left out of the mean; repeat the drop, or void it with a reason", message.Own(e.Drop.ID)))
			} else if usable {
				held = append(held, e.Peak.SI())
			}
		case drop.Broke:
			c.Broke++
			if usable {
				broke = append(broke, e.Peak.SI())
			}
		case drop.Slipped:
			c.Slip++
		case drop.Void:
			c.Void++
			continue
		default:
			c.Warnings = append(c.Warnings, message.Say("drop %s has no outcome yet and is not counted; look at it and decide", message.Own(e.Drop.ID)))
			continue
		}
		if !e.Trusted {
			c.Warnings = append(c.Warnings, message.Say("drop %s counts although its audit disagrees; void it with a reason, or correct what was entered", message.Own(e.Drop.ID)))
		}
	}
	c.N = c.Held + c.Broke + c.Slip
	c.MeanIsLowerBound = c.Broke+c.Slip+cut > 0
	if s, ok := meanInterval(held, confidence); ok {
		c.averaged = s.n
		c.Mean = force(s.mean)
		if s.n > 1 {
			c.SD, c.Lo, c.Hi = force(s.sd), force(s.lo), force(s.hi)
		}
	}
	if s, ok := meanInterval(broke, confidence); ok {
		c.BrokeMean = force(s.mean)
	}
	if c.N > 0 {
		b, err := censor.ExactBinomial(c.Broke, c.N, confidence)
		if err != nil {
			return c, fmt.Errorf("break count: %w", err)
		}
		c.BreakLo, c.BreakHi = &b.Lo, &b.Hi
	}
	c.Statement = c.say(confidence)
	if c.Again > 0 {
		c.Statement = c.Statement.Say(" %d more not counted: an earlier drop of the same specimen counts.", c.Again)
	}
	if c.LeftOut > 0 {
		c.Statement = c.Statement.Say(" %d more left out until it is settled what they are: see hardcatch doctor.", c.LeftOut)
	}
	if c.Planned > 0 {
		c.Statement = c.Statement.Say(" %d more planned.", c.Planned)
	}
	return c, nil
}

type interval struct {
	n                int
	mean, sd, lo, hi float64
}

// meanInterval is the mean with the Student t interval mean +/- t sd/sqrt(n), n-1 degrees of freedom.
func meanInterval(x []float64, confidence float64) (interval, bool) {
	s := interval{n: len(x)}
	if s.n == 0 {
		return s, false
	}
	for _, v := range x {
		s.mean += v / float64(s.n)
	}
	if s.n == 1 {
		return s, true
	}
	ss := 0.0
	for _, v := range x {
		ss += (v - s.mean) * (v - s.mean)
	}
	s.sd = math.Sqrt(ss / float64(s.n-1))
	half := uncert.StudentQuantile(0.5+confidence/2, float64(s.n-1)) * s.sd / math.Sqrt(float64(s.n))
	s.lo, s.hi = s.mean-half, s.mean+half
	return s, true
}

func force(v float64) *quantity.Force {
	f := quantity.Force(v)
	return &f
}

// say words the cell's result, never stronger than the data.
func (c Cell) say(confidence float64) message.Sentence {
	if c.N == 0 {
		if c.Void > 0 {
			return message.Say("No drop counts, %d {is|are} void: nothing can be said.", c.Void)
		}
		return message.Say("No drop counts yet: nothing can be said.")
	}
	pct := strconv.FormatFloat(100*confidence, 'g', 4, 64)
	var s message.Sentence
	switch lo, hi := 100**c.BreakLo, 100**c.BreakHi; c.Broke {
	case 0:
		s = s.Say("None of %d broke: a break probability of up to %s %% is still possible (%s %% confidence).", c.N, RoundOutward(hi, math.Ceil), pct)
	case c.N:
		s = s.Say("%d of %d broke: break probability at least %s %% (%s %% confidence).", c.Broke, c.N, RoundOutward(lo, math.Floor), pct)
	default:
		s = s.Say("%d of %d broke: break probability between %s %% and %s %% (%s %% confidence).", c.Broke, c.N, RoundOutward(lo, math.Floor), RoundOutward(hi, math.Ceil), pct)
	}
	switch {
	case c.Mean == nil:
	case c.Lo == nil:
		s = s.Say(" One that held peaked at %s; one specimen shows no spread.", c.Mean)
	default:
		lo := max(*c.Lo, 0) // a peak cannot be negative
		s = s.Say(" The %d that held peaked at %s on average (%s to %s, %s %% t interval).", c.averaged, c.Mean, lo, c.Hi, pct)
		if c.averaged == 2 {
			s = s.Say(" Two specimens hardly bound a mean.")
		}
	}
	if c.BrokeMean != nil {
		s = s.Say(" Those that broke did so at %s on average: their arrest force would have been at least that.", c.BrokeMean)
		if c.Mean != nil {
			s = s.Say(" A mean over all would understate the arrest force and is not given.")
		}
	}
	if c.Slip > 0 {
		s = s.Say(" %d slipped.", c.Slip)
	}
	return s
}

// RoundOutward rounds a percentage away from the middle, so that the printed interval never claims more: to
// whole numbers from 1 to 99, to tenths outside.
func RoundOutward(pct float64, round func(float64) float64) string {
	if v := round(pct); v >= 1 && v <= 99 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(round(10*pct)/10, 'g', 4, 64)
}
