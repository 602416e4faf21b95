package limits

import (
	"sort"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

const (
	printed   = "published product tables (printed)"
	summary   = "published summaries of the standard (printed)"
	recalled  = "recalled; check against the standard before use"
	replaced  = "published summaries (printed); a 2024 edition changed both figures, which are not known here"
	regulated = "29 CFR 1926 subpart M (printed in summaries)"
)

// Table is every limit known here, in order of value. The editions are those the figures were read from.
func Table() []Limit {
	t := []Limit{
		{Name: "sewn sling", Value: kN(22), Kind: Strength, Edition: "EN 566", Current: true, Source: printed},
		{Name: "tape", Value: kN(10), Kind: Strength, Edition: "EN 565:2017", Current: true, Source: printed},
		{Name: "connector B, gate closed", Value: kN(20), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector B, gate open", Value: kN(7), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector B, across", Value: kN(7), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector H, gate closed", Value: kN(20), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector H, gate open", Value: kN(6), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector H, across", Value: kN(7), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector K, gate closed", Value: kN(25), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector K, gate open", Value: kN(8), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector K, across", Value: kN(7), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector A, gate closed", Value: kN(20), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector A, gate open", Value: kN(7), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector T, gate closed", Value: kN(20), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector T, gate open", Value: kN(7), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector Q, closed", Value: kN(25), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector Q, across", Value: kN(10), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector X, gate closed", Value: kN(18), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector X, gate open", Value: kN(5), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "connector X, across", Value: kN(7), Kind: Strength, Edition: "EN 12275:2013", Current: true, Source: printed},
		{Name: "rock anchor, axial", Value: kN(15), Kind: Strength, Edition: "EN 959:2018", Current: true, Source: printed},
		{Name: "rock anchor, radial", Value: kN(25), Kind: Strength, Edition: "EN 959:2018", Current: true, Source: printed},
		{Name: "harness, upright", Value: kN(15), Kind: Strength, Edition: "EN 12277:2015", Current: true, Source: printed},
		{Name: "harness, head down", Value: kN(10), Kind: Strength, Edition: "EN 12277:2015", Current: true, Source: printed},
		{Name: "harness for a small body, upright", Value: kN(10), Kind: Strength, Edition: "EN 12277:2015", Current: true, Source: printed},
		{Name: "harness for a small body, head down", Value: kN(7), Kind: Strength, Edition: "EN 12277:2015", Current: true, Source: printed},
		{Name: "lanyard, textile", Value: kN(22), Kind: Strength, Edition: "EN 354:2010", Current: true, Source: printed},
		{Name: "lanyard, metal", Value: kN(15), Kind: Strength, Edition: "EN 354:2010", Current: true, Source: printed},
		{Name: "work connector basic, closed", Value: kN(15), Kind: Strength, Edition: "EN 362:2004", Current: true, Source: printed},
		{Name: "work connector basic, locked", Value: kN(20), Kind: Strength, Edition: "EN 362:2004", Current: true, Source: printed},
		{Name: "work connector basic, across", Value: kN(7), Kind: Strength, Edition: "EN 362:2004", Current: true, Source: printed},
		{Name: "anchor device, static", Value: kN(12), Kind: Strength, Edition: "EN 795:2012", Current: true, Source: printed},
		{Name: "anchor device, static, non-metallic", Value: kN(18), Kind: Strength, Edition: "EN 795:2012", Current: true, Source: printed},
		{Name: "semi-static rope A, static", Value: kN(22), Kind: Strength, Edition: "EN 1891", Current: true, Source: printed},
		{Name: "chock, least allowed", Value: kN(2), Kind: Strength, Edition: "EN 12270", Current: true, Source: recalled},
		{Name: "frictional anchor, least allowed", Value: kN(5), Kind: Strength, Edition: "EN 12276", Current: true, Source: recalled},
		{Name: "pulley", Value: kN(12), Kind: Strength, Edition: "EN 12278", Current: true, Source: recalled},
		{Name: "piton, lengthwise", Value: kN(25), Kind: Strength, Edition: "EN 569", Current: true, Source: recalled},
		{Name: "piton, backward", Value: kN(10), Kind: Strength, Edition: "EN 569", Current: true, Source: recalled},
		{Name: "piton, across", Value: kN(15), Kind: Strength, Edition: "EN 569", Current: true, Source: recalled},

		{Name: "dynamic rope, single", Value: kN(12), Kind: Arrest, Edition: "EN 892", Current: true, Terms: "80 kg, 4.6 m on 2.6 m, first of 5 falls", Source: summary},
		{Name: "dynamic rope, half", Value: kN(8), Kind: Arrest, Edition: "EN 892", Current: true, Terms: "55 kg, 4.6 m on 2.6 m, first of 5 falls", Source: summary},
		{Name: "dynamic rope, twin", Value: kN(12), Kind: Arrest, Edition: "EN 892", Current: true, Terms: "80 kg, two strands, 4.6 m on 2.6 m, first of 12 falls", Source: summary},
		{Name: "semi-static rope A, arrest", Value: kN(6), Kind: Arrest, Edition: "EN 1891", Current: true, Terms: "100 kg, fall factor 0.3", Source: summary},
		{Name: "energy absorber", Value: kN(6), Kind: Arrest, Edition: "EN 355:2002", Current: true, Terms: "100 kg, 4 m, extension at most 1.75 m", Source: summary},
		{Name: "via ferrata set, 40 kg", Value: kN(3.5), Kind: Arrest, Edition: "EN 958:2017", Terms: "40 kg", Source: replaced},
		{Name: "via ferrata set, 120 kg", Value: kN(6), Kind: Arrest, Edition: "EN 958:2017", Terms: "120 kg", Source: replaced},
		{Name: "body harness, work at height (US)", Value: lbf(1800), Kind: Arrest, Edition: "29 CFR 1926 subpart M", Current: true, Terms: "force channel of 500 Hz", Source: regulated},
	}
	sort.SliceStable(t, func(i, j int) bool { return t[i].Value < t[j].Value })
	return t
}

func kN(v float64) quantity.Force { return quantity.Force(v * 1000) }

func lbf(v float64) quantity.Force { return quantity.PoundForce * quantity.Force(v) }
