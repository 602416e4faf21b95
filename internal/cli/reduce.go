package cli

import (
	"fmt"
	"io"
	"os"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/reduce/selfcal"
	"github.com/hardcatch/hardcatch/internal/traceio/rigfile"
)

type reduceCmd struct {
	Record string           `arg:"" help:"Force record."`
	Mass   quantity.Mass    `placeholder:"MASS" help:"Mass that was dropped, for example '100 kg'."`
	Fall   *quantity.Length `placeholder:"HEIGHT" help:"Free fall before the specimen came taut, for example '0.9 m'."`
	Filter reduce.Filter    `default:"cfc60" help:"Low-pass: cfc60, cfc180-iso, a 3 dB frequency such as '250 Hz', or none."`
	Rig    string           `help:"Rig description in YAML, for calibration, gravity and natural frequency."`

	MassU    quantity.Mass         `placeholder:"MASS" name:"mass-u" help:"Standard uncertainty of the mass."`
	FallU    quantity.Length       `placeholder:"LENGTH" name:"fall-u" help:"Standard uncertainty of the fall height."`
	GainU    quantity.Ratio        `placeholder:"SHARE" name:"gain-u" help:"Relative standard uncertainty of the force, for example '0.5 %', without a calibration."`
	RigFreq  quantity.Frequency    `placeholder:"FREQUENCY" name:"rig-frequency" help:"Natural frequency of the load cell with its node."`
	Gravity  quantity.Acceleration `placeholder:"GRAVITY" help:"Gravity, standard when not given."`
	Taken    string                `help:"Date of the drop, for the expiry of the certificate: 2026-03-31."`
	From     *quantity.Duration    `placeholder:"TIME" help:"The drop lies in the part of the record from here, on the record's clock; for a record that holds more than the drop."`
	To       *quantity.Duration    `placeholder:"TIME" help:"To here."`
	Coverage float64               `default:"0.95" help:"Coverage probability of the expanded uncertainty."`
	Measure  int                   `name:"measure-coverage" placeholder:"RUNS" help:"Compute so many arrests like this one (200 is usual), lay the record's own noise on them, reduce them again, and print how often the intervals hold the truth."`
	JSON     bool                  `name:"json" help:"Print JSON."`
	readerFlags
}

// Help is shown below the usage.
func (reduceCmd) Help() string {
	return `Example: hardcatch reduce record.csv --mass "100 kg" --fall "0.9 m" --filter cfc60`
}

// Run reduces the record.
func (c *reduceCmd) Run(a *look.Access, s *streams) error {
	set, err := c.settings()
	if err != nil {
		return err
	}
	r, covered, err := c.reduce(a, s, set)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(struct {
			*reduce.Reduction
			Coverage *selfcal.Result `json:"measured_coverage,omitempty"`
		}{r, covered})
	}
	if err := s.reduction(r); err != nil {
		return err
	}
	if covered != nil {
		if err := s.coverage(covered); err != nil {
			return err
		}
	}
	s.cautions()
	return nil
}

// reduce reduces the record, and measures the coverage of its intervals where that is asked for.
func (c *reduceCmd) reduce(a *look.Access, s *streams, set reduce.Settings) (*reduce.Reduction, *selfcal.Result, error) {
	f, err := os.Open(c.Record)
	if err != nil {
		return nil, nil, fmt.Errorf("%s cannot be read: %w", c.Record, err)
	}
	rec := a.New("", c.Record, opened{f}, look.Kept{Reader: c.reading(set.Mass), Reduce: set})
	if c.Measure == 0 {
		r, err := rec.Reduce(s.ctx, a.Known().Latest())
		return r, nil, err
	}
	w, err := rec.Whole(s.ctx, a.Known().Latest())
	if err != nil {
		return nil, nil, err
	}
	covered, err := measureCoverage(s.ctx, w, c.Measure)
	return w.Reduction, covered, err
}

// opened is a file as the original that it holds; it can be read once.
type opened struct{ f *os.File }

// Open implements store.Original.
func (o opened) Open() (io.ReadCloser, error) { return o.f, nil }

func (c *reduceCmd) settings() (reduce.Settings, error) {
	var rig drop.Rig
	if c.Rig != "" {
		f, err := os.Open(c.Rig)
		if err != nil {
			return reduce.Settings{}, fmt.Errorf("%s cannot be read: %w", c.Rig, err)
		}
		rig, err = rigfile.Read(c.Rig, f)
		if cerr := f.Close(); err == nil {
			err = cerr
		}
		if err != nil {
			return reduce.Settings{}, err
		}
	}
	if c.Fall == nil {
		return reduce.Settings{}, fmt.Errorf("the fall height is missing; give the free fall before the specimen came taut with --fall \"0.9 m\" (0 m for a load let go when taut)")
	}
	set := reduce.FromRig(rig, drop.Drop{Fall: *c.Fall, Mass: c.Mass, Channel: c.Channel, Taken: c.Taken}, c.Filter)
	override(&set.MassU, c.MassU)
	override(&set.FallU, c.FallU)
	override(&set.GainU, c.GainU)
	override(&set.RigFrequency, c.RigFreq)
	override(&set.Gravity, c.Gravity)
	set.Coverage = c.Coverage
	if c.From != nil || c.To != nil {
		set.Hand = &reduce.EventsByHand{From: c.From, To: c.To}
	}
	if set.Mass <= 0 {
		return set, fmt.Errorf("the mass is missing; give it with --mass \"100 kg\", or in a rig file with --rig")
	}
	return set, nil
}

func override[T ~float64](to *T, v T) {
	if v != 0 {
		*to = v
	}
}
