package droplist

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

func text(at func(*drop.Drop) *string) func(*drop.Drop, string) error {
	return func(d *drop.Drop, v string) error {
		*at(d) = v
		return nil
	}
}

// parsed sets a field that reads itself from text, such as a quantity.
func parsed[P interface{ UnmarshalText([]byte) error }](at func(*drop.Drop) P) func(*drop.Drop, string) error {
	return func(d *drop.Drop, v string) error { return at(d).UnmarshalText([]byte(v)) }
}

func whole(at func(*drop.Drop) *int) func(*drop.Drop, string) error {
	return func(d *drop.Drop, v string) error {
		n, err := strconv.Atoi(v)
		if err != nil || n < 0 {
			return fmt.Errorf("%q is not a whole number", v)
		}
		*at(d) = n
		return nil
	}
}

var setters = map[string]func(*drop.Drop, string) error{
	"drop":         text(func(d *drop.Drop) *string { return &d.ID }),
	"specimen":     text(func(d *drop.Drop) *string { return &d.Specimen.ID }),
	"material":     text(func(d *drop.Drop) *string { return &d.Specimen.Material }),
	"construction": text(func(d *drop.Drop) *string { return &d.Specimen.Construction }),
	"knot":         text(func(d *drop.Drop) *string { return &d.Specimen.Knot }),
	"batch":        text(func(d *drop.Drop) *string { return &d.Specimen.Batch }),
	"conditioning": text(func(d *drop.Drop) *string { return &d.Specimen.Conditioning }),
	"standard":     text(func(d *drop.Drop) *string { return &d.Specimen.Standard }),
	"record":       text(func(d *drop.Drop) *string { return &d.Record }),
	"channel":      text(func(d *drop.Drop) *string { return &d.Channel }),
	"operator":     text(func(d *drop.Drop) *string { return &d.Operator }),
	"scenario":     text(func(d *drop.Drop) *string { return &d.Scenario }),
	"reason":       text(func(d *drop.Drop) *string { return &d.Entered.Reason }),
	"length":       parsed(func(d *drop.Drop) *quantity.Length { return &d.Specimen.Length }),
	"rating":       parsed(func(d *drop.Drop) *quantity.Force { return &d.Specimen.Rating }),
	"diameter":     parsed(func(d *drop.Drop) *quantity.Length { return &d.Specimen.Diameter }),
	"fall":         parsed(func(d *drop.Drop) *quantity.Length { return &d.Fall }),
	"slack":        parsed(func(d *drop.Drop) *quantity.Length { return &d.Slack }),
	"mass":         parsed(func(d *drop.Drop) *quantity.Mass { return &d.Mass }),
	"order":        whole(func(d *drop.Drop) *int { return &d.Order }),
	"prior":        whole(func(d *drop.Drop) *int { return &d.Prior }),
	"taken": func(d *drop.Drop, v string) error {
		if _, err := time.Parse("2006-01-02", v); err != nil {
			return fmt.Errorf("%q is not a date; write it as 2026-03-31", v)
		}
		d.Taken = v
		return nil
	},
	"role": func(d *drop.Drop, v string) error {
		switch r := drop.Role(strings.ToLower(v)); r {
		case drop.Trial, drop.Check:
			d.Role = r
			return nil
		}
		return fmt.Errorf("%q is neither trial nor check", v)
	},
	"outcome": func(d *drop.Drop, v string) (err error) {
		d.Entered.Outcome, err = drop.ParseOutcome(v)
		return err
	},
	"place": func(d *drop.Drop, v string) (err error) {
		d.Entered.Place, err = drop.ParsePlace(v)
		return err
	},
}
