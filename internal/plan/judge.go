package plan

import (
	"context"
	"math"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/arrest/ensemble"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/ode"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// searchDraws is the number of simulations of each try of the search for what would be within a limit.
const searchDraws = 256

// A load cell bears and shows its own reading, ringing and all; what stands in the chain bears the force in it.
func peak95(d drawn) float64  { return at(d.peaks, 0.95) }
func chain95(d drawn) float64 { return at(d.chain, 0.95) }

func shown[T interface{ Text(int) string }](to func(float64) T) func(float64) string {
	return func(v float64) string { return to(v).Text(3) }
}

// limits are those that the bench states. A load cell's is a share of its capacity.
func (p *Plan) limits() []Check {
	forceText := shown(func(v float64) quantity.Force { return quantity.Force(v) })
	lengthText := shown(func(v float64) quantity.Length { return quantity.Length(v) })
	var out []Check
	add := func(name message.Sentence, unitName string, limit float64, load func(drawn) float64, unit func(float64) string) {
		if limit > 0 {
			out = append(out, Check{Limit: name, Unit: unitName, Value: limit, load: load, text: unit})
		}
	}
	t := p.Tower
	cell := p.Rig.LoadCell.Capacity.SI() * t.MostCellPart.SI()
	add(message.Say("%.0f %% of the load cell's capacity", 100*t.MostCellPart.SI()), "N", cell, peak95, forceText)
	add(message.Say("connectors"), "N", t.Connectors.SI(), chain95, forceText)
	add(message.Say("anchor"), "N", t.Anchor.SI(), chain95, forceText)
	add(message.Say("tower height"), "m", t.Height.SI(), p.heightNeeded, lengthText)
	add(message.Say("anchor height"), "m", t.AnchorHeight.SI(), p.belowAnchor, lengthText)
	if t.Height > 0 && t.AnchorHeight > 0 {
		above := t.Height - t.AnchorHeight
		add(message.Say("height above the anchor"), "m", math.Max(above.SI(), 1e-9), func(d drawn) float64 { return p.heightNeeded(d) - p.belowAnchor(d) }, lengthText)
	}
	add(message.Say("energy"), "J", t.Energy.SI(), energy, shown(func(v float64) quantity.Energy { return quantity.Energy(v) }))
	return out
}

// judge holds a forecast against every limit, and says what would be within where one stops it.
func (p *Plan) judge(ctx context.Context, e *ensemble.Plan, d drawn, f *Forecast) error {
	for _, c := range p.limits() {
		c.Predicted = c.load(d)
		c.Verdict = Within
		whole := d
		whole.peaks, whole.chain = d.demand, d.chainDemand
		c.IfHeld = c.load(whole)
		switch {
		case c.Predicted > c.Value:
			c.Verdict = Stops
			f.Runs = false
			if err := within(ctx, e, &c); err != nil {
				return err
			}
			f.Sentences = append(f.Sentences, c.stopped())
		case c.IfHeld > c.Value:
			c.Verdict = IfParts
			f.Warnings = append(f.Warnings, message.Say("%s: %s would be passed if the specimen held: the cell stays within only because the specimen is expected to part first; where that is not sure, fall shorter or use stronger parts", c.Limit, c.text(c.Value)))
		}
		f.Checks = append(f.Checks, c)
	}
	if c := p.Rig.LoadCell.Capacity; c > 0 {
		check := Check{Limit: message.Say("least share of the load cell's capacity"), Unit: "N", Predicted: f.Peak.P50.SI(), Value: c.SI() * p.Tower.LeastCellPart.SI(), Verdict: Within, Least: true}
		if check.Predicted < check.Value {
			check.Verdict = TooSmall
			f.Warnings = append(f.Warnings, message.Say("load cell: a peak of %s uses %.1f %% of the capacity of %s; calibrate in that range, or use a smaller load cell", f.Peak.P50.Text(3), 100*f.Peak.P50.SI()/c.SI(), c.Text(3)))
		}
		f.Checks = append(f.Checks, check)
	}
	return nil
}

// within finds the largest fall and, for forces and energies, the largest mass, each alone, that stay within a limit
// even if the specimen holds. A smaller mass hardly shortens what a drop needs of height.
func within(ctx context.Context, e *ensemble.Plan, c *Check) error {
	length := 0.0
	for _, el := range e.Case.Chain {
		if el.Textile != nil {
			length = el.Textile.Length.SI()
		}
	}
	fall, err := largest(ctx, e, c, e.Case.Fall.SI(), 0, func(x *ensemble.Plan, v float64) { x.Case.Fall = quantity.Length(v) })
	if err != nil {
		return err
	}
	if fall >= 0 {
		h := quantity.Length(fall)
		c.LargestFall = &h
		if length > 0 {
			k := quantity.Ratio(fall / length)
			c.LargestFallFactor = &k
		}
	}
	if c.Unit == "m" {
		return nil
	}
	mass, err := largest(ctx, e, c, e.Case.Mass.SI(), e.Case.Mass.SI()/100, func(x *ensemble.Plan, v float64) {
		scale := v / x.Case.Mass.SI()
		x.Case.Mass = quantity.Mass(v)
		for i := range x.Spreads {
			if s := &x.Spreads[i]; s.Parameter == "mass" {
				s.Width, s.Min = s.Width*scale, s.Min*scale
			}
		}
	})
	if err != nil {
		return err
	}
	if mass >= 0 {
		m := quantity.Mass(mass)
		c.LargestMass = &m
	}
	return nil
}

// largest is the greatest value from least to planned for which the load stays within the limit, -1 when even least
// passes it. The result is on the safe side of the root.
func largest(ctx context.Context, e *ensemble.Plan, c *Check, planned, least float64, set func(*ensemble.Plan, float64)) (float64, error) {
	var failed error
	share := 1.0
	over := func(v float64) float64 {
		if failed != nil {
			return 0
		}
		x := *e
		x.Spreads = append([]ensemble.Spread(nil), e.Spreads...)
		set(&x, v)
		x.Case.Until = until(&x.Case)
		d, err := drawWhole(ctx, &x, searchDraws)
		if err != nil {
			failed = err
			return 0
		}
		return c.load(d) - share*c.Value
	}
	// The search draws fewer falls than the forecast: what they say of the planned fall is made to agree.
	high := over(planned)
	if failed != nil {
		return 0, failed
	}
	share = (high + c.Value) / c.IfHeld
	high += c.Value * (1 - share)
	low := over(least)
	switch {
	case failed != nil:
		return 0, failed
	case low > 0:
		return -1, nil
	}
	// Root gives the end on b's side: b is the safe one.
	v := ode.Root(over, planned, least, high, low, 5e-4*planned)
	return v, failed
}

// stopped says which limit stops a cell and what would make it possible.
func (c Check) stopped() message.Sentence {
	s := message.Say("%s: %s is predicted (95th percentile), the limit is %s", c.Limit, c.text(c.Predicted), c.text(c.Value))
	if c.LargestFall == nil {
		s = s.Say("; no fall would stay within it, not even the load let go when taut")
	} else {
		s = s.Say("; a fall of up to %s would stay within it", floorTo(c.LargestFall.SI(), 0.01, " m"))
		if c.LargestFallFactor != nil {
			s = s.Say(" (fall factor %s)", floorTo(c.LargestFallFactor.SI(), 0.01, ""))
		}
	}
	if c.LargestMass != nil {
		s = s.Say(", or a mass of up to %s with the planned fall", floorTo(c.LargestMass.SI(), 0.1, " kg"))
	}
	instead := map[string]string{"N": ceilTo(c.IfHeld/1000, 0.1, " kN"), "m": ceilTo(c.IfHeld, 0.01, " m"), "J": ceilTo(c.IfHeld/1000, 0.01, " kJ")}[c.Unit]
	s = s.Say("; or a limit of %s or more", instead)
	if c.IfHeld > 1.02*c.Predicted {
		s = s.Say(", which a specimen that held would ask for")
	}
	return s
}

func floorTo(v, step float64, unit string) string {
	return steps(math.Floor(v/step+1e-9), step) + unit
}

func ceilTo(v, step float64, unit string) string {
	return steps(math.Ceil(v/step-1e-9), step) + unit
}

// steps prints n steps with as many decimals as the step has.
func steps(n, step float64) string {
	return strconv.FormatFloat(n*step, 'f', int(math.Round(-math.Log10(step))), 64)
}
