package arrest

import (
	"fmt"
	"math/bits"

	"github.com/hardcatch/hardcatch/internal/num/ode"
)

//go:generate go -C ../../bench/lanes run . -set octet -go ../../internal/arrest/octet_rows.go -out ../../internal/arrest/octet_amd64.s -stubs ../../internal/arrest/octet_stub_amd64.go -pkg arrest

// octet runs drops of the general way in lanes, each in its own time: a step of all lanes is computed
// together, whatever their modes; changes of mode are made one by one by the solver of the lane.
type octet struct {
	rows              *octetRows
	drops             [laneCount]octetDrop
	active            uint8 // lanes that run
	flying            uint8 // that are slack: their node may move freely, their textile is unloaded anew
	cubic, second     uint8 // whose textile has a cubic term, whose second link gives way
	slipping, turning uint8 // whose second link slips, whose textile may not turn round in its mode
	clock             int   // steps made
	logEps            float64
}

// octetDrop is the drop in a lane.
type octetDrop struct {
	m               solver
	who             int     // place of the case, -1 = none
	clock           int     // of the octet when the solver's steps were last counted
	hit             int     // watch that ends the present step, -1 = none
	idle            int     // changes of mode since time last moved on
	idleAt          float64 // that time
	textile, second *link
	force, cell     crestStep // of a largest force, of the chain and of the load cell
	fetched         uint8
}

// octetRun is the work of one Batch, or of one Drop.
type octetRun struct {
	e       *Engine
	cases   []Case
	indices []int
	out     []Summary
	single  *Case // instead of cases: the one of a Drop, of which to is the summary
	to      *Summary
	next    int
	err     error
	where   int // place of the case with the error: the first of them counts
}

// place is a case and where its summary goes.
func (w *octetRun) place(who int) (*Case, *Summary) {
	if w.single != nil {
		return w.single, w.to
	}
	return &w.cases[who], &w.out[who]
}

func (w *octetRun) fail(who int, err error) {
	if w.err == nil || who < w.where {
		w.err, w.where = err, who
		if w.single == nil {
			w.err = fmt.Errorf("case %d: %w", who+1, err)
		}
	}
}

// run carries the cases that indices lists, eight at a time.
func (o *octet) run(w *octetRun) error {
	o.logEps = ode.RoughLog2(w.e.generalTolerance())
	o.clock = 0
	for i := range o.drops {
		o.rest(i)
	}
	for i := range o.drops {
		o.refill(w, i)
	}
	for o.active != 0 {
		if o.clock&255 == 255 && w.e.context().Err() != nil {
			return fmt.Errorf("stopped: %w", w.e.context().Err())
		}
		o.step(w)
	}
	return w.err
}

// refill starts the next case in a lane; a case that lanes do not carry is run at once.
func (o *octet) refill(w *octetRun, i int) {
	d := &o.drops[i]
	for w.next < len(w.indices) {
		who := w.indices[w.next]
		w.next++
		c, _ := w.place(who)
		if err := c.Validate(); err != nil {
			w.fail(who, err)
			continue
		}
		w.e.setUpForSummary(&d.m, c)
		t, s, ok := d.m.couple()
		if !ok {
			w.alone(who)
			continue
		}
		d.who, d.textile, d.second = who, t, s
		d.clock, d.hit, d.idle, d.idleAt = o.clock, -1, 0, 0
		d.force.isOpen, d.cell.isOpen = false, false
		d.crests()
		if err := d.m.settle(); err != nil {
			w.finish(d, err)
			continue
		}
		o.active |= 1 << i
		o.putDrop(i)
		if o.goOn(w, i) {
			return
		}
	}
	o.rest(i)
}

// goOn puts a drop back into its lane, or ends it where it is done or lanes do not carry what is left of
// it; it reports whether the lane goes on.
func (o *octet) goOn(w *octetRun, i int) bool {
	d := &o.drops[i]
	if d.m.t >= d.m.until || d.m.done || !d.carries() {
		w.finish(d, d.m.carry(w.e.context()))
		return false
	}
	o.put(i)
	return true
}

// finish reports a drop that has ended. Where it ended with an error the solver takes it again alone: either
// it finds none, or it says what there is to say.
func (w *octetRun) finish(d *octetDrop, err error) {
	if err == nil {
		_, out := w.place(d.who)
		d.m.summary(out)
		return
	}
	w.alone(d.who)
}

// alone runs a case by the solver alone.
func (w *octetRun) alone(who int) {
	if err := w.e.general(w.place(who)); err != nil {
		w.fail(who, err)
	}
}

// step moves every lane on by one step of its own.
func (o *octet) step(w *octetRun) {
	o.clock++
	about := o.about()
	flags := expandOctet(&o.rows.x[0], about)
	screen, chain, cell := uint8(flags)&o.active, uint8(flags>>8)&o.active, uint8(flags>>16)&o.active
	hit := uint8(0)
	for left := screen | chain | cell; left != 0; left &= left - 1 {
		i, bit := bits.TrailingZeros8(left), left&-left
		o.look(i, screen&bit != 0, chain&bit != 0, cell&bit != 0)
		if o.drops[i].hit >= 0 {
			hit |= bit
		}
	}
	flags = advanceOctet(&o.rows.x[0], about)
	turned, late, open := uint8(flags)&o.active, uint8(flags>>8)&o.active, uint8(flags>>16)&o.active
	for left := turned; left != 0; left &= left - 1 {
		o.depth(bits.TrailingZeros8(left))
	}
	for left := late | open | hit | o.flying; left != 0; left &= left - 1 {
		i := bits.TrailingZeros8(left)
		if !o.after(w, i) {
			o.refill(w, i)
		}
	}
}

// about tells the kernels what the drops in the lanes need.
func (o *octet) about() uint64 {
	about := uint64(0)
	for i, lanes := range [...]uint8{o.cubic, o.second, o.slipping, o.turning} {
		if lanes != 0 {
			about |= 1 << i
		}
	}
	return about
}

// after brings a lane's drop up to date and changes its mode where the step ended one; it reports
// whether the lane goes on.
func (o *octet) after(w *octetRun, i int) bool {
	d, h := &o.drops[i], o.rows.h[i]
	m := &d.m
	o.sync(i)
	if d.hit < 0 && (!(h > 0) || m.t+h == m.t) {
		w.finish(d, m.tooSmall())
		return false
	}
	if m.until-m.t < 1e-15*m.until {
		m.t = m.until
		d.crests()
	}
	if d.hit >= 0 {
		if m.t > d.idleAt {
			d.idle, d.idleAt = 0, m.t
		}
		if d.idle++; d.idle > 60 {
			return o.hang(w, i)
		}
		hit := m.list[d.hit]
		d.hit = -1
		if hit.kind == watchSlack || hit.kind == watchBreak || hit.kind == watchFloor {
			d.crests()
		}
		m.apply(hit)
		if err := m.settle(); err != nil {
			w.finish(d, err)
			return false
		}
	}
	return o.goOn(w, i)
}

// hang ends a drop whose mode changes without end: it hangs at rest, or the solver tries it alone.
func (o *octet) hang(w *octetRun, i int) bool {
	d := &o.drops[i]
	m := &d.m
	d.hit = -1
	if !m.still() {
		w.finish(d, m.endless())
		return false
	}
	m.t = m.until
	d.crests()
	return o.goOn(w, i)
}

// depth looks for the lowest place of the mass in the step of a lane in which it turned round.
func (o *octet) depth(i int) {
	d, r := &o.drops[i], o.rows
	m := &d.m
	fetch(&r.cx, i, &m.x)
	fetch(&r.cv, i, &m.v)
	if m.v[0] > 0 && r.v[i] <= 0 {
		m.track.turned = true
	}
	at := r.h[i]
	if v := r.v[i]; v < 0 {
		at = passage(&m.v, m.order, 0, at, m.v[0])
	}
	r.lowest[i] = max(r.lowest[i], ode.Value(m.x[:], m.order, at))
}
