package foresee

import (
	"context"
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// slackFound is how the search for a slack ended.
type slackFound int

const (
	slackThere  slackFound = iota
	slackNone              // the sudden load alone passes the limit
	slackBeyond            // no fall that was looked at reaches it
	slackOpen              // a run ended before its force did
)

// slackSearch looks for the free fall whose force is the limit, from none up to most.
type slackSearch struct {
	limit quantity.Force
	use   arrest.Use
	most  quantity.Length
	open  bool
	e     arrest.Engine
}

// force is what the fall of h asks for, with nothing parting and no floor in the way. Where the simulation gives up, as it
// may at a fall for which two things happen at once, a hair higher or lower is asked.
func (k *slackSearch) force(ctx context.Context, c arrest.Case, h float64) (f float64, err error) {
	c.Floor, c.Speed, c.Unbroken, c.AtLeast = 0, 0, true, true
	for _, hair := range []float64{0, 1e-6, -1e-6, 1e-5, -1e-5, 1e-4} {
		c.Fall = quantity.Length(h * (1 + hair))
		var s arrest.Summary
		if k.use == arrest.Strength {
			k.e.Context = ctx
			err = k.e.Drop(&c, &s)
			f = s.PeakChain.SI()
		} else {
			var r *arrest.Result
			if r, err = arrest.Run(ctx, &c, arrest.Options{Tolerance: 1e-9}); err == nil {
				f, s.Certainty = r.Loads().For(k.use).SI(), r.Certainty
			}
		}
		if err == nil {
			k.open = k.open || !s.Certainty.Passed()
			return f, nil
		}
		if ctx.Err() != nil || h == 0 {
			break
		}
	}
	return 0, err
}

// find bisects to 0.1 mm; the slack is rounded down to what is printed.
func (k *slackSearch) find(ctx context.Context, c arrest.Case) (*quantity.Length, slackFound, error) {
	lo, hi := 0.0, k.most.SI()
	f, err := k.force(ctx, c, lo)
	if err != nil {
		return nil, slackOpen, err
	}
	if f >= k.limit.SI() {
		return nil, slackNone, nil
	}
	if f, err = k.force(ctx, c, hi); err != nil {
		return nil, slackOpen, err
	}
	if f < k.limit.SI() {
		if k.open {
			return nil, slackOpen, nil
		}
		return nil, slackBeyond, nil
	}
	for hi-lo > 1e-4 {
		mid := (lo + hi) / 2
		if f, err = k.force(ctx, c, mid); err != nil {
			return nil, slackOpen, err
		}
		if f < k.limit.SI() {
			lo = mid
		} else {
			hi = mid
		}
	}
	if k.open {
		return nil, slackOpen, nil
	}
	return floored(lo), slackThere, nil
}

// mostSlack is how far a slack is looked for: twice the length of the textiles, at least 4 m.
func mostSlack(c *arrest.Case) quantity.Length {
	length := quantity.Length(0)
	for _, el := range c.Chain {
		if el.Textile != nil {
			length += el.Textile.Length
		}
	}
	return quantity.Length(math.Max(4, 2*length.SI()))
}

// slackTo is the largest free fall whose force stays below the limit, or why there is none.
func slackTo(ctx context.Context, c arrest.Case, limit quantity.Force, use arrest.Use) (*quantity.Length, string, error) {
	k := slackSearch{limit: limit, use: use, most: mostSlack(&c)}
	at, found, err := k.find(ctx, c)
	switch {
	case err != nil:
		return nil, "", err
	case found == slackNone:
		return nil, "passed by the sudden load alone, without any slack", nil
	case found == slackBeyond:
		return nil, fmt.Sprintf("not reached up to %s of free fall", k.most.Text(2)), nil
	case found == slackOpen:
		return nil, "cannot be told: a run ended while the force could still rise", nil
	}
	return at, "", nil
}
