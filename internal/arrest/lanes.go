package arrest

//go:generate go -C ../../bench/lanes run . -go ../../internal/arrest/fast_series.go -out ../../internal/arrest/lanes_amd64.s -stubs ../../internal/arrest/lanes_stub_amd64.go -pkg arrest

import "github.com/hardcatch/hardcatch/internal/drop"

// laneCount is the number of drops in lockstep.
const laneCount = 8

// lanes holds drops in lockstep, structure of arrays; bench/lanes knows the order of the fields.
type lanes struct {
	e, v, z, f, d, h                              [laneCount]float64
	stiff, e3, em, rate, flex, length, perMass, g [laneCount]float64
	ce, cs, cf, cv, cz                            [fastOrder + 1][laneCount]float64
}

// take puts the state and constants of a drop into a lane.
func (l *lanes) take(f *fast, i int) {
	l.stiff[i], l.e3[i], l.em[i], l.rate[i] = f.stiff, f.e3, f.em, f.rate
	l.flex[i], l.length[i], l.perMass[i], l.g[i] = f.flex, f.length, f.perMass, f.g
	l.put(f, i)
}

func (l *lanes) put(f *fast, i int) { l.e[i], l.v[i], l.z[i] = f.e, f.v, f.z }

// idle leaves a lane with numbers that do no harm.
func (l *lanes) idle(i int) {
	l.stiff[i], l.e3[i], l.em[i], l.rate[i], l.flex[i], l.length[i], l.perMass[i], l.g[i] = 1, 0, 0, 0, 0, 1, 1, 0
	l.e[i], l.v[i], l.z[i], l.h[i] = 0, 0, 0, 0
}

// fetch copies the series of a lane to its drop.
func (l *lanes) fetch(f *fast, i int) {
	for k := range f.cf {
		f.ce[k], f.cf[k], f.cv[k], f.cz[k] = l.ce[k][i], l.cf[k][i], l.cv[k][i], l.cz[k][i]
	}
}

// lockstep runs the cases that indices lists, eight at a time.
func (l *lanes) lockstep(drops *[laneCount]fast, eps float64, cases []Case, indices []int, out []Summary) {
	next, active := 0, 0
	var who [laneCount]int
	refill := func(i int) bool {
		if next >= len(indices) {
			who[i] = -1
			l.idle(i)
			return false
		}
		who[i] = indices[next]
		next++
		f := &drops[i]
		f.eps = eps
		f.load(&cases[who[i]])
		out[who[i]] = Summary{Outcome: drop.Held, Broke: -1}
		l.take(f, i)
		return true
	}
	for i := range drops {
		if refill(i) {
			active++
		}
	}
	for active > 0 {
		expandLanes(&l.e[0])
		for i := range drops {
			if who[i] >= 0 {
				f := &drops[i]
				l.h[i] = min(f.reach(l.cf[fastOrder][i], l.cf[fastOrder-1][i]), f.until-f.t)
			}
		}
		advanceLanes(&l.e[0])
		for i := range drops {
			if who[i] < 0 {
				continue
			}
			f := &drops[i]
			f.steps++
			s := f.took(l, i, l.h[i], l.e[i], l.v[i], l.z[i], l.f[i], l.d[i], &out[who[i]])
			if s == airborne {
				s = f.flight(&out[who[i]])
				l.put(f, i)
			}
			if s == finished && !refill(i) {
				active--
			}
		}
	}
}
