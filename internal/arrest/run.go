package arrest

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Run computes every drop of the case and returns what came of the last one; Result.Earlier holds
// the others. It stops after a drop that breaks the chain or reaches the floor. An error says what
// in the case is impossible, or where the computation lost its energy balance.
func Run(ctx context.Context, c *Case, o Options) (*Result, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	if err := o.validate(); err != nil {
		return nil, err
	}
	return runClosed(ctx, c, o, balanceLimit)
}

// runClosed is Run for a case and options in order, with the share that the ledger may be open by.
func runClosed(ctx context.Context, c *Case, o Options, limit float64) (*Result, error) {
	var m solver
	m.compile(c, o)
	m.limit = limit
	var earlier []*Result
	for i := 1; ; i++ {
		m.reset()
		m.probe.begin(&m, o.Sample)
		m.felt.begin()
		if err := m.run(ctx); err != nil {
			if c.Drops > 1 {
				return nil, fmt.Errorf("drop %d: %w", i, err)
			}
			return nil, err
		}
		r := m.result(c)
		m.wear(c, r)
		if i >= c.Drops || r.Outcome != drop.Held {
			if i < c.Drops {
				r.Warnings = append(r.Warnings, message.Say("drop %d ended the series: %s", i, r.Outcome))
			}
			r.Earlier, r.Series = earlier, seriesOf(c, earlier, r)
			return r, nil
		}
		earlier = append(earlier, r)
		if err := m.recover(ctx, c.Rest.SI()); err != nil {
			return nil, fmt.Errorf("rest after drop %d: %w", i, err)
		}
		m.goOnWorn(c, r)
	}
}

func (o Options) validate() error {
	switch o.Method {
	case Auto, Taylor, Radau, Dopri:
	default:
		return fmt.Errorf("method: %q is not known; leave it out, or say taylor, radau or dopri", o.Method)
	}
	if o.Tolerance != 0 && !(o.Tolerance >= 1e-15 && o.Tolerance <= 1e-3) {
		return fmt.Errorf("tolerance: %g is not possible; it lies from 1e-15 to 1e-3", o.Tolerance)
	}
	if s := o.Sample; s != nil {
		if !(s.Rate > 0) || bad(s.Rate.SI()) || s.Before < 0 || bad(s.Before.SI()) {
			return fmt.Errorf("sampling: a rate of %s with %s before first taut is not possible; give a rate above 0 Hz", s.Rate, s.Before)
		}
	}
	return nil
}

// run carries the solver from first taut to the end of the case.
func (m *solver) run(ctx context.Context) error {
	if err := m.settle(); err != nil {
		return err
	}
	return m.carry(ctx)
}

// carry takes the solver from a settled state to the end of the case.
func (m *solver) carry(ctx context.Context) error {
	idle := 0
	for !m.done && (m.t < m.until || m.goesOn()) {
		if m.extended && m.arrestOver() {
			m.until = m.t
			break
		}
		if m.steps&255 == 255 {
			if err := ctx.Err(); err != nil {
				return fmt.Errorf("stopped at t = %.6g s: %w", m.t, err)
			}
		}
		if m.steps >= mostSteps || m.pointwise && m.steps >= mostSteps/stepwiseCost {
			return m.tooMany()
		}
		if m.steps&63 == 63 && m.atRest() {
			m.probe.rest(m)
			m.t = m.until
			break
		}
		before, v := m.t, m.together()
		if _, err := m.step(m.until); err != nil {
			return err
		}
		m.noteTurn(v)
		if !m.summaryOnly {
			m.felt.mark(m)
		}
		if idle++; m.t > before {
			idle = 0
		}
		if idle > 60 {
			if !m.still() && m.until-m.t > 1e-12*m.until {
				return m.endless()
			}
			m.probe.rest(m)
			m.t = m.until
		}
		if m.summaryOnly {
			continue
		}
		if err := m.balance(); err != nil {
			return err
		}
	}
	m.track.end(m, EventEnd)
	if m.summaryOnly {
		return m.balance()
	}
	return nil
}

// mostSteps is where a drop is given up: some seconds of work.
const mostSteps = 300_000

// stepwiseCost is about how many steps of a Taylor series one of the other methods takes the time of.
const stepwiseCost = 10

func (m *solver) tooMany() error {
	return fmt.Errorf("the drop takes too many steps, %d so far, of which the last came to t = %.6g s: end it sooner (until), or take a softer rig, a heavier node or more damping: the fastest part moves at %.3g rad/s",
		m.steps, m.t, m.fastest())
}

// still tells that the mass hangs at rest, to rounding: what then changes without end is rounding, and the rest of
// the run changes nothing.
func (m *solver) still() bool { return m.hangs(1e-9) }

// hangs tells that the mass hangs at rest to a share of the largest speed and force.
func (m *solver) hangs(share float64) bool {
	tiny := share * m.vScale
	return m.phase == taut && m.limbs == 0 && math.Abs(m.v[0]) <= tiny && math.Abs(m.vc[0]) <= tiny &&
		math.Abs(m.f[0]-m.mass*m.g) <= share*m.fScale
}

// atRest tells that the mass hangs, moving by less than is worth a step, and no branch has force left that would let it creep.
func (m *solver) atRest() bool {
	if !m.hangs(1e-7) {
		return false
	}
	for i := range m.links {
		for j := range m.links[i].branches {
			if math.Abs(m.links[i].branches[j].q[0]) > 1e-9*m.fScale {
				return false
			}
		}
	}
	return true
}

func (m *solver) endless() error {
	return fmt.Errorf("the elements change without end at t = %.9g s (%s); change a value slightly", m.t, m.phase)
}

func (m *solver) tooSmall() error {
	return fmt.Errorf("the step became too small at t = %.9g s (%s); a value of the case is extreme", m.t, m.phase)
}

// step carries the solver on to the next event, but no further than the method or the end allow,
// and returns how far it came.
func (m *solver) step(end float64) (float64, error) {
	m.steps++
	m.clear()
	m.expand(m.order)
	if m.phase == taut && m.den < foldLimit {
		moved, err := m.jump()
		if err != nil {
			return 0, err
		}
		if moved {
			return 0, m.settle()
		}
		m.expand(m.order)
	}
	m.list = m.watches(m.list)
	m.rigidLength()
	if m.pointwise {
		return m.stepPoints(end)
	}
	h := min(m.reach(m.order), m.radius(m.order), m.start(m.order), end-m.t)
	if !(h > 0) || m.t+h == m.t {
		return 0, m.tooSmall()
	}
	if m.summaryOnly {
		tau, hit := m.screen(h)
		m.observeForces(tau)
		m.probe.pass(m, tau, m.t+tau >= m.until)
		x, v := m.x[0], m.v[0]
		m.advance(tau)
		m.observeDepth(x, v, tau)
		return tau, m.after(tau, hit, end)
	}
	tau, hit := m.scan(h)
	m.observe(tau)
	m.probe.pass(m, tau, m.t+tau >= m.until)
	m.felt.pass(m, tau)
	m.advance(tau)
	return tau, m.after(tau, hit, end)
}

// radius keeps the step inside the circle of convergence where a yield force falls with slip: there
// the series may end at a fold, close to which its terms are small but do not shrink. Elsewhere it is
// +Inf.
func (m *solver) radius(n int) float64 {
	if m.phase != taut || m.pivot < 0 || m.links[m.pivot].ku >= 0 {
		return inf
	}
	u := &m.links[m.pivot].u
	if u[n] == 0 {
		return inf
	}
	r := math.Abs(u[n-1] / u[n])
	// At rest, as where the mass turns round, every second term of the series is 0 to rounding: then the terms two apart tell.
	if two := math.Sqrt(math.Abs(u[n-2] / u[n])); r < 1e-3*two {
		r = two
	}
	return 0.6 * r
}

// start keeps the step inside the circle of convergence where a yield curve or a hollow textile is near a start that is
// no polynomial, or one of so high a degree that the first terms tell nothing of the rest. Elsewhere it is +Inf.
func (m *solver) start(n int) float64 {
	h := inf
	if m.phase >= parted {
		return h
	}
	for i := range m.links {
		l := &m.links[i]
		switch {
		case l.hollow:
			h = min(h, ratio(&l.u, n), ratio(&l.tel, n))
		case l.knot.Shift > 0 && l.state == slipping && !l.knot.Whole():
			h = min(h, ratio(&l.sq, n))
		}
	}
	return h
}

// ratio is half the radius of convergence that the last terms of a series tell, +Inf where they vanish.
func ratio(c *series, n int) float64 {
	r := inf
	for k := n - 3; k <= n; k++ {
		if c[k] != 0 && c[k-2] != 0 {
			r = min(r, math.Sqrt(math.Abs(c[k-2]/c[k])))
		}
	}
	return r / 2
}

// after ends a step of length tau at which watch hit happened (-1 = none).
func (m *solver) after(tau float64, hit int, end float64) error {
	m.fScale = max(m.fScale, m.f[0])
	if end-m.t < 1e-15*end {
		m.t = end
	}
	if hit < 0 {
		return nil
	}
	m.apply(m.list[hit])
	return m.settle()
}

// rigidLength notes the part of the chain's length that does not change within the step.
func (m *solver) rigidLength() {
	m.base = -m.offset
	for i := range m.links {
		l := &m.links[i]
		if l.kind <= linkTextile || l.state != slipping {
			m.base += l.base
		}
	}
}

// balanceLimit is the share of the fall's energy that the ledger may be open by.
const balanceLimit = 1e-6

var errOpen = errors.New("the energy balance opened")

// balance checks the ledger.
func (m *solver) balance() error {
	in, kinetic, stored, viscous, friction, slip, broken := m.ledger()
	open := in - kinetic - stored - viscous - friction - slip - broken
	size := (m.mass + m.limbs) * max(m.g*m.fall, m.speed*m.speed/2, m.g*m.track.lowest, 1e-3*m.g*m.lengthScale)
	if math.Abs(open) <= m.limit*size {
		return nil
	}
	where := ""
	if n := len(m.track.events); n > 0 {
		e := m.track.events[n-1]
		where = fmt.Sprintf(", after the event %q at %.9g s", e.Kind, e.T.SI())
	}
	return fmt.Errorf("%w by %s of %s at t = %.9g s (%s%s); the result would not be right: report the case",
		errOpen, quantity.Energy(open), quantity.Energy(size), m.t, m.phase, where)
}

// recover lets the unloaded specimen rest between drops; without a time it relaxes fully.
func (m *solver) recover(ctx context.Context, rest float64) error {
	m.hold()
	for i := range m.links {
		l := &m.links[i]
		if l.kind >= linkKnot && l.state == locked {
			l.seat()
		}
	}
	if rest > 0 {
		if err := m.relax(ctx, rest); err != nil {
			return err
		}
	} else {
		for i := range m.links {
			m.links[i].relaxFully()
		}
	}
	return nil
}

// relaxFully puts a textile at zero force in every branch; its permanent set stays.
func (l *link) relaxFully() {
	if l.kind > linkTextile {
		return
	}
	if l.virgin && l.alpha > 0 {
		l.leaveVirgin()
	}
	l.u[0], l.slider = 0, 0
	if l.weak {
		l.restGrip()
	}
	for j := range l.branches {
		l.branches[j].z[0] = 0
	}
	l.evaluate()
}

// relax lets the chain hang unloaded for a time.
func (m *solver) relax(ctx context.Context, rest float64) error {
	for i := range m.links {
		if l := &m.links[i]; l.kind <= linkTextile {
			l.unload(0)
		}
	}
	m.phase, m.t, m.done = slack, 0, false
	m.f = series{}
	m.x, m.v, m.xc, m.vc = series{}, series{}, series{}, series{}
	g, floor, probe := m.g, m.floor, m.probe
	m.g, m.floor, m.probe = 0, inf, sampler{}
	m.x[0] = -1e9
	defer func() { m.g, m.floor, m.probe = g, floor, probe }()
	if err := m.settle(); err != nil {
		return err
	}
	for m.t < rest {
		if err := ctx.Err(); err != nil {
			return err
		}
		if _, err := m.step(rest); err != nil {
			return err
		}
	}
	return nil
}

// result reports the drop that has just been run.
func (m *solver) result(c *Case) *Result {
	k := &m.track
	r := &Result{
		Peaks: append([]Peak{}, k.peaks...), Events: k.sorted(), Outcome: drop.Held,
		Lowest: quantity.Length(k.lowest), Method: m.method, Steps: m.steps, Samples: m.probe.out,
		End: MassState{quantity.Duration(m.t), quantity.Length(m.x[0]), quantity.Speed(m.v[0])},
	}
	for _, p := range r.Peaks {
		if p.Force > r.PeakForce*(1+1e-9) {
			r.PeakForce, r.PeakTime = p.Force, p.T
		}
	}
	r.PeakChain, r.PeakFiltered, r.Certainty = quantity.Force(k.chainPeak), m.felt.peak(), m.certainty()
	switch {
	case k.broke:
		r.Outcome = drop.Broke
		r.Broke = &Break{Element: m.names[m.weakest], T: quantity.Duration(k.brokeAt), Force: quantity.Force(k.brokeForce), place: m.weakest}
	case k.floor:
		r.Outcome = drop.Void
		r.Reason = "the mass reached the floor"
	}
	in, kinetic, stored, viscous, friction, slip, broken := m.ledger()
	r.Energy = Ledger{quantity.Energy(in), quantity.Energy(kinetic), quantity.Energy(stored), quantity.Energy(viscous),
		quantity.Energy(friction), quantity.Energy(slip), quantity.Energy(broken),
		quantity.Energy(in - kinetic - stored - viscous - friction - slip - broken)}
	if m.limbs > 0 {
		r.Body = k.body.report()
	}
	r.Elements = m.elementResults(c, r)
	r.Implausible = append(c.Implausible(), c.stretched(r)...)
	r.Warnings = warnings(c, r)
	return r
}

func (m *solver) elementResults(c *Case, r *Result) []ElementResult {
	list := make([]ElementResult, len(c.Chain))
	for i := range c.Chain {
		list[i] = ElementResult{Name: m.names[i], Kind: c.Chain[i].Kind, Peak: r.PeakChain}
		if t := c.Chain[i].Textile; t != nil {
			list[i].StartingSet = t.StartingSet
		}
	}
	if m.rigElem >= 0 {
		list[m.rigElem].Peak = r.PeakForce
		if m.node == nodeMassive {
			list[m.rigElem].Elongation = quantity.Length(m.track.nodeMost)
		}
	}
	if m.edge.on {
		for i := range m.edge.elem {
			if i != m.rigElem {
				list[i].Peak = quantity.Force(m.edge.farPeak)
			}
		}
		list[m.edge.elem].Peak = quantity.Force(m.edge.load)
	}
	if last := len(c.Chain) - 1; m.limbs > 0 && c.Chain[last].Body != nil {
		list[last].Elongation = quantity.Length(m.track.limbsMost)
	}
	for i := range m.links {
		l := &m.links[i]
		e := &list[l.elem]
		e.Elongation = quantity.Length(l.longest)
		switch {
		case l.kind == linkTextile && l.virgin:
			e.Slip = quantity.Length(l.alpha / (1 - l.alpha) * l.length * l.u[0])
		case l.kind == linkTextile:
			e.Slip = quantity.Length(l.base)
		case l.kind >= linkKnot && l.state == slipping:
			e.Slip = quantity.Length(l.u[0])
		case l.kind >= linkKnot:
			e.Slip = quantity.Length(l.slip)
		}
	}
	return list
}
