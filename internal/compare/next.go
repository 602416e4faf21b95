package compare

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/num/uncert"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// NextGoal is what the next drop is to tell about.
type NextGoal string

// The goals.
const (
	NextStrength NextGoal = "strength" // a quantile of the strength of a kind of specimen
	NextEffect   NextGoal = "effect"   // the ratio between two levels of a factor
	NextSlack    NextGoal = "slack"    // the fall at which the median arrest force passes a limit
)

// NextQuestion is what is asked. Seed and Draws fix the simulated outcomes.
type NextQuestion struct {
	Goal     NextGoal
	Of       string         // kind of specimen, empty = all
	Quantile float64        // of the strength, 0 < Quantile < 1
	Family   censor.Family  // of the strength: Weibull or Lognormal
	Factor   string         // of the effect, empty = the first that varies
	A, B     string         // its levels, empty = the first two
	Peak     bool           // the effect is on the arrest force, not on the strength
	Limit    quantity.Force // for NextSlack
	Capacity quantity.Force // of the load cell, 0 = not known
	Draws    int            // simulated outcomes a candidate, 10 to 2000
	Seed     uint64
	Ahead    int     // drops of one candidate that are planned together at most, 1 to 4; 0 = 1
	ReRig    float64 // what it costs to go to another fall than that of the last drop, in specimens; a drop costs one
	// Aim takes the place of Goal where what is to be told is not one of the goals; nil = the goal.
	Aim *NextAim
}

// NextAim is anything that drops may tell, such as a campaign's own question.
type NextAim struct {
	Name message.Sentence
	// Width is the logarithm of the upper over the lower end of an interval from these drops, +Inf where it does not close.
	Width func([]Entry) (float64, error)
	// Answer is what these drops say in one word, empty while it is open; nil where there is no answer but an interval.
	Answer func([]Entry) string
}

// NextChoice is one candidate drop. Width is the logarithm of the upper over the lower end of the 95 % interval.
type NextChoice struct {
	Kind  string          `json:"kind"`
	Fall  quantity.Length `json:"fall_m"`
	Tried int             `json:"tried"` // drops that count in this cell
	// BreakP is null where it is unknown: none of the kind broke, and no rating is stated. BreakLo and BreakHi hold 95 % of what the drops and the rating leave open.
	BreakP  *float64 `json:"break_probability"`
	BreakLo *float64 `json:"break_probability_lo"`
	BreakHi *float64 `json:"break_probability_hi"`
	// Batch is how many such drops together tell most for what they cost; Cost is in specimens, with the way to another fall.
	Batch int     `json:"batch"`
	Cost  float64 `json:"cost_specimens"`
	// ChangesP is the share of the outcomes after which the answer is another than today's; null where there is no answer today.
	ChangesP  *float64       `json:"changes_answer_p"`
	Arrest    quantity.Force `json:"arrest_median_N"`
	ArrestHi  quantity.Force `json:"arrest_97_5_N"`
	Now       *float64       `json:"width_now"`     // null: no interval today, or one that does not close
	Then      *float64       `json:"width_then"`    // mean over the outcomes that give an interval
	Shrinkage *float64       `json:"shrinkage_pct"` // null where Now is null; an outcome that leaves no interval counts as none
	// ShrinkageSE is the standard error of Shrinkage from the number of draws, those taken as independent.
	ShrinkageSE *float64 `json:"shrinkage_se_pct"`
	Identifies  float64  `json:"gives_interval_p"` // share of the outcomes after which the interval exists and closes
	// Best marks the lowest fall of its kind that tells as much as any, within half a point.
	Best    bool             `json:"best_of_kind"`
	Reason  message.Sentence `json:"reason"`
	rank    float64
	open    bool
	likely  float64 // break probability behind the draws, known or not
	known   bool
	against bool // the count at this fall contradicts it
}

// NextRanking is the answer, best first.
type NextRanking struct {
	Goal    NextGoal         `json:"goal"`
	Target  message.Sentence `json:"target"`
	Draws   int              `json:"draws"`
	Seed    uint64           `json:"seed"`
	Choices []NextChoice     `json:"candidates"`
	// Stop says why no further drop is worth its specimen; empty where one is.
	Stop        message.Sentence   `json:"stop,omitempty"`
	Refused     []message.Sentence `json:"refused"` // candidates that could pass the load cell's capacity
	Left        []message.Sentence `json:"left_out"`
	Assumptions []message.Sentence `json:"assumptions"`
	Warnings    []message.Sentence `json:"warnings"`
}

// nextDatum is one drop that counts, with what it says of strength and of arrest force.
type nextDatum struct {
	kind             int
	logFall          float64
	peakN            float64
	strength, arrest censor.Value
	from             Entry
}

type nextKind struct {
	name   string
	levels map[string]string
	like   drop.Drop      // one of its drops
	rating quantity.Force // the lowest that is stated, 0 = none
}

// nextModel predicts outcomes: log arrest force = cut + slope log fall + sigma z, and the strength of each kind.
type nextModel struct {
	cut          []float64
	slope, sigma float64
	strength     []nextSpread
}

// nextSpread is a strength distribution with its inverse.
type nextSpread struct {
	cdf, quantile func(float64) float64
	// open are distributions that the data leave open, with their weights; known tells that a break or a rating speaks for them.
	open    []func(log float64) float64
	weights []float64
	known   bool
}

type nextState struct {
	q     NextQuestion
	kinds []nextKind
	data  []nextDatum
	model nextModel
	out   *NextRanking
}

// SuggestNext ranks candidate drops by the expected shrinkage of the 95 % interval of what is asked: today's data are
// fitted, outcomes of one more specimen are drawn from the fits (stratified, the same numbers for every candidate), the
// interval is found anew with each, and its width is averaged on the logarithmic scale. Where no interval exists
// today the probability that the drop gives one ranks instead. It fails when no drop counts, when a name fits
// nothing, or for a question outside its range. Idea: expected width as a design criterion, Chaloner and Verdinelli,
// Statistical Science 10 (1995) 273-304 (recalled), with the fitted parameters in place of a prior.
func SuggestNext(entries []Entry, q NextQuestion) (*NextRanking, error) {
	if err := q.nextCheck(); err != nil {
		return nil, err
	}
	s := &nextState{q: q, out: &NextRanking{Goal: q.Goal, Draws: q.Draws, Seed: q.Seed, Choices: []NextChoice{}, Refused: []message.Sentence{}, Left: []message.Sentence{}, Assumptions: []message.Sentence{}, Warnings: []message.Sentence{}}}
	s.read(entries)
	if len(s.data) == 0 {
		return nil, fmt.Errorf("no drop counts yet, so that nothing can be predicted; take a first drop in each cell, or settle outcomes with: hardcatch decide FILE DROP")
	}
	target, err := s.target()
	if err != nil {
		return nil, err
	}
	s.fit()
	s.rank(target)
	s.stop(target)
	s.assume()
	return s.out, nil
}

func (q NextQuestion) nextCheck() error {
	switch {
	case q.Ahead < 0 || q.Ahead > 4:
		return fmt.Errorf("%d drops ahead are outside 1 to 4; 2 are usual", q.Ahead)
	case !(q.ReRig >= 0 && q.ReRig <= 100):
		return fmt.Errorf("going to another fall costs %g specimens, which is outside 0 to 100; 0.25 is usual", q.ReRig)
	case q.Aim != nil && (q.Aim.Width == nil || q.Family != censor.Weibull && q.Family != censor.Lognormal):
		return fmt.Errorf("what is aimed at has no interval, or no family of strengths")
	case q.Aim != nil && q.Draws >= 10 && q.Draws <= 2000:
		return nil
	case q.Goal != NextStrength && q.Goal != NextEffect && q.Goal != NextSlack:
		return fmt.Errorf("goal %q is not known; it is strength, effect or slack", q.Goal)
	case q.Goal == NextStrength && !(q.Quantile > 0 && q.Quantile < 1):
		return fmt.Errorf("quantile %g is outside 0 to 1; 0.05 is usual", q.Quantile)
	case q.Family != censor.Weibull && q.Family != censor.Lognormal:
		return fmt.Errorf("strength is taken as weibull or lognormal here, not %s", q.Family)
	case q.Goal == NextSlack && !(q.Limit > 0):
		return fmt.Errorf("the goal slack needs the limit that is passed; give for example --limit \"12 kN\"")
	case q.Draws < 10 || q.Draws > 2000:
		return fmt.Errorf("%d draws are outside 10 to 2000; 400 are usual", q.Draws)
	}
	return nil
}

// read sorts the drops into kinds of specimen and notes those left out.
func (s *nextState) read(entries []Entry) {
	entries = MarkAgain(entries)
	var trial []drop.Drop
	for _, e := range entries {
		if e.Drop.Role != drop.Check {
			trial = append(trial, e.Drop)
		}
	}
	factors := slices.DeleteFunc(drop.VaryingFactors(trial), func(f string) bool { return f == "fall" || f == "fall factor" })
	index := map[string]int{}
	left := map[string]int{}
	for _, e := range entries {
		if e.Drop.Role == drop.Check {
			left["check drops"]++
			continue
		}
		levels := levelsAmong(e.Drop, factors)
		name := Cell{Levels: levels}.Name()
		if name == "" {
			name = "all specimens"
		}
		k, ok := index[name]
		if !ok {
			k = len(s.kinds)
			index[name] = k
			s.kinds = append(s.kinds, nextKind{name: name, levels: levels, like: e.Drop})
		}
		if r := e.Drop.Specimen.Rating; r > 0 && (s.kinds[k].rating == 0 || r < s.kinds[k].rating) {
			s.kinds[k].rating = r
		}
		if why := nextLeft(e); why != "" {
			left[why]++
			continue
		}
		s.data = append(s.data, nextRead(k, e))
	}
	delete(left, "")
	for why, n := range left {
		s.out.Left = append(s.out.Left, message.Say("%s: %d", why, n))
	}
	sort.Slice(s.out.Left, func(i, j int) bool { return s.out.Left[i].String() < s.out.Left[j].String() })
}

// nextLeft tells why a drop does not count.
func nextLeft(e Entry) string {
	p := e.Peak.SI()
	switch {
	case e.Planned:
		return "planned, not taken"
	case e.Outcome == drop.Void:
		return "void"
	case e.Again:
		return "an earlier drop of the specimen counts"
	case e.Outcome != drop.Held && e.Outcome != drop.Broke && e.Outcome != drop.Slipped:
		return "no outcome yet (settle it with: hardcatch decide FILE DROP)"
	case !(p > 0) || math.IsInf(p, 0):
		return "no peak"
	case !(e.Drop.Fall > 0):
		return "no fall"
	}
	return ""
}

// nextRead takes a drop as two censored values in opposite directions: what broke shows its strength and bounds the
// arrest force from below; what held shows the arrest force and bounds its strength.
func nextRead(kind int, e Entry) nextDatum {
	p := e.Peak.SI()
	d := nextDatum{kind: kind, logFall: math.Log(e.Drop.Fall.SI()), peakN: p, strength: censor.AtLeast(p), arrest: censor.AtLeast(p), from: e}
	if e.CutOff {
		if e.Outcome == drop.Held && e.Rebuilt != nil {
			d.arrest = censor.Between(e.Rebuilt[0].SI(), e.Rebuilt[1].SI())
		}
		return d
	}
	switch e.Outcome {
	case drop.Broke:
		d.strength = censor.Exact(p)
	case drop.Held:
		d.arrest = censor.Exact(p)
	}
	return d
}

// rank predicts every candidate and sorts them.
func (s *nextState) rank(t nextTarget) {
	s.out.Target = t.name
	u, v := s.strata()
	open := &nextNotes{kinds: map[string][]message.Sentence{}}
	for k := range s.kinds {
		if !t.uses(k) {
			continue
		}
		now, err := t.width(s.data, k)
		if err != nil && !errors.Is(err, censor.ErrNotIdentified) && !errors.Is(err, censor.ErrNotConverged) {
			s.out.Warnings = append(s.out.Warnings, message.Say("%s: %v", message.Names(s.kinds[k].name), err))
			continue
		}
		if err != nil {
			now = math.Inf(1)
			open.add(message.Say("no interval today, so that candidates are ranked by the probability that the drop gives one (%v)", err), s.kinds[k].name)
		} else if math.IsInf(now, 0) {
			open.add(message.Say("the interval does not close today, so that candidates are ranked by the probability that the drop closes it"), s.kinds[k].name)
		}
		from := len(s.out.Choices)
		for _, h := range s.falls() {
			c := s.candidate(k, h)
			if hi := c.ArrestHi; s.q.Capacity > 0 && hi > s.q.Capacity {
				s.out.Refused = append(s.out.Refused, message.Say("%s, fall %s: the arrest force could reach %s (97.5 %% point), the load cell's capacity is %s", message.Names(c.Kind), c.Fall.Text(3), hi.Text(3), s.q.Capacity.Text(3)))
				continue
			}
			s.expect(&c, t, k, now, u, v)
			s.out.Choices = append(s.out.Choices, c)
		}
		nextMark(s.out.Choices[from:])
	}
	s.out.Warnings = append(s.out.Warnings, open.lines()...)
	sort.SliceStable(s.out.Choices, func(i, j int) bool {
		a, b := s.out.Choices[i], s.out.Choices[j]
		if a.open != b.open {
			return a.open
		}
		return a.rank > b.rank
	})
}

// nextMark marks the best of one kind's candidates, which stand in the order of their falls.
func nextMark(list []NextChoice) {
	top := math.Inf(-1)
	for _, c := range list {
		top = math.Max(top, c.rank)
	}
	for i := range list {
		if list[i].rank >= top-0.5 {
			list[i].Best = true
			return
		}
	}
}

// nextNotes gathers the kinds of specimen to which the same remark applies.
type nextNotes struct {
	order []message.Sentence
	kinds map[string][]message.Sentence // by the English remark
}

func (n *nextNotes) add(remark message.Sentence, kind string) {
	key := remark.String()
	if n.kinds[key] == nil {
		n.order = append(n.order, remark)
	}
	n.kinds[key] = append(n.kinds[key], message.Say("%s", message.Names(kind)))
}

func (n *nextNotes) lines() []message.Sentence {
	var out []message.Sentence
	for _, t := range n.order {
		out = append(out, message.Join(": ", message.Join("; ", n.kinds[t.String()]...), t))
	}
	return out
}

// strata are the middles of equal strata of two uniform numbers, one of them shuffled: a Latin square. They are the same for
// every candidate, so that candidates differ by what they tell and not by luck.
func (s *nextState) strata() (u, v []float64) {
	n := s.q.Draws
	rng := rand.New(rand.NewPCG(s.q.Seed, 0x6e657874))
	for i, p := range rng.Perm(n) {
		u = append(u, (float64(i)+0.5)/float64(n))
		v = append(v, (float64(p)+0.5)/float64(n))
	}
	return u, v
}

func (s *nextState) candidate(k int, fallM float64) NextChoice {
	a := s.arrest(k, math.Log(fallM))
	spread := s.model.strength[k]
	c := NextChoice{Kind: s.kinds[k].name, Fall: quantity.Length(fallM), Arrest: quantity.Force(math.Exp(a.mu)), ArrestHi: quantity.Force(math.Exp(a.mu + 1.959963984540054*a.sigma))}
	c.likely, c.known = passes(a, spread.cdf), spread.known
	lo, hi, plausible := spread.between(a, c.likely)
	broke := 0
	for _, d := range s.data {
		if d.kind == k && math.Abs(d.logFall-math.Log(fallM)) < 1e-3 {
			c.Tried++
			if d.strength.Kind() == censor.Observed {
				broke++
			}
		}
	}
	if p := CountP(broke, c.Tried, plausible); CountContradicts(p) {
		if b, err := censor.ExactBinomial(broke, c.Tried, 0.95); err == nil {
			lo, hi = math.Min(lo, b.Lo), math.Max(hi, b.Hi)
		}
		c.against = true
	}
	c.BreakLo, c.BreakHi = &lo, &hi
	if spread.known && !c.against {
		p := c.likely
		c.BreakP = &p
	}
	return c
}

func (s *nextState) arrest(k int, logFall float64) spreadForce {
	return spreadForce{s.model.cut[k] + s.model.slope*logFall, s.model.sigma}
}

// expect averages the width over the outcomes of one or more further specimens, and takes the number of them that tells most for what they cost.
func (s *nextState) expect(c *NextChoice, t nextTarget, k int, now float64, u, v []float64) {
	best := math.Inf(-1)
	for m := 1; m <= max(1, s.q.Ahead); m++ {
		x := *c
		s.expectBatch(&x, t, k, now, u, v, m)
		if per := x.rank / x.Cost; m == 1 || per > best*1.05 { // more than one only where it is worth it
			best = per
			x.rank = per
			*c = x
		}
	}
	c.Reason = c.nextReason(s.q)
	if c.Batch > 1 {
		c.Reason = c.Reason.Say("; %d such {drop|drops} together tell more for what they cost than one", c.Batch)
	}
}

func (s *nextState) expectBatch(c *NextChoice, t nextTarget, k int, now float64, u, v []float64, m int) {
	a := s.arrest(k, math.Log(c.Fall.SI()))
	more := append(slices.Clone(s.data), make([]nextDatum, m)...)
	answer := t.says(s.data)
	sum, kept, squares, closed, changed := 0.0, 0.0, 0.0, 0, 0
	for i := range u {
		for j := range m { // each further specimen takes another pair of the same square
			at := (i + j*(len(u)/m)) % len(u)
			more[len(s.data)+j] = s.drawn(k, c.Fall, math.Exp(a.mu+a.sigma*uncert.NormalQuantile(u[at])), s.model.strength[k].quantile(v[at]), j)
		}
		if answer != "" && t.says(more) != answer {
			changed++
		}
		w, err := t.width(more, k)
		if err != nil || math.IsInf(w, 0) || math.IsNaN(w) {
			kept, squares = kept+now, squares+now*now
			continue
		}
		sum, kept, squares, closed = sum+w, kept+w, squares+w*w, closed+1
	}
	n := float64(len(u))
	c.Batch, c.Cost = m, float64(m)
	if last := s.data[len(s.data)-1]; math.Abs(last.logFall-math.Log(c.Fall.SI())) > 1e-3 {
		c.Cost += s.q.ReRig
	}
	if answer != "" {
		p := float64(changed) / n
		c.ChangesP = &p
	}
	c.Identifies = float64(closed) / n
	if closed > 0 {
		then := sum / float64(closed)
		c.Then = &then
	}
	if math.IsInf(now, 0) {
		c.open, c.rank = c.Identifies > 0, 100*c.Identifies
		return
	}
	shrink := 100 * (1 - kept/n/now)
	se := 100 * math.Sqrt(math.Max(0, squares/n-kept/n*kept/n)/(n-1)) / now
	c.Now, c.Shrinkage, c.ShrinkageSE, c.rank = &now, &shrink, &se, shrink
}

// drawn is a drop of the kind as it may come out, with the force of a whole arrest and the strength of its specimen.
func (s *nextState) drawn(k int, fall quantity.Length, force, strength float64, number int) nextDatum {
	e := Entry{Drop: s.kinds[k].like, Outcome: drop.Held, Decided: true, Trusted: true, Peak: quantity.Force(min(force, strength))}
	e.Drop.ID = fmt.Sprintf("drawn %d", number+1)
	e.Drop.Specimen.ID, e.Drop.Fall, e.Drop.Prior, e.Drop.Taken = e.Drop.ID, fall, 0, "9999-12-31"
	if strength < force {
		e.Outcome = drop.Broke
	}
	return nextRead(k, e)
}

// stop says where no further drop is worth its specimen.
func (s *nextState) stop(t nextTarget) {
	if len(s.out.Choices) == 0 {
		return
	}
	answer, changes, tells := t.says(s.data), false, false
	for _, c := range s.out.Choices {
		changes = changes || c.ChangesP == nil || *c.ChangesP > 0.01
		tells = tells || c.open || c.Shrinkage != nil && *c.Shrinkage/float64(c.Batch) >= nextWorth
	}
	switch {
	case answer != "" && !changes:
		s.out.Stop = message.Say("%s; of %d outcomes drawn for each of the drops below, none or at most 1 %% would change that, so that none is worth its specimen for this question", t.answers(answer), s.q.Draws)
	case !tells && t.answer == nil && !slices.ContainsFunc(s.out.Choices, func(c NextChoice) bool { return c.Now == nil }):
		s.out.Stop = message.Say("no drop below would narrow the interval by %g %%, so that none is worth its specimen for this question", nextWorth)
	}
}

// nextWorth is the shrinkage in per cent below which a drop is not worth its specimen. Common practice, no source.
const nextWorth = 1.0

// falls are those tried in the campaign, the middles between neighbours, a step below the lowest and one and two beyond the highest, in m.
func (s *nextState) falls() []float64 {
	var tried []float64
	for _, d := range s.data {
		tried = append(tried, math.Round(1000*math.Exp(d.logFall))/1000)
	}
	sort.Float64s(tried)
	tried = slices.Compact(tried)
	first, last := tried[0], tried[len(tried)-1]
	below, above := first/2, 1.5*last
	if n := len(tried); n > 1 {
		below, above = first-(tried[1]-first), last+(last-tried[n-2])
	}
	out := slices.Clone(tried)
	for i := 1; i < len(tried); i++ {
		out = append(out, (tried[i-1]+tried[i])/2)
	}
	if below > 0.01*first {
		out = append(out, below)
	}
	out = append(out, above, 2*above-last)
	for i := range out {
		out[i] = math.Round(1000*out[i]) / 1000
	}
	sort.Float64s(out)
	out = slices.Compact(out)
	return slices.DeleteFunc(out, func(h float64) bool { return h <= 0 })
}
