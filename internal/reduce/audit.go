package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/num/portable"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Verdict is how a record stands against a check.
type Verdict string

// The verdicts, from best to worst; NotPossible says nothing either way.
const (
	Agrees      Verdict = "agrees"
	NotPossible Verdict = "not possible here"
	Doubtful    Verdict = "doubtful"
	Disagrees   Verdict = "disagrees"
)

// Check is one audit check. Expected, Found and U are null when the check is not possible.
type Check struct {
	Name     string   `json:"check"`
	Unit     string   `json:"unit"`
	Expected *float64 `json:"expected"`
	Found    *float64 `json:"found"`
	U        *float64 `json:"u"` // standard uncertainty of the difference
	Verdict  Verdict  `json:"verdict"`
	Meaning  string   `json:"meaning"`
}

// The names of the checks, in order.
const (
	CheckTail    = "tail at rest is m g"
	CheckImpulse = "impulse to rest is m v + m g t"
	CheckFlight  = "flight time is twice the rebound speed over g"
	CheckEnergy  = "energy returned does not pass energy taken"
	CheckQuiet   = "quiet stretch and sample times"
	CheckPeak    = "peak lasts long enough"
)

// audited is how the record stands against the physics that it cannot escape.
type audited struct {
	judgement *Judgement // nil where the record allows none
	checks    []Check
	verdict   Verdict
}

// audit makes the one judgement and the single checks beside it.
func (w *told) audit() audited {
	judgement := w.judgementOfAll()
	joint := auditJoint(judgement)
	checks := []Check{joint, standsBehind(joint, w.auditTail()), standsBehind(joint, w.auditImpulse()), standsBehind(joint, w.auditFlight()), w.auditEnergy(), w.auditQuiet(), w.auditPeak()}
	worst := worstOf(checks)
	w.step("audit", map[string]any{"verdict": string(worst), "doubtful_from_u": 2, "disagrees_from_u": 3})
	return audited{judgement, checks, worst}
}

// standsBehind is a single check beside the joint judgement: of several that each miss by chance now and then, one alone is no
// contradiction where all together are none.
func standsBehind(joint, c Check) Check {
	if joint.Verdict == Agrees && (c.Verdict == Doubtful || c.Verdict == Disagrees) {
		c.Verdict = Agrees
		c.Meaning = fmt.Sprintf("alone it differs by %.1f standard uncertainties, which together with the other checks is no contradiction", math.Abs(*c.Found-*c.Expected) / *c.U)
	}
	return c
}

// worstOf is the worst verdict of the checks; one that was not possible counts as agreement.
func worstOf(checks []Check) Verdict {
	worst := Agrees
	rank := map[Verdict]int{Agrees: 0, NotPossible: 0, Doubtful: 1, Disagrees: 2}
	for _, c := range checks {
		if rank[c.Verdict] > rank[worst] {
			worst = c.Verdict
		}
	}
	return worst
}

func notPossible(name, unit, why string) Check {
	return Check{Name: name, Unit: unit, Verdict: NotPossible, Meaning: why}
}

// compare calls a difference of up to 2 standard uncertainties agreement and one beyond 3 disagreement.
func compare(name, unit string, expected, found, u float64) Check {
	c := Check{Name: name, Unit: unit, Expected: &expected, Found: &found, U: &u, Verdict: Agrees}
	switch d := math.Abs(found - expected); {
	case !(d <= 3*u): // also when either is not a number
		c.Verdict = Disagrees
	case d > 2*u:
		c.Verdict = Doubtful
	}
	return c
}

func (w *told) auditTail() Check {
	if !w.tail.rest {
		why := w.tail.why
		if w.tail.empty {
			why = "nothing hangs at the end of the record"
		}
		return notPossible(CheckTail, "N", why)
	}
	weight := w.set.Mass.SI() * w.set.Gravity.SI()
	gain := w.set.GainU.SI() * weight
	if w.cal != nil {
		cu, _ := w.cal.U(quantity.Force(weight))
		gain = math.Hypot(cu.SI(), w.set.Calibration.ReferenceU.SI()*weight)
	}
	u := math.Hypot(w.tail.u, math.Hypot(gain, w.set.MassU.SI()*w.set.Gravity.SI()))
	if 2*u > 0.1*weight {
		return notPossible(CheckTail, "N", fmt.Sprintf("the tail reads %s, but the zero may have moved by %s since the quiet stretch: too much to tell; let the amplifier warm up, or shorten the record", quantity.Force(w.tail.mean).Text(3), quantity.Force(2*u).Text(2)))
	}
	c := compare(CheckTail, "N", weight, w.tail.mean, u)
	if c.Verdict == Agrees {
		c.Meaning = fmt.Sprintf("no contradiction; a mass or force scale wrong by more than %.2g %% would show", 200*u/weight)
		return c
	}
	c.Meaning = fmt.Sprintf("the hanging mass reads %.4g times m g: the mass entered is wrong (the record fits %s), or the gain is, or the zero moved by %s during the drop",
		w.tail.mean/weight, quantity.Mass(w.tail.mean/w.set.Gravity.SI()).Text(3), quantity.Force(w.tail.mean-weight).Text(2))
	return c
}

// lead is the mean speed the mass still has at the moment of the peak force, as a share of the impact speed, and
// the half-width of its range. Loss that is all dry friction leaves none; loss that is all viscous (a
// Kelvin-Voigt element) leaves the most, and the record's restitution tells how much that can be.
//
// With zeta from the restitution r = exp(-(z/s) atan2(2zs, 2z^2-1)), the speed at the moment of the peak
// t_p = atan2(s(1-4z^2), z(3-4z^2))/(w s) is v0 exp(-z w t_p) (cos(s w t_p) - (z/s) sin(s w t_p)).
func lead(restitution float64) (share, half float64) {
	z := dampingOf(restitution)
	s := math.Sqrt(1 - z*z)
	a := math.Atan2(s*(1-4*z*z), z*(3-4*z*z)) // s w t_p
	most := portable.Exp(-z/s*a) * (math.Cos(a) - z/s*math.Sin(a))
	return most / 2, most / 2
}

// dampingOf is the damping ratio of a Kelvin-Voigt element that throws a mass back at a share of its speed.
func dampingOf(restitution float64) float64 {
	r := math.Min(1, math.Max(0.05, restitution))
	lo, hi := 0.0, 0.49
	for range 60 {
		z := (lo + hi) / 2
		s := math.Sqrt(1 - z*z)
		if portable.Exp(-(z/s)*math.Atan2(2*z*s, 2*z*z-1)) > r {
			lo = z
		} else {
			hi = z
		}
	}
	return lo
}

// restMark is the moment of the peak of the force freed of ringing, and its uncertainty: what the top's flatness, the
// distance from the peak as read, and a quarter period of ringing leave open.
func (w *topped) restMark() (mark, u float64) {
	from, to := w.ev.first, w.ev.endAt+1
	top := dsp.InterpolatePeak(w.seenN[from:max(to, from+1)])
	mark = (float64(from) + top.Position) * w.dt
	if w.peak.byHand {
		mark = w.peak.time // what is larger elsewhere is not the arrest's
	}
	u = math.Hypot(w.peak.timeU, math.Abs(mark-w.peak.time)/math.Sqrt(3))
	raw := float64(w.ev.peakAt) * w.dt
	u = math.Hypot(u, math.Min(math.Abs(mark-raw), 0.1*(mark-w.ev.taut))/math.Sqrt(3))
	if f := w.set.RigFrequency.SI(); f > 0 && w.peak.ringing > 0.01*w.peak.value {
		u = math.Hypot(u, 0.25/f/math.Sqrt(3))
	}
	return mark, u
}

func (w *told) auditImpulse() Check {
	if len(w.hidden()) > 0 {
		return notPossible(CheckImpulse, "N s", "the top of the arrest was not measured, so that its impulse is not known")
	}
	if w.ev.endKind == "break" && !w.motion.bottomed {
		return notPossible(CheckImpulse, "N s", fmt.Sprintf("the specimen parted while the mass was still falling, at about %s", quantity.Speed(w.motion.vEnd).Text(3)))
	}
	if w.ev.endKind == "break" {
		return notPossible(CheckImpulse, "N s", "the specimen parted near the lowest point: the moment of rest cannot be told from the force")
	}
	m, g := w.set.Mass.SI(), w.set.Gravity.SI()
	v0 := w.motion.impactV
	mark, markU := w.restMark()
	in := w.inputsNow()
	found := in.run(w.wholeN, w.dt, w.ev.endAt, w.ev.end, mark).impulseAt
	up := mark - w.ev.taut
	share, half := lead(w.restitution())
	expected := m*v0*(1-share) + m*g*up
	gain, _ := w.gainU()
	var fallU float64
	if v0 > 0 {
		fallU = m * g / v0 * math.Min(w.set.FallU.SI(), w.set.Fall.SI())
	}
	u := math.Hypot(m*v0*half/math.Sqrt(3), gain*found)
	for _, part := range []float64{fallU, w.set.MassU.SI() * (v0 + g*up), w.zeroU * up, w.peak.value * w.ev.tautU * 0.02, (w.peak.value - m*g) * markU} {
		u = math.Hypot(u, part)
	}
	if 2*u > 0.25*expected {
		return notPossible(CheckImpulse, "N s", fmt.Sprintf("it could not tell an impact speed that is wrong by less than %.0f %%: the specimen loses too much energy for the peak to mark the moment of rest", 100*2*u/(m*v0)))
	}
	c := compare(CheckImpulse, "N s", expected, found, u)
	if c.Verdict == Agrees {
		c.Meaning = fmt.Sprintf("no contradiction; a speed wrong by more than %.0f %% would show. The moment of the peak force is taken for that of rest, corrected for half of the lead a viscous specimen would have", math.Ceil(100*2*u/(m*v0)))
		return c
	}
	speed := (found - m*g*up) / (m * (1 - share))
	height := speed * speed / (2 * g)
	c.Meaning = fmt.Sprintf("the record fits an impact speed of %s (a free fall of %s), not %s: ", quantity.Speed(speed).Text(3), quantity.Length(height).Text(3), quantity.Speed(v0).Text(3))
	if speed < v0 {
		c.Meaning += "the release stuck, the guide rubbed, the height was less than stated, the mass is less than entered, or the gain is low"
	} else {
		c.Meaning += "the height was more than stated, the mass is more than entered, or the gain is high"
	}
	return c
}

func (w *told) auditFlight() Check {
	if len(w.hidden()) > 0 {
		return notPossible(CheckFlight, "s", "the top of the arrest was not measured, so that the rebound speed from its impulse is not known")
	}
	if len(w.ev.later) == 0 || w.ev.endKind != "slack" {
		return notPossible(CheckFlight, "s", "the mass did not come taut again within the record")
	}
	g := w.set.Gravity.SI()
	expected := -2 * w.motion.vEnd / g
	found := w.ev.later[0].flight.SI()
	// The specimen is longer by its set when it goes slack, and has shrunk again by an unknown part of
	// that when it comes taut.
	stretch := math.Max(w.motion.xEnd, 0) / math.Sqrt(3) / math.Max(-w.motion.vEnd, 0.2)
	u := math.Hypot(2*w.measures.uOf("rebound speed")/g, math.Hypot(stretch, 2*w.dt))
	if 2*u > 0.5*math.Max(expected, found) {
		return notPossible(CheckFlight, "s", fmt.Sprintf("the rebound is too weak to tell: a flight of %s was found, and it could be off by %s", quantity.Duration(found).Text(3), quantity.Duration(2*u).Text(2)))
	}
	c := compare(CheckFlight, "s", expected, found, u)
	if c.Verdict == Agrees {
		c.Meaning = fmt.Sprintf("no contradiction; an impact speed wrong by more than %s would show", quantity.Speed(u*g).Text(2))
		return c
	}
	v := found * g / 2
	impact := w.motion.impactV - (v + w.motion.vEnd)
	c.Meaning = fmt.Sprintf("the time in flight means a rebound of %s, the impulse one of %s: the impact speed was %s less its error, not %s, or mass or gain is wrong",
		quantity.Speed(v).Text(3), quantity.Speed(-w.motion.vEnd).Text(3), quantity.Speed(impact).Text(3), quantity.Speed(w.motion.impactV).Text(3))
	return c
}

func (w *told) auditEnergy() Check {
	if len(w.hidden()) > 0 {
		return notPossible(CheckEnergy, "J", "the top of the arrest was not measured, so that its energies are not known")
	}
	if w.ev.endKind != "slack" || !w.motion.bottomed {
		if w.ev.endKind == "slack" {
			taken := w.set.Mass.SI() * w.set.Gravity.SI() * (w.set.Fall.SI() + w.motion.xEnd)
			found := w.motion.absorbed
			u := math.Abs(0.05 * taken)
			c := compare(CheckEnergy, "J", taken, found, u)
			c.Verdict = Disagrees
			c.Meaning = fmt.Sprintf("by the stated mass and height the mass never came to rest (it would still fall at %s when the force has gone): the height or the mass is less than entered, or the gain is low", quantity.Speed(w.motion.vEnd).Text(3))
			return c
		}
		return notPossible(CheckEnergy, "J", "the mass did not go up again within the arrest")
	}
	taken, back := w.motion.absorbed, w.motion.returned
	uBack := w.measures.uOf("energy returned")
	c := Check{Name: CheckEnergy, Unit: "J", Expected: &taken, Found: &back, U: &uBack, Verdict: Agrees}
	// The path carries the error of a sample and of the moment of taut.
	stepX := w.motion.impactV * (w.dt + w.ev.tautU)
	stepE := w.peak.value * stepX
	u := math.Hypot(uBack, 0.3*stepE)
	over, path, end := (back-taken)/u, -w.motion.minLoss/math.Max(stepE, 0.01*taken), -w.motion.xEnd/(0.02*w.motion.xMax+stepX)
	c.U = &u
	switch worst := math.Max(over, math.Max(path, end)); {
	case worst > 3:
		c.Verdict = Disagrees
	case worst > 2:
		c.Verdict = Doubtful
	}
	switch {
	case c.Verdict == Agrees:
		c.Meaning = fmt.Sprintf("the specimen took %s and gave %s back", quantity.Energy(taken).Text(3), quantity.Energy(back).Text(3))
	case over > 2:
		c.Meaning = "the specimen would have given back more than it took: the mass or the height is more than entered, or the gain is high"
	case end > 2:
		c.Meaning = fmt.Sprintf("the specimen would have gone slack %s above where it came taut: the mass or the height is less than entered, or the gain is high", quantity.Length(-w.motion.xEnd).Text(2))
	default:
		c.Meaning = "on the way the specimen would have given back more than it had taken by then: the moment of taut, the mass or the height is wrong"
	}
	return c
}

func (w *told) auditQuiet() Check {
	if !w.hasQuiet {
		return Check{Name: CheckQuiet, Unit: "N", Verdict: Disagrees, Meaning: fmt.Sprintf("there is no quiet stretch to take the zero from (%d samples before the rise): start the record at least 0.1 s before the release", w.quietN)}
	}
	trend := w.quiet.Slope * float64(w.quiet.N)
	trendU := math.Max(w.quiet.SlopeU*float64(w.quiet.N), w.stepN/math.Sqrt(12))
	zero := 0.0
	c := Check{Name: CheckQuiet, Unit: "N", Expected: &zero, Found: &trend, U: &trendU, Verdict: Agrees}
	var bad []string
	fail := func(v Verdict, format string, args ...any) {
		if v == Disagrees || c.Verdict == Agrees {
			c.Verdict = v
		}
		bad = append(bad, fmt.Sprintf(format, args...))
	}
	switch share := math.Abs(trend) / w.peak.value; {
	case math.Abs(trend) > 3*trendU && share > 0.01:
		fail(Disagrees, "the zero moves by %s within the quiet stretch: let the amplifier warm up, look for a load on the specimen", quantity.Force(trend).Text(2))
	case math.Abs(trend) > 3*trendU && share > 0.002:
		fail(Doubtful, "the zero moves by %s within the quiet stretch", quantity.Force(trend).Text(2))
	}
	if off := math.Abs(w.quiet.Mean); off > 0.05*w.peak.value {
		fail(Doubtful, "the load cell showed %s before the drop: a preload, or no tare", quantity.Force(w.quiet.Mean).Text(3))
	}
	if w.quiet.Largest > math.Max(12*w.quiet.SD, 0.02*w.peak.value) {
		fail(Doubtful, "something happened in the quiet stretch: a spike of %s", quantity.Force(w.quiet.Largest).Text(2))
	}
	for _, k := range w.clip {
		if k.High {
			fail(Disagrees, "%d samples are cut off at the top of the range from %.4f s", k.To-k.From, float64(w.clock(float64(k.From)*w.dt)))
		} else if k.From < w.quietN || k.From >= w.ev.first {
			fail(Doubtful, "%d samples are cut off at the bottom of the range from %.4f s", k.To-k.From, float64(w.clock(float64(k.From)*w.dt)))
		}
	}
	for _, g := range w.glitch {
		v := Doubtful
		if g.From >= w.ev.first && g.From <= w.ev.endAt {
			v = Disagrees
		}
		fail(v, "a spike or dropout of %s at %.4f s was bridged", quantity.Force(g.Size).Text(3), float64(w.clock(float64(g.From)*w.dt)))
	}
	for _, f := range w.trace.Findings {
		if f.Grade == drop.Fault && (f.Kind != clippedKind || len(w.clip) == 0) {
			fail(Disagrees, "%s", f.String())
		}
	}
	if w.trace.Resampled {
		fail(Doubtful, "the sample times are uneven")
	}
	if len(bad) == 0 {
		c.Meaning = fmt.Sprintf("no trend, no load, no clipping in %s of quiet; noise %s", quantity.Duration(float64(w.quiet.N)*w.dt).Text(3), quantity.Force(w.noiseN).Text(2))
		return c
	}
	for i, b := range bad {
		if i > 0 {
			c.Meaning += "; "
		}
		c.Meaning += b
	}
	return c
}

func (w *told) auditPeak() Check {
	if w.bound.hidden() {
		return notPossible(CheckPeak, "", "the record does not show the peak")
	}
	total := 0.0
	text := ""
	for _, b := range w.uncertainty.bias {
		if b.Bias == nil {
			text += b.Source + " not known; "
			continue
		}
		total += math.Abs(b.Bias.SI())
		text += fmt.Sprintf("%s %+.2g %%; ", b.Source, 100*b.Bias.SI()/w.peak.value)
	}
	zero, share := 0.0, total/w.peak.value
	u := w.uncertainty.u.SI() / math.Max(w.peak.value, 1e-300)
	c := Check{Name: CheckPeak, Unit: "", Expected: &zero, Found: &share, U: &u, Verdict: Agrees}
	switch {
	case share > 0.05:
		c.Verdict = Disagrees
	case share > 0.02:
		c.Verdict = Doubtful
	}
	c.Meaning = fmt.Sprintf("known biases of the peak: %speak as sharp as a half-sine of %s", text, quantity.Duration(w.peak.pulse).Text(3))
	if c.Verdict != Agrees {
		c.Meaning += ": sample faster, filter less or stiffen the rig"
	}
	return c
}
