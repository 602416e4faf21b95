package doctor

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// sound is a campaign of two days in which nothing is to be found: two knots on both days, a check drop on each, forces that differ by percents.
func sound() Campaign {
	c := Campaign{
		RigDay: "2026-02-01",
		Rig: &drop.Rig{Mass: 100, Stiffness: 2e6, NodeMass: 0.5, FallU: 0.01, LoadCell: drop.LoadCell{
			Capacity: 50e3, Calibration: drop.CalibrationData{Date: "2026-01-18", Expires: "2027-01-18"},
		}},
	}
	for i := range 8 {
		d := Drop{Drop: drop.Drop{
			ID: fmt.Sprintf("d%d", i+1), Role: drop.Trial, Fall: 0.9, Taken: "2026-03-02", Record: "x.csv",
			Specimen: drop.Specimen{ID: fmt.Sprintf("s%d", i+1), Material: "polyamide", Length: 0.9, Knot: []string{"sewn eyes", "figure-eight"}[i%2]},
		}, Day: "2026-03-05", Outcome: drop.Held, SHA256: fmt.Sprint("hash ", i)}
		if i >= 4 {
			d.Taken = "2026-03-03"
		}
		if i%4 == 3 {
			d.Role, d.Specimen.ID = drop.Check, "link"
		}
		k := 1 + float64(i)/100
		d.Reduction = &reduce.Reduction{
			Peak: quantity.Force(10e3 * k), ArrestDuration: quantity.Duration(0.07 / k), Impulse: quantity.Impulse(350 * k), NoiseSD: 6, TimeToPeak: quantity.Duration(0.03 / k),
			PulseLength: quantity.Duration(0.05 * k), AuditVerdict: reduce.Agrees, Settings: reduce.Settings{Mass: 100, Fall: 0.9},
		}
		c.Drops = append(c.Drops, d)
	}
	return c
}

func keys(findings []Finding) []string {
	var out []string
	for _, f := range findings {
		out = append(out, f.Key)
	}
	return out
}

func TestSoundCampaignHasNoFindings(t *testing.T) {
	if got := Examine(sound()); len(got) != 0 {
		t.Errorf("found %v in a campaign without a fault", keys(got))
	}
}

// copied makes drop j the curve of drop i, times a factor and with its numbers off by a share: what cutting and rounding leave.
func copied(c *Campaign, i, j int, factor, off float64) {
	r := *c.Drops[i].Reduction
	r.Peak, r.Impulse, r.NoiseSD = quantity.Force(r.Peak.SI()*factor), quantity.Impulse(r.Impulse.SI()*factor*(1+off)), quantity.Force(r.NoiseSD.SI()*factor)
	c.Drops[j].Reduction = &r
}

func TestEachFault(t *testing.T) {
	for _, test := range []struct {
		name   string
		spoil  func(c *Campaign)
		want   []string
		effect Effect
	}{
		{"one record under two names", func(c *Campaign) { c.Drops[1].SHA256 = c.Drops[0].SHA256 }, []string{"same-record:d1+d2"}, LeavesOut},
		{"one of them void", func(c *Campaign) { c.Drops[1].SHA256, c.Drops[1].Outcome = c.Drops[0].SHA256, drop.Void }, nil, ""},
		{"a curve saved twice", func(c *Campaign) { copied(c, 0, 4, 1, 4e-5) }, []string{"alike-records:d1+d5"}, LeavesOut},
		{"a curve scaled", func(c *Campaign) { copied(c, 0, 4, 1.1, 0) }, []string{"alike-records:d1+d5"}, LeavesOut},
		{"a curve that differs by more than rounding", func(c *Campaign) { copied(c, 0, 4, 1, 6e-5) }, nil, ""},
		{"a curve of unlike noise", func(c *Campaign) { copied(c, 0, 4, 1, 0); c.Drops[4].Reduction.NoiseSD *= 1.2 }, nil, ""},
		{"a curve of another length", func(c *Campaign) {
			copied(c, 0, 4, 1, 0)
			r := c.Drops[4].Reduction // stretched: all shape ratios stay
			r.ArrestDuration, r.Impulse, r.TimeToPeak, r.PulseLength = 1.001*r.ArrestDuration, 1.001*r.Impulse, 1.001*r.TimeToPeak, 1.001*r.PulseLength
		}, nil, ""},
		{"the peak at another moment", func(c *Campaign) { copied(c, 0, 4, 1, 0); c.Drops[4].Reduction.TimeToPeak *= 1.001 }, nil, ""},
		{"a sharper peak", func(c *Campaign) { copied(c, 0, 4, 1, 0); c.Drops[4].Reduction.PulseLength *= 1.001 }, nil, ""},
		{"a peak that is only a bound is no curve to compare", func(c *Campaign) { copied(c, 0, 4, 1, 0); c.Drops[4].Reduction.PeakBound = reduce.AtLeast }, nil, ""},
		{"check drops are meant to be alike", func(c *Campaign) { copied(c, 3, 7, 1, 0) }, nil, ""},
		{"a hyphen", func(c *Campaign) { c.Drops[1].Specimen.Knot = "Figure eight" }, []string{"alike-levels:knot+Figure eight+figure-eight"}, Marks},
		{"an accent", func(c *Campaign) {
			c.Drops[0].Factors, c.Drops[4].Factors = map[string]string{"Ort": "Hütte"}, map[string]string{"Ort": "hutte"}
			c.Drops[1].Factors, c.Drops[5].Factors = c.Drops[4].Factors, c.Drops[0].Factors
		}, []string{"alike-levels:Ort+Hütte+hutte"}, Marks},
		{"a letter", func(c *Campaign) { c.Drops[1].Specimen.Material = "polyamid" }, []string{"alike-levels:material+polyamid+polyamide"}, Marks},
		{"two letters changed places", func(c *Campaign) { c.Drops[1].Specimen.Material = "polaymide" }, []string{"alike-levels:material+polaymide+polyamide"}, Marks},
		{"short words are words", func(c *Campaign) { c.Drops[0].Specimen.Construction, c.Drops[1].Specimen.Construction = "tape", "rope" }, nil, ""},
		{"numbers are no slips", func(c *Campaign) {
			for i := range c.Drops {
				c.Drops[i].Specimen.Construction = []string{"cord 6 mm", "cord 7 mm"}[i/2%2]
			}
		}, nil, ""},
		{"lengths cut to nearly one", func(c *Campaign) { c.Drops[2].Specimen.Length = 0.91 }, []string{"alike-levels:length+900 mm+910 mm"}, Marks},
		{"lengths 3 % apart", func(c *Campaign) { c.Drops[2].Specimen.Length = 0.93 }, nil, ""},
		{"one specimen twice", func(c *Campaign) { c.Drops[2].Specimen.ID = "s1" }, []string{"one-specimen:s1"}, Marks},
		{"one specimen twice, said", func(c *Campaign) { c.Drops[2].Specimen.ID, c.Drops[2].Prior = "s1", 1 }, nil, ""},
		{"two things of one name", func(c *Campaign) {
			c.Drops[2].Specimen = drop.Specimen{ID: "s1", Material: "polyester", Length: 0.9, Knot: "sewn eyes"}
			c.Drops[2].Prior = 1
		}, []string{"two-of-a-name:s1"}, Marks},
		{"another mass since", func(c *Campaign) { c.Drops[2].Mass = 80 }, []string{"reduced-otherwise:d3"}, Marks},
		{"another fall since", func(c *Campaign) { c.Drops[2].Reduction.Settings.Fall = 0.8 }, []string{"reduced-otherwise:d3"}, Marks},
		{"fall factor 2 may be", func(c *Campaign) { fallOf(c, 2, 1.8) }, nil, ""},
		{"fall factor above 2", func(c *Campaign) { fallOf(c, 2, 1.9) }, []string{"fall-factor:d3"}, Marks},
		{"mm taken for m", func(c *Campaign) { c.Drops[2].Specimen.Length = 900; fallOf(c, 2, 90) }, []string{"long-fall:d3"}, Marks},
		{"slack longer than all", func(c *Campaign) { c.Drops[2].Slack = 1.9 }, []string{"long-slack:d3"}, Marks},
		{"slack as long as it can be", func(c *Campaign) { c.Drops[2].Slack = 1.8 }, nil, ""},
		{"grams for kilograms", func(c *Campaign) { c.Drops[2].Mass, c.Drops[2].Reduction.Settings.Mass = 1001, 1001 }, []string{"odd-mass:d3"}, Marks},
		{"kN for N", func(c *Campaign) { c.Rig.LoadCell.Capacity = 50 }, []string{"odd-rig:capacity"}, Marks},
		{"kN/mm for N/m", func(c *Campaign) { c.Rig.Stiffness = 2 }, []string{"odd-rig:stiffness", "odd-rig:frequency"}, Marks},
		{"a node as heavy as the mass", func(c *Campaign) { c.Rig.NodeMass = 60 }, []string{"odd-rig:node_mass"}, Marks},
		{"cm for m", func(c *Campaign) { c.Rig.FallU = 1 }, []string{"odd-rig:fall_u"}, Marks},
		{"beyond the cell", func(c *Campaign) { c.Rig.LoadCell.Capacity = 10.65e3 }, []string{"beyond-cell:d8"}, Marks},
		{"a certificate that is over", func(c *Campaign) { c.Rig.LoadCell.Calibration.Expires = "2026-03-02" }, []string{"certificate:over+2026-03-02"}, Marks},
		{"a certificate that came later", func(c *Campaign) {
			c.Rig.LoadCell.Calibration.Date, c.RigDay = "2026-03-03", "2026-03-05"
		}, []string{"certificate:early+2026-03-03"}, Marks},
		{"a calibration to come", func(c *Campaign) {
			c.Rig.LoadCell.Calibration.Date, c.RigDay = "2026-01-18", "2026-01-16"
		}, []string{"certificate:future"}, Marks},
		{"the other side of the date line", func(c *Campaign) { c.RigDay = "2026-01-17" }, nil, ""},
		{"a drop of the day after tomorrow", func(c *Campaign) { c.Drops[7].Day = "2026-03-01" }, []string{"future:d8"}, Marks},
		{"an audit that disagrees", func(c *Campaign) { c.Drops[2].Reduction.AuditVerdict = reduce.Disagrees }, []string{"audit:d3"}, Marks},
		{"no reduction", func(c *Campaign) { c.Drops[2].Reduction = nil }, []string{"no-reduction:d3"}, Marks},
		{"planned drops have none", func(c *Campaign) { c.Drops[2].Reduction, c.Drops[2].Open = nil, true }, nil, ""},
		{"dropped before it was planned", func(c *Campaign) { c.Planned = "2026-03-03" }, []string{"before-plan:2026-03-03"}, Marks},
		{"planned in time", func(c *Campaign) { c.Planned = "2026-03-02" }, nil, ""},
		{"asked afterwards", func(c *Campaign) { c.Asked = []Asked{{"knot", "2026-03-03"}, {"age", "2026-03-02"}} }, []string{"before-question:knot"}, Marks},
		{"a knot a day", func(c *Campaign) {
			for i := range c.Drops {
				c.Drops[i].Specimen.Knot = []string{"sewn eyes", "figure-eight"}[i/4]
			}
		}, []string{"factor-with-day:knot"}, Marks},
		{"a day without a check drop", func(c *Campaign) { c.Drops[7].Role, c.Drops[7].Specimen.ID = drop.Trial, "s8" }, []string{"day-without-check:2026-03-03"}, Marks},
		{"no check drops at all", func(c *Campaign) {
			c.Drops[3].Outcome, c.Drops[7].Outcome = drop.Void, drop.Void
		}, []string{"no-check-drops:"}, Marks},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := sound()
			test.spoil(&c)
			got := Examine(c)
			if !slices.Equal(keys(got), test.want) {
				t.Fatalf("found %q, want %q", keys(got), test.want)
			}
			for _, f := range got {
				if f.Effect != test.effect {
					t.Errorf("%s is %s, want %s", f.Key, f.Effect, test.effect)
				}
				if !strings.HasPrefix(f.Key, f.Rule+":") || len(f.Says) == 0 || len(f.Wrong) == 0 || len(f.WayOut) == 0 {
					t.Errorf("%s lacks its rule, fact, what it makes wrong or a way out", f.Key)
				}
			}
		})
	}
}

func fallOf(c *Campaign, i int, fall quantity.Length) {
	c.Drops[i].Fall, c.Drops[i].Reduction.Settings.Fall = fall, fall
}

// What a person settled has no effect any more and comes last; what leaves drops out comes first.
func TestSettledFindingHasNoEffect(t *testing.T) {
	c := sound()
	c.Drops[1].SHA256 = c.Drops[0].SHA256
	c.Drops[2].Reduction.AuditVerdict = reduce.Disagrees
	copied(&c, 4, 6, 1, 0)
	got := Examine(c)
	if want := []string{"same-record:d1+d2", "alike-records:d5+d7", "audit:d3"}; !slices.Equal(keys(got), want) {
		t.Fatalf("found %q, want %q", keys(got), want)
	}
	if left := LeftOut(got); len(left) != 4 || left["d1"] != "same-record:d1+d2" || left["d7"] != "alike-records:d5+d7" {
		t.Errorf("left out %v, want d1, d2, d5, d7", left)
	}
	c.Settled = map[string]Word{"same-record:d1+d2": {By: "bench", Reason: "the logger saved one drop for both", At: time.Unix(0, 0)}}
	got = Examine(c)
	if want := []string{"alike-records:d5+d7", "audit:d3", "same-record:d1+d2"}; !slices.Equal(keys(got), want) {
		t.Errorf("found %q, want %q", keys(got), want)
	}
	if left := LeftOut(got); len(left) != 2 || left["d1"] != "" {
		t.Errorf("left out %v, want d5 and d7", left)
	}
	if open, leaving := Open(got); open != 2 || leaving != 1 {
		t.Errorf("%d open, %d of them leave drops out, want 2 and 1", open, leaving)
	}
}
