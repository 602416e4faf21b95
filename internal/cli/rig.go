package cli

import (
	"bytes"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

type rigCmd struct {
	File string `arg:"" help:"Campaign file."`
	Rig  string `arg:"" help:"Rig description in YAML."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (rigCmd) Help() string {
	return `Example: hardcatch rig trial.hardcatch rig.yaml

rig.yaml holds name, mass, mass_u, fall_u, gravity or latitude, stiffness and node_mass (or frequency), damping, antialias, speed, and load_cell: {serial, capacity, calibration: {certificate, date, expires, degree, input, reference_u, readings: [{applied: 5 kN, shown: 0.2001}, ...]}}.`
}

// Run enters the rig.
func (c *rigCmd) Run(a *look.Access, s *streams) error {
	data, err := s.readInput(c.Rig)
	if err != nil {
		return err
	}
	r, err := app.SetRig(s.ctx, a, c.File, c.Rig, bytes.NewReader(data))
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(r)
	}
	s.say("rig %q %s: mass %s, gravity %.6g m/s2 (%s)", r.Rig.Name, r.Effect, r.Rig.Mass, r.Gravity, r.GravityFrom)
	if r.FrequencyHz > 0 {
		s.say("load cell node rings at %s", quantity.Frequency(r.FrequencyHz).Text(3))
	}
	for i, b := range r.Coeffs {
		s.say("calibration b%d = %.10g (standard deviation %.3g)", i, b, r.CoeffSD[i])
	}
	if len(r.Coeffs) > 0 {
		s.say("calibration residual standard deviation %.4g with %d degrees of freedom (readings in SI of %s, force in N)", r.ResidualSD, r.ResidualDoF, r.Rig.LoadCell.Calibration.Input)
	}
	s.warn(r.Warnings)
	return nil
}
