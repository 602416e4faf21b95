package droplist

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// entry is a known column: how its text is set, and how a list without it keeps what stood.
type entry struct {
	set  func(d *drop.Drop, v string) error
	keep func(to, from *drop.Drop)
}

func of[T any](at func(*drop.Drop) *T, read func(string) (T, error)) entry {
	return entry{
		set: func(d *drop.Drop, v string) error {
			got, err := read(v)
			if err == nil {
				*at(d) = got
			}
			return err
		},
		keep: func(to, from *drop.Drop) { *at(to) = *at(from) },
	}
}

func text(at func(*drop.Drop) *string) entry {
	return of(at, func(v string) (string, error) { return v, nil })
}

// parsed is a field that reads itself from text, such as a quantity.
func parsed[T any, P interface {
	*T
	UnmarshalText([]byte) error
}](at func(*drop.Drop) *T) entry {
	return of(at, func(v string) (got T, err error) { return got, P(&got).UnmarshalText([]byte(v)) })
}

func whole(at func(*drop.Drop) *int) entry {
	return of(at, func(v string) (int, error) {
		n, err := strconv.Atoi(v)
		if err != nil || n < 0 {
			return 0, fmt.Errorf("%q is not a whole number", v)
		}
		return n, nil
	})
}

func day(v string) (string, error) {
	if _, err := time.Parse(time.DateOnly, v); err != nil {
		return "", fmt.Errorf("%q is not a date; write it as 2026-03-31", v)
	}
	return v, nil
}

func role(v string) (drop.Role, error) {
	switch r := drop.Role(strings.ToLower(v)); r {
	case drop.Trial, drop.Check:
		return r, nil
	}
	return "", fmt.Errorf("%q is neither trial nor check", v)
}

var known = map[string]entry{
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
	"taken":        of(func(d *drop.Drop) *string { return &d.Taken }, day),
	"role":         of(func(d *drop.Drop) *drop.Role { return &d.Role }, role),
	"outcome":      of(func(d *drop.Drop) *drop.Outcome { return &d.Entered.Outcome }, drop.ParseOutcome),
	"place":        of(func(d *drop.Drop) *drop.Place { return &d.Entered.Place }, drop.ParsePlace),
}

// mistyped is the known column that a name was probably meant to be: the nearest one within two letters, or within one of a name of four letters;
// empty when none is that near.
func mistyped(name string) string {
	best, within := "", 3
	for _, k := range slices.Sorted(maps.Keys(known)) {
		most := 2
		if len(k) <= 4 {
			most = 1
		}
		if n := drop.Slips(name, k); n <= most && n < within {
			best, within = k, n
		}
	}
	return best
}
