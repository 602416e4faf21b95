package app

import (
	"context"
	"fmt"
	"io"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio/rigfile"
)

// RigResult is what entering a rig told.
type RigResult struct {
	look.Receipt
	Rig         drop.Rig  `json:"rig"`
	Gravity     float64   `json:"gravity_mps2"`
	GravityFrom string    `json:"gravity_from"`
	FrequencyHz float64   `json:"frequency_Hz"`
	Coeffs      []float64 `json:"coefficients,omitempty"` // shown (SI) by powers of the force in N
	CoeffSD     []float64 `json:"coefficients_sd,omitempty"`
	ResidualSD  float64   `json:"residual_sd,omitempty"`
	ResidualDoF int       `json:"residual_dof,omitempty"`
	Stale       int       `json:"stale"` // reductions made with an earlier rig
	Warnings    []string  `json:"warnings"`
}

// SetRig enters a rig with its calibration. Earlier revisions are kept; reductions made with them are
// counted as stale until they are made again.
func SetRig(ctx context.Context, a *look.Access, path, name string, r io.Reader) (*RigResult, error) {
	rig, err := rigfile.Read(name, r)
	if err != nil {
		return nil, err
	}
	res := &RigResult{Rig: rig, FrequencyHz: rig.NodeFrequency().SI(), Warnings: []string{}}
	g, from := rig.G()
	res.Gravity, res.GravityFrom = g.SI(), from
	if len(rig.LoadCell.Calibration.Readings) > 0 {
		cal, warnings, err := reduce.FitCalibration(rig.LoadCell.Calibration)
		if err != nil {
			return nil, fmt.Errorf("%s: load_cell.%w", name, err)
		}
		res.Coeffs, res.CoeffSD, res.ResidualSD, res.ResidualDoF = cal.Fit.C, cal.Fit.SD, cal.Fit.ResidualSD, cal.Fit.DoF
		res.Warnings = append(res.Warnings, warnings...)
	} else {
		res.Warnings = append(res.Warnings, "no calibration readings are given: peaks will carry no uncertainty of the force scale")
	}
	if today := a.Now().Format("2006-01-02"); rig.LoadCell.Calibration.Expires != "" {
		expired, err := reduce.Expiry(rig.LoadCell.Calibration, today)
		if err != nil {
			return nil, err
		}
		if expired != "" {
			res.Warnings = append(res.Warnings, "for a drop today: "+expired)
		}
	}
	if rig.NodeFrequency() == 0 {
		res.Warnings = append(res.Warnings, "neither frequency nor stiffness with node_mass is given: the rig's share of a peak cannot be told")
	}
	s, err := a.Files.Open(ctx, path)
	return res, look.Within(s, err, func(s store.Store) error {
		rec, err := s.SetRig(ctx, rig)
		if err != nil {
			return err
		}
		res.Receipt = look.ReceiptOf(rec)
		if rec.Effect == store.Unchanged {
			return nil
		}
		old, err := s.Reductions(ctx)
		if err != nil {
			return err
		}
		if res.Stale = len(old); res.Stale > 0 {
			res.Warnings = append(res.Warnings, look.Plural(res.Stale, "reduction was", "reductions were")+" made with the rig before; make them again with: hardcatch redo "+path)
		}
		return nil
	})
}
