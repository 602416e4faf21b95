package view

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/num/censor"
	"github.com/hardcatch/hardcatch/internal/traceio/strengthlist"
)

// StrengthOptions say how a list of strengths is fitted.
type StrengthOptions struct {
	Dist       string
	Confidence float64
	Quantiles  []float64 // empty = the usual ones
	Seed       uint64    // of the bootstrap of the goodness of fit
}

// StrengthResult is a list's fit.
type StrengthResult struct {
	compare.Strength
	Unit     string   `json:"unit"` // "N", or "" for bare numbers
	Void     int      `json:"void"`
	Again    int      `json:"dropped_again"` // lines left out because their specimen has a line before
	Cautions []string `json:"cautions"`
}

// Strength fits a distribution to a list of strengths of which some were only held.
func Strength(_ context.Context, a *look.Access, name string, r io.Reader, o StrengthOptions) (*StrengthResult, error) {
	family, err := censor.ParseFamily(o.Dist)
	if err != nil {
		return nil, err
	}
	l, err := strengthlist.Read(name, r)
	if err != nil {
		return nil, err
	}
	s, err := compare.FitStrength(l.Values, compare.StrengthOptions{Family: family, Confidence: o.Confidence, Quantiles: o.Quantiles, Text: compare.PrinterOf(l.Unit).Down, Source: rand.New(rand.NewPCG(o.Seed, 0x57))})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	s.Warnings = append(message.TellAll(l.Warnings), s.Warnings...)
	if s.Held > 0 && s.Broke > 0 {
		s.Warnings = append(s.Warnings, message.Say("%d of the values {is a bound|are bounds}: the fit takes what a specimen bore and what it can bear as independent; where the two go together, low quantiles come out too high (with a campaign, compare shows by how much)", s.Held))
	}
	return &StrengthResult{Strength: *s, Unit: l.Unit, Void: l.Void, Again: l.Again, Cautions: drop.Cautions()}, nil
}
