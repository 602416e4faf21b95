package reduce

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/num/portable"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"gonum.org/v1/gonum/stat/distuv"
)

// Judgement is the one estimate of what is off, from momentum, path, flight and tail together, with what rig and certificate say
// beforehand.
type Judgement struct {
	Checks  []string `json:"checks"` // that went in
	Chi2    float64  `json:"chi2"`
	DoF     int      `json:"dof"`
	P       float64  `json:"p"` // of a larger chi2 by chance
	Verdict Verdict  `json:"verdict"`
	// Off are the quantities that alone would explain the record, each with how far it is off when nothing is known of it
	// beforehand.
	Off       []Off  `json:"off"`
	Statement string `json:"statement"`
}

// Off is how far a quantity is off by the record alone, with its standard uncertainty.
type Off struct {
	Quantity string  `json:"quantity"` // "force scale or mass", "fall height"
	Unit     string  `json:"unit"`     // "" = a share, or "m"
	By       float64 `json:"by"`
	U        float64 `json:"u"`
	Explains bool    `json:"explains"` // that alone makes the record agree
}

// The quantities that a judgement can tell.
const (
	OffScale  = "force scale or mass"
	OffHeight = "fall height"
)

// Chances of a worse disagreement by chance from which on a record is doubted, and disagrees.
const (
	doubtfulP  = 0.03
	disagreesP = 0.003
)

// scaleUnknown is the standard uncertainty of a force scale of which nothing is stated (common practice, no source).
const scaleUnknown = 0.05

// CheckJoint is the check that all others of mass and motion are judged by.
const CheckJoint = "mass, height and force scale, from all checks together"

// The unknowns of the judgement, each a small number: force scale and mass read high by, impact speed higher than entered by,
// elongation left at slack as a share of the largest, shrinkage in flight as a share of it, and the speed left at the peak as a
// share of the impact speed.
const (
	uScale = iota
	uSpeed
	uSet
	uShrink
	uLead
	unknowns
)

// relation is a row of the judgement: sum of coef times the unknowns = value, with a standard uncertainty.
type relation struct {
	name  string
	coef  [unknowns]float64
	value float64
	u     float64
}

// relations are what the record says of the unknowns; empty where it says nothing. With the motion by the entered values
// (v_end downward, x_end, duration T, impulse I, largest elongation X):
//
//	momentum  v0 speed + (I/m) scale + (X/t) shrink = -(v_end + g t/2)          t = time of flight
//	path      v0 T speed + (v0 T + g T^2/2 - x_end) scale - X set = -x_end
//	tail      scale = tail/(m g) - 1
//	rest      v0 (1-q) speed + (I_p/m) scale... at the peak, with q the lead of it before the moment of rest
//
// They are straight lines about what is off already: the motion is that of a force that reads high by scale and a speed that is
// higher by speed, and the unknowns count from there.
func (w *moved) relations(scale, speed float64) []relation {
	m, g := w.set.Mass.SI(), w.set.Gravity.SI()
	if w.set.Fall <= 0 || w.ev.endKind != "slack" || len(w.hidden()) > 0 || w.slewed || w.peak.coarse != "" {
		return nil
	}
	mark, markU := w.restMark()
	in := w.inputsNow()
	in.gain, in.fall = 1/(1+scale), in.fall*sq(1+speed)
	mo := in.run(w.wholeN, w.dt, w.ev.endAt, w.ev.end, mark)
	if !mo.bottomed {
		return nil
	}
	v0 := mo.impactV
	t := w.ev.end - w.ev.taut
	var out []relation
	if len(w.ev.later) > 0 {
		flight := w.ev.later[0].flight.SI()
		if flight > 0.02 {
			r := relation{name: "momentum and flight", value: -(mo.vEnd + g*flight/2)}
			r.coef[uSpeed], r.coef[uScale], r.coef[uShrink] = v0, mo.impulse/m, mo.xMax/flight
			r.u = math.Hypot(math.Hypot(g*w.dt, w.zeroU*t/m), math.Hypot(w.nodeMomentum()/m, g/2*math.Hypot(w.ev.endU, w.ev.tautU)))
			out = append(out, r)
		}
	}
	path := relation{name: "path", value: -mo.xEnd}
	path.coef[uSpeed], path.coef[uScale], path.coef[uSet] = v0*t, v0*t+g*t*t/2-mo.xEnd, -mo.xMax
	path.u = math.Hypot(math.Hypot(v0*w.ev.tautU, mo.vEnd*w.ev.endU), w.zeroU*t*t/2/m)
	out = append(out, path)
	if w.tail.rest && w.tail.u < 0.05*m*g {
		r := relation{name: "tail", value: in.gain*w.tail.mean/(m*g) - 1, u: w.tail.u / (m * g)}
		r.coef[uScale] = 1
		out = append(out, r)
	}
	up, at := mark-w.ev.taut, mo.impulseAt
	share, _ := lead(w.restitution())
	r := relation{name: "moment of rest", value: at/m - v0*(1-share) - g*up}
	r.coef[uScale], r.coef[uSpeed], r.coef[uLead] = at/m, v0*(1-share), -v0
	r.u = math.Hypot((w.peak.value/m-g)*markU, math.Hypot(w.zeroU*up/m, 0.02*w.peak.value*w.ev.tautU/m))
	return append(out, r)
}

// restitution is the speed after the arrest over the speed before it, by the flight where there is one.
func (w *moved) restitution() float64 { return w.restitutionOf(w.motion) }

func (w *timed) restitutionOf(m motion) float64 {
	v0 := m.impactV
	switch k := w.ev.later; {
	case v0 <= 0:
		return 0.5
	case len(k) > 0:
		return k[0].flight.SI() * w.set.Gravity.SI() / 2 / v0
	case w.ev.endKind == "slack":
		return -m.vEnd / v0
	}
	return 0.5
}

// known are mean and standard uncertainty of the unknowns before the record is looked at.
func (w *moved) known() (mean, u [unknowns]float64) {
	gain, _ := w.gainU()
	if !w.scaleKnown() {
		gain = scaleUnknown
	}
	u[uScale] = math.Hypot(gain, w.set.MassU.SI()/w.set.Mass.SI())
	if h := w.set.Fall.SI(); h > 0 {
		u[uSpeed] = math.Min(w.set.FallU.SI(), h) / (2 * h)
	}
	mean[uSet], u[uSet] = w.setShare(w.motion)
	mean[uShrink], u[uShrink] = mean[uSet], u[uSet]
	_, half := lead(w.restitution())
	u[uLead] = half / math.Sqrt(3)
	// What is stated to be exact is so to a part in a thousand.
	u[uScale], u[uSpeed] = math.Max(u[uScale], 1e-3), math.Max(u[uSpeed], 1e-3)
	return mean, u
}

// setShare is by which share of its largest elongation a specimen is longer when it goes slack than when it came taut, and what of that
// it may have shrunk by the next time it comes taut: anything from nothing, as with dry friction, to half as much again as a
// Kelvin-Voigt element of the same restitution, and 4 % of permanent set (bench/truth; the set from the starting values, common
// practice, no source). Without a flight to tell the restitution, 10 % of a wide range.
func (w *timed) setShare(m motion) (mean, u float64) {
	if len(w.ev.later) == 0 {
		return 0.1, 0.08
	}
	most := 1.5*viscousSet(w.restitutionOf(m)) + 0.04
	return most / 2, most / math.Sqrt(12)
}

// viscousSet is the share of the largest elongation that a Kelvin-Voigt element of a restitution is still long when its force is gone:
// with zeta from the restitution and s = sqrt(1-zeta^2), the force is gone at w s t = atan2(2 zeta s, 2 zeta^2-1), and the lowest point is
// at w s t = atan2(s, zeta).
func viscousSet(restitution float64) float64 {
	z := dampingOf(restitution)
	s := math.Sqrt(1 - z*z)
	gone, low := math.Atan2(2*z*s, 2*z*z-1), math.Atan2(s, z)
	return portable.Exp(-z/s*(gone-low)) * math.Sin(gone) / math.Sin(low)
}

// solve is the weighted least-squares estimate of the unknowns, their standard uncertainties, and what is left as chi2.
func solveJoint(rows []relation, mean, u [unknowns]float64) (x, sd [unknowns]float64, chi2 float64) {
	var a [unknowns][unknowns]float64
	var b [unknowns]float64
	for j := range unknowns {
		if u[j] > 0 {
			a[j][j] = 1 / (u[j] * u[j])
		} else {
			a[j][j] = 1e18 // known
		}
		b[j] = mean[j] * a[j][j]
	}
	for _, r := range rows {
		for j := range unknowns {
			b[j] += r.coef[j] * r.value / (r.u * r.u)
			for k := range unknowns {
				a[j][k] += r.coef[j] * r.coef[k] / (r.u * r.u)
			}
		}
	}
	inv := inverse(a)
	for j := range unknowns {
		for k := range unknowns {
			x[j] += inv[j][k] * b[k]
		}
		sd[j] = math.Sqrt(math.Max(inv[j][j], 0))
	}
	for _, r := range rows {
		left := r.value
		for j := range unknowns {
			left -= r.coef[j] * x[j]
		}
		chi2 += sq(left / r.u)
	}
	for j := range unknowns {
		if u[j] > 0 {
			chi2 += sq((x[j] - mean[j]) / u[j])
		}
	}
	return x, sd, chi2
}

// inverse of a symmetric positive matrix, by Gauss and Jordan.
func inverse(a [unknowns][unknowns]float64) (inv [unknowns][unknowns]float64) {
	for j := range unknowns {
		inv[j][j] = 1
	}
	for j := range unknowns {
		d := a[j][j]
		for k := range unknowns {
			a[j][k] /= d
			inv[j][k] /= d
		}
		for i := range unknowns {
			if i == j {
				continue
			}
			f := a[i][j]
			for k := range unknowns {
				a[i][k] -= f * a[j][k]
				inv[i][k] -= f * inv[j][k]
			}
		}
	}
	return inv
}

// judgementOfAll is the one judgement of the record; nil where the record allows none.
func (w *moved) judgementOfAll() *Judgement {
	rows := w.relations(0, 0)
	if len(rows) == 0 {
		return nil
	}
	mean, u := w.known()
	j := &Judgement{DoF: len(rows), Verdict: Agrees, Off: []Off{}}
	for _, r := range rows {
		j.Checks = append(j.Checks, r.name)
	}
	_, _, j.Chi2 = solveJoint(rows, mean, u)
	j.P = distuv.ChiSquared{K: float64(j.DoF)}.Survival(j.Chi2)
	switch {
	case !(j.P >= disagreesP):
		j.Verdict = Disagrees
	case j.P < doubtfulP:
		j.Verdict = Doubtful
	}
	const free = 1e3 // as good as nothing known
	for _, q := range []struct {
		name, unit string
		at         int
		worth      float64 // of the unknown in the unit
	}{{OffScale, "", uScale, 1}, {OffHeight, "m", uSpeed, 2 * w.set.Fall.SI()}} {
		loose := u
		loose[q.at] = free
		var by [unknowns]float64 // found so far
		near := rows
		x, sd, chi2 := solveJoint(near, mean, loose)
		for range 6 { // a large error bends the straight lines
			if !(math.Abs(x[q.at]) > 1e-4) || math.Abs(by[q.at]+x[q.at]) > 0.7 {
				break
			}
			by[q.at] += x[q.at]
			if near = w.relations(by[uScale], by[uSpeed]); len(near) != len(rows) {
				near = rows
				break
			}
			x, sd, chi2 = solveJoint(near, mean, loose)
		}
		total := by[q.at] + x[q.at]
		worth := q.worth * total
		if q.at == uSpeed {
			worth = w.set.Fall.SI() * (sq(1+total) - 1)
		}
		o := Off{Quantity: q.name, Unit: q.unit, By: worth, U: sd[q.at] * q.worth}
		if len(near) > 1 {
			o.Explains = distuv.ChiSquared{K: float64(j.DoF - 1)}.Survival(chi2) > doubtfulP
		}
		j.Off = append(j.Off, o)
	}
	j.Statement = j.say()
	return j
}

// say words the judgement, of formats that a catalogue can hold whole.
func (j *Judgement) say() string {
	if j.Verdict == Agrees {
		return fmt.Sprintf("no contradiction: by this record alone %s", offText(j.Off))
	}
	var may []Off
	for _, o := range j.Off {
		if o.Explains {
			may = append(may, o)
		}
	}
	if len(may) == 0 {
		return fmt.Sprintf("the record contradicts itself, and neither a wrong force scale, mass nor height alone explains it (by chance only one record in %s would be as far off); look at guide, zero and events", oneIn(j.P))
	}
	return offText(may) + fmt.Sprintf(" (by chance only one record in %s would be as far off)", oneIn(j.P))
}

func oneIn(p float64) string {
	if !(p > 1e-6) {
		return "a million"
	}
	return quantity.Significant(1/p, 2)
}

// offText says of one quantity or of two, the height last, how far off they are.
func offText(list []Off) (text string) {
	for i, o := range list {
		var format, by, u string
		switch {
		case o.Quantity == OffScale && o.By < 0:
			format = "the force reads %s %% ± %s %% too low, or the mass too high"
		case o.Quantity == OffScale:
			format = "the force reads %s %% ± %s %% too high, or the mass too low"
		case i > 0 && o.By < 0:
			format = ", or the mass fell %s ± %s less than entered"
		case i > 0:
			format = ", or the mass fell %s ± %s more than entered"
		case o.By < 0:
			format = "the mass fell %s ± %s less than entered"
		default:
			format = "the mass fell %s ± %s more than entered"
		}
		if o.Quantity == OffScale {
			by, u = quantity.Significant(100*math.Abs(o.By), 2), quantity.Significant(200*o.U, 2)
		} else {
			by, u = quantity.Length(math.Abs(o.By)).Text(2), quantity.Length(2*o.U).Text(2)
		}
		text += fmt.Sprintf(format, by, u)
	}
	return text
}

// auditJoint is the judgement as a check, which the single ones of mass and motion stand behind.
func auditJoint(j *Judgement) Check {
	if j == nil {
		return notPossible(CheckJoint, "", "the arrest does not show enough of the motion: it broke, was not measured whole, or began without a fall")
	}
	expected := float64(j.DoF)
	return Check{Name: CheckJoint, Unit: "chi2", Expected: &expected, Found: &j.Chi2, Verdict: j.Verdict, Meaning: j.Statement}
}
