package csvtrace

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/num/dsp"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// trace makes the channels on the even base.
func (r *reader) trace(s *settled) (*drop.Trace, error) {
	var room []float64
	t := &drop.Trace{Name: r.f.name, Rate: quantity.Frequency(s.rate), Start: quantity.Duration(s.start), Resampled: s.uneven != nil}
	stated := statedStretches(r.before)
	for _, c := range r.cols {
		if c.role != roleValue {
			continue
		}
		values, away := r.vals[c.slot], r.aside[c.slot]
		if away != nil {
			var err error
			if values, err = away.all(values, room); err != nil {
				return nil, fmt.Errorf("%s: %w; look for room on the disk", r.f.name, err)
			}
			room = values
		}
		switch {
		case s.uneven != nil:
			values = r.interpolated(values, s)
		case s.at != nil:
			values = placed(values, s)
		}
		r.vals[c.slot] = nil
		kind := c.unit.Kind
		t.Channels = append(t.Channels, drop.Channel{Name: c.name, Unit: c.unit.Text, Dim: c.unit.Dim, Factor: c.unit.Factor, Kind: kind, Values: values})
		ch := &t.Channels[len(t.Channels)-1]
		ch.Mask = r.withStated(r.maskOf(c.slot, values, s), stated[len(t.Channels)-1], values, s)
		r.saySentinels(ch, s)
		r.sayClipping(ch, s)
		if away != nil {
			ch.Values = nil
		}
	}
	t.Findings = r.f.findings(s.sampleOf, s.samples)
	return t, nil
}

// placed puts rows at their samples, with the mean where several share one, bridges short gaps and leaves
// NaN in long ones.
func placed(rows []float64, s *settled) []float64 {
	out := make([]float64, s.samples)
	nan := math.NaN()
	filled, weight := -1, 0.0
	for i, k := range s.at {
		at := int(k)
		switch {
		case k < 0:
			continue
		case at == filled:
			weight++
			out[at] += (rows[i] - out[at]) / weight
			continue
		}
		lost := at - filled - 1
		for j := filled + 1; j < at; j++ {
			out[j] = nan
			if lost <= longestBridge && filled >= 0 {
				out[j] = out[filled] + (rows[i]-out[filled])*float64(j-filled)/float64(at-filled)
			}
		}
		out[at], filled, weight = rows[i], at, 1
	}
	return out
}

// interpolated brings uneven rows to the even base.
func (r *reader) interpolated(rows []float64, s *settled) []float64 {
	y := make([]float64, len(s.uneven))
	at, weight := int32(-1), 0.0
	for i, k := range s.at {
		switch {
		case k < 0:
		case k == at:
			weight++
			y[k] += (rows[i] - y[k]) / weight
		default:
			y[k], at, weight = rows[i], k, 1
		}
	}
	out := make([]float64, s.samples)
	dsp.ResampleLinear(out, s.uneven, y, 0, 1)
	for _, g := range r.gaps {
		for j := int(math.Floor(g[0])) + 1; j < len(out) && float64(j) < g[1]; j++ {
			out[j] = math.NaN()
		}
	}
	return out
}
