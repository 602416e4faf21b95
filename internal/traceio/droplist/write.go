package droplist

import (
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Write writes drops as a list that Read reads, once the column record is filled in. Columns that a plan does not
// know stand empty for the person at the tower. Lines of remarks stand above the header.
func Write(w io.Writer, drops []drop.Drop, remarks ...string) error {
	for _, r := range remarks {
		if _, err := fmt.Fprintf(w, "# %s\n", r); err != nil {
			return fmt.Errorf("drop list: %w", err)
		}
	}
	factors := factorsOf(drops)
	header := []string{"order", "drop", "specimen", "role", "material", "construction", "length", "knot", "conditioning", "batch", "rating", "diameter", "standard", "fall", "mass", "prior"}
	for _, f := range factors {
		header = append(header, "factor "+f)
	}
	rows := [][]string{append(header, "taken", "operator", "record", "outcome", "place", "reason", "scenario")}
	for _, d := range drops {
		s := d.Specimen
		row := []string{whenSet(d.Order), d.ID, s.ID, string(d.Role), s.Material, s.Construction, exact(s.Length.SI(), "m"), s.Knot, s.Conditioning, s.Batch,
			exact(s.Rating.SI()/1000, "kN"), exact(s.Diameter.SI()*1000, "mm"), s.Standard, number(d.Fall.SI()) + " m", exact(d.Mass.SI(), "kg"), whenSet(d.Prior)}
		for _, f := range factors {
			row = append(row, d.Factors[f])
		}
		rows = append(rows, append(row, d.Taken, d.Operator, d.Record, string(d.Entered.Outcome), string(d.Entered.Place), d.Entered.Reason, d.Scenario))
	}
	c := csv.NewWriter(w)
	if err := c.WriteAll(rows); err != nil {
		return fmt.Errorf("drop list: %w", err)
	}
	return nil
}

func factorsOf(drops []drop.Drop) []string {
	all := map[string]string{}
	for _, d := range drops {
		maps.Copy(all, d.Factors)
	}
	return slices.Sorted(maps.Keys(all))
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 9, 64) }

// exact is a quantity with its unit, "" for zero.
func exact(v float64, unit string) string {
	if v == 0 {
		return ""
	}
	return number(v) + " " + unit
}

func whenSet(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
