package foresee

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/jobs"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/num/contour"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// asker computes what falls ask of a chain in which nothing parts. It is not safe for use by several goroutines.
type asker struct{ engine arrest.Engine }

// ask is the largest force at the load cell and in the chain of the first arrest.
//
// Quiet, the mass under the load cell is left out. Its ringing puts ripples of up to one percent on the peak, finer than a map can
// show; without it the force at the load cell is that in the chain. With an absorber it is always left out: the stitches tear in
// time with it, and what rings then is the rig.
//
// The tearing force of an absorber rises and falls with every stitch. That is left out, and made up for: the peak is the larger of
// that with the mean force all the way and that with the force of the crests all the way. Before the absorber is torn out the
// second is what the crests give; after it the first is larger, because the mean force takes less energy than
// the crests would: there it errs to the high side.
func (a *asker) ask(q WhatIf, quiet bool) (cell, chain quantity.Force, err error) {
	c, err := q.model()
	if err != nil {
		return 0, 0, err
	}
	c.Unbroken = true
	if quiet || q.Absorber {
		c.Chain[0].Rig.NodeMass, c.Chain[0].Rig.DampingRatio = 0, 0
	}
	var absorber *arrest.Absorber
	crest := 0.0
	for _, e := range c.Chain {
		if e.Absorber != nil {
			absorber, crest = e.Absorber, e.Absorber.Ripple.SI()
			absorber.Ripple = 0
		}
	}
	if cell, chain, err = a.first(c); err != nil || crest == 0 {
		return cell, chain, err
	}
	absorber.Force *= quantity.Force(1 + crest)
	cell2, chain2, err := a.first(c)
	return max(cell, cell2), max(chain, chain2), err
}

// first runs the drop until the mass has turned.
func (a *asker) first(c *arrest.Case) (cell, chain quantity.Force, err error) {
	const (
		longest = 60   // s
		atRest  = 1e-3 // m/s
	)
	var s arrest.Summary
	for until := turning(c); ; until *= 2 {
		c.Until = quantity.Duration(until)
		if err := a.engine.Drop(c, &s); err != nil {
			return 0, 0, err
		}
		// A mass that hardly sinks any more (a knot may creep under its weight) adds next to nothing to the force.
		if s.Arrests > 1 || s.End.Velocity <= atRest && s.PeakTime < c.Until {
			return s.PeakForce, s.PeakChain, nil
		}
		if until > longest {
			return 0, 0, fmt.Errorf("a fall of %s on %s: the mass does not turn within %d s; take a shorter or a stiffer specimen", c.Fall.Text(3), c.Label(1), longest)
		}
	}
}

// turning is a time by which the mass has turned in most cases: a suddenly applied load turns after half a period of
// the softest linear part, and every fall before that; while an absorber tears, its force less the weight slows the mass.
func turning(c *arrest.Case) float64 {
	compliance, tearing := 0.0, 0.0
	weight := c.Mass.SI() * quantity.StandardGravity
	for _, e := range c.Chain {
		switch {
		case e.Rig != nil:
			compliance += 1 / e.Rig.Stiffness.SI()
		case e.Textile != nil:
			compliance += e.Textile.Length.SI() / e.Textile.E1.SI()
		case e.Absorber != nil:
			slows := max(e.Absorber.Force.SI()/weight-1, 0.1) * quantity.StandardGravity
			tearing = math.Sqrt(2*quantity.StandardGravity*c.Fall.SI()) / slows
		}
	}
	return 1.1*math.Pi*math.Sqrt(c.Mass.SI()*compliance) + tearing
}

// peakAt is the peak at a place of a map, N. Each worker has its own.
type peakAt func(across, up float64) (float64, error)

// quiet starts what a map is made of.
func (q MapQuestion) quiet() peakAt {
	var k asker
	return func(across, up float64) (float64, error) {
		f, _, err := k.near(q, across, up, true)
		return f.SI(), err
	}
}

// surface is the peak over two quantities.
type surface struct {
	q     MapQuestion
	fit   MapFit
	fine  contour.Grid // peak, N, on a grid close enough for straight lines
	stiff float64      // of the textile at first, N per unit strain
}

// MapFit tells how well the map is read between the drops that were computed.
type MapFit struct {
	Drops   int            `json:"drops"` // computed for the map
	Cells   int            `json:"cells"` // whose middle was computed and compared with what is read off there
	Worst   quantity.Ratio `json:"worst"` // largest difference as a share of the peak
	P95     quantity.Ratio `json:"p95"`   // on 95 of 100 parts of the map's grid it is less
	Across  float64        `json:"worst_across"`
	Up      float64        `json:"worst_up"`
	Allowed quantity.Ratio `json:"allowed"` // above it a warning is given
}

const (
	firstCellsX, firstCellsY = 12, 9
	fineCells                = 96     // across; the least number of cells of the fine grid
	mostHalvings             = 4      // of a cell
	mostMapDrops             = 2500   // halving ends above
	goodFit                  = 0.0015 // a cell whose middle differs by more is halved
	goodAbsorberFit          = 0.005  // the same with an absorber, whose drops take longer
	allowedFit               = 0.02   // warn above
)

// level is the grid at one size of cell: what is known at its nodes, and how far the middle of each cell was off.
type level struct {
	nx, ny int             // cells
	v      []float64       // at the nodes, N
	sure   []bool          // computed, not read off
	miss   []float64       // of each cell's middle, as a share of the peak; NaN = not measured yet
	mid    map[int]float64 // computed in the middle of cells
}

// survey computes drops on a coarse grid and in the middle of each cell. Where the middle is not what would be read off, the cell and its
// neighbours are parted into four, again and again: a map is smooth nearly everywhere, and has kinks where a knot locks or
// an absorber is torn out.
func survey(ctx context.Context, a *look.Access, q MapQuestion, start func() peakAt) (*surface, error) {
	set, _ := arrest.StartingSet(q.Material)
	s := &surface{q: q, stiff: set.E1.SI()}
	for _, b := range set.Maxwell {
		s.stiff += b.E.SI()
	}
	l := &level{nx: firstCellsX, ny: firstCellsY}
	n := (l.nx + 1) * (l.ny + 1)
	l.v = make([]float64, n)
	l.sure, l.miss = make([]bool, n), unknowns(l.nx*l.ny)
	good := goodFit
	if q.Absorber {
		good = goodAbsorberFit
	}
	for halvings := 0; ; halvings++ {
		if err := s.compute(ctx, a, l, start); err != nil {
			return nil, err
		}
		s.judge(l)
		bad := l.bad(good)
		if bad == nil || halvings == mostHalvings || s.fit.Drops > mostMapDrops {
			break
		}
		l = s.halve(l, bad)
	}
	s.finish(l)
	return s, nil
}

func unknowns(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}

// compute makes the corners and the middle of every cell sure that has not been measured.
func (s *surface) compute(ctx context.Context, a *look.Access, l *level, start func() peakAt) error {
	var todo [][2]int // by twice the place, so that middles are odd
	l.mid = map[int]float64{}
	wanted := make([]bool, len(l.sure))
	for c, m := range l.miss {
		if !math.IsNaN(m) {
			continue
		}
		i, j := c%l.nx, c/l.nx
		todo = append(todo, [2]int{2*i + 1, 2*j + 1})
		for _, n := range [4]int{j*(l.nx+1) + i, j*(l.nx+1) + i + 1, (j+1)*(l.nx+1) + i, (j+1)*(l.nx+1) + i + 1} {
			if !l.sure[n] && !wanted[n] {
				wanted[n] = true
				todo = append(todo, [2]int{2 * (n % (l.nx + 1)), 2 * (n / (l.nx + 1))})
			}
		}
	}
	forces := make([]float64, len(todo))
	if err := s.ask(ctx, a, l, start, todo, forces); err != nil {
		return err
	}
	for i, p := range todo {
		if p[0]%2 == 1 {
			l.mid[p[1]/2*l.nx+p[0]/2] = forces[i]
			continue
		}
		n := p[1]/2*(l.nx+1) + p[0]/2
		l.v[n], l.sure[n] = forces[i], true
	}
	s.fit.Drops += len(todo)
	return nil
}

// ask computes drops on all cores.
func (s *surface) ask(ctx context.Context, a *look.Access, l *level, start func() peakAt, todo [][2]int, forces []float64) error {
	const part = 16
	parts := (len(todo) + part - 1) / part
	done := 0
	return jobs.Local(ctx, parts, func() func(context.Context, int) error {
		peak := start()
		return func(_ context.Context, n int) error {
			for i := n * part; i < min((n+1)*part, len(todo)); i++ {
				x, y := s.at(float64(todo[i][0])/float64(2*l.nx), float64(todo[i][1])/float64(2*l.ny))
				f, err := peak(x, y)
				if err != nil {
					return err
				}
				forces[i] = f
			}
			return nil
		}
	}, func(int) bool {
		done++
		a.Progress("map", done, parts)
		return true
	})
}

// near asks for the fall at a place.
func (k *asker) near(q MapQuestion, across, up float64, quiet bool) (cell, chain quantity.Force, err error) {
	if cell, chain, err = k.hair(q.At(across, up), quiet); err != nil {
		return 0, 0, fmt.Errorf("map, at %s %s and %s %s: %w", q.Across.Quantity.Name(), q.Across.Quantity.Text(across, 3), q.Up.Quantity.Name(), q.Up.Quantity.Text(up, 3), err)
	}
	return cell, chain, nil
}

// hair asks for a fall, and where the simulation gives up, as it may at a fall for which two things happen at once, for one
// that is a hair higher or lower.
func (k *asker) hair(w WhatIf, quiet bool) (cell, chain quantity.Force, err error) {
	for _, hair := range []quantity.Length{0, 1e-6, -1e-6, 1e-5, -1e-5, 1e-4} {
		x := w
		x.Fall *= 1 + hair
		if cell, chain, err = k.ask(x, quiet); err == nil {
			return cell, chain, nil
		}
	}
	return 0, 0, err
}

// at is the place at shares of the way along which the cells are even.
func (s *surface) at(x, y float64) (across, up float64) { return s.q.Across.at(x), s.q.Up.at(y) }

// judge compares the middles that were computed with what is read off there.
func (s *surface) judge(l *level) {
	read := s.read(l, 2)
	for c, v := range l.mid {
		i, j := 2*(c%l.nx)+1, 2*(c/l.nx)+1
		l.miss[c] = math.Abs(read[j*(2*l.nx+1)+i]/v - 1)
	}
	s.fit.Cells += len(l.mid)
}

// read is the values of a level with k by k places in each cell. What is read between the nodes is not the force but its share of what a
// linear spring would give: that bends much less.
func (s *surface) read(l *level, k int) []float64 {
	share := make([]float64, len(l.v))
	s.each(l.nx, l.ny, func(n int, spring float64) { share[n] = l.v[n] / spring })
	out := contour.Refine(share, l.nx+1, l.ny+1, k)
	s.each(l.nx*k, l.ny*k, func(n int, spring float64) { out[n] *= spring })
	return out
}

// each gives the force of a linear spring at every node of a grid of nx by ny cells.
func (s *surface) each(nx, ny int, do func(n int, spring float64)) {
	for j := range ny + 1 {
		for i := range nx + 1 {
			x, y := s.at(float64(i)/float64(nx), float64(j)/float64(ny))
			do(j*(nx+1)+i, s.spring(x, y))
		}
	}
}

// spring is the peak on a linear spring with the first stiffness of the textile and that of the rig:
// F = W + sqrt(W^2 + 2 W k h) (Wexler, Am. Alpine J. 1950).
func (s *surface) spring(across, up float64) float64 {
	w := s.q.At(across, up)
	weight := w.Mass.SI() * quantity.StandardGravity
	k := 1 / (w.Length.SI()/s.stiff + 1/w.Rig.SI())
	return weight + math.Sqrt(weight*weight+2*weight*k*w.Fall.SI())
}

// bad marks the cells to be halved: those that are off and have not been accepted before, and their neighbours; nil when there is none.
func (l *level) bad(good float64) []bool {
	var out []bool
	for c := range l.mid {
		if l.miss[c] <= good {
			continue
		}
		if out == nil {
			out = make([]bool, len(l.miss))
		}
		i, j := c%l.nx, c/l.nx
		for n := max(j-1, 0); n <= min(j+1, l.ny-1); n++ {
			for m := max(i-1, 0); m <= min(i+1, l.nx-1); m++ {
				out[n*l.nx+m] = true
			}
		}
	}
	return out
}

// halve parts every cell into four. Nodes that were not computed are read off; only the parts of bad cells are measured anew, the
// others keep what was measured of the whole.
func (s *surface) halve(l *level, bad []bool) *level {
	h := &level{nx: 2 * l.nx, ny: 2 * l.ny, v: s.read(l, 2)}
	h.sure, h.miss = make([]bool, len(h.v)), unknowns(h.nx*h.ny)
	for n, sure := range l.sure {
		h.sure[2*(n/(l.nx+1))*(h.nx+1)+2*(n%(l.nx+1))] = sure
	}
	for c, v := range l.mid {
		if bad[c] { // a single value between others that were read off would be a bump
			n := (2*(c/l.nx)+1)*(h.nx+1) + 2*(c%l.nx) + 1
			h.v[n], h.sure[n] = v, true
		}
	}
	for c := range h.miss {
		if whole := c/h.nx/2*l.nx + c%h.nx/2; !bad[whole] {
			h.miss[c] = l.miss[whole]
		}
	}
	return h
}

// finish sums up how well the map is read and makes the fine grid.
func (s *surface) finish(l *level) {
	s.fit.Allowed = allowedFit
	for c, m := range l.miss {
		if m > s.fit.Worst.SI() {
			s.fit.Worst = quantity.Ratio(m)
			s.fit.Across, s.fit.Up = s.at((float64(c%l.nx)+0.5)/float64(l.nx), (float64(c/l.nx)+0.5)/float64(l.ny))
		}
	}
	all := slices.Sorted(slices.Values(l.miss))
	s.fit.P95 = quantity.Ratio(all[len(all)*95/100])
	k := max(1, (fineCells+l.nx-1)/l.nx)
	for i := range l.nx*k + 1 {
		s.fine.X = append(s.fine.X, s.q.Across.at(float64(i)/float64(l.nx*k)))
	}
	for j := range l.ny*k + 1 {
		s.fine.Y = append(s.fine.Y, s.q.Up.at(float64(j)/float64(l.ny*k)))
	}
	s.fine.V = s.read(l, k)
}

// lines are the lines of a force.
func (s *surface) lines(force quantity.Force) []MapLine {
	out := []MapLine{}
	for _, l := range s.fine.Lines(force.SI()) {
		var m MapLine
		for _, p := range l {
			m.Across, m.Up = append(m.Across, p.X), append(m.Up, p.Y)
		}
		out = append(out, m)
	}
	return out
}

// span is the least and largest peak of the map.
func (s *surface) span() (lo, hi quantity.Force) {
	return quantity.Force(slices.Min(s.fine.V)), quantity.Force(slices.Max(s.fine.V))
}

// rows are the forces by rows, to the tenth of a newton: more would be noise in what is sent.
func (s *surface) rows() [][]float64 {
	var out [][]float64
	for row := range slices.Chunk(s.fine.V, len(s.fine.X)) {
		r := make([]float64, len(row))
		for i, f := range row {
			r[i] = math.Round(10*f) / 10
		}
		out = append(out, r)
	}
	return out
}
