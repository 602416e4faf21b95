package delimited

import (
	"regexp"
	"strings"

	"hardcatch/internal/quantity"
)

// unit is what a column is written in.
type unit struct {
	quantity.Unit
	kind string // "counts", "acceleration", "index", "clock" or ""
}

// unitOf knows a unit as loggers write it. kg is a load cell's kilogram-force.
func unitOf(text string) (unit, bool) {
	t := strings.TrimSpace(text)
	switch strings.ToLower(t) {
	case "":
		return unit{}, false
	case "counts", "count", "cnt", "raw", "adc", "digits", "lsb":
		return unit{quantity.Unit{Name: t, Factor: 1}, "counts"}, true
	case "g", "gn", "g0", "gee":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimAcceleration, Factor: quantity.StandardGravity}, "acceleration"}, true
	case "kg", "kilogram", "kgf", "kp":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimForce, Factor: quantity.StandardGravity}, ""}, true
	case "lb", "lbs", "lbf":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimForce, Factor: quantity.PoundForce}, ""}, true
	case "kn":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimForce, Factor: 1000}, ""}, true
	case "newton", "newtons":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimForce, Factor: 1}, ""}, true
	case "sec", "secs", "second", "seconds", "sek":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimDuration, Factor: 1}, ""}, true
	case "msec", "millisecond", "milliseconds":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimDuration, Factor: 1e-3}, ""}, true
	case "usec", "microseconds":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimDuration, Factor: 1e-6}, ""}, true
	case "volt", "volts":
		return unit{quantity.Unit{Name: t, Dim: quantity.DimVoltage, Factor: 1}, ""}, true
	case "sample", "samples", "index":
		return unit{quantity.Unit{Name: t, Factor: 1}, "index"}, true
	}
	u, err := quantity.ParseUnit(t)
	if err != nil || u.Name == "" {
		return unit{}, false
	}
	if u.Dim == quantity.DimAcceleration {
		return unit{u, "acceleration"}, true
	}
	return unit{u, ""}, true
}

var bracketed = regexp.MustCompile(`^(.*?)\s*[\[(<{]\s*([^\])>}]*)\s*[\])>}]\s*$`)

// splitUnit cuts "Force [kN]", "Time (ms)", "F_kN", "time/s", "Load in kgf" into name and unit; the unit is
// "" when none is recognised.
func splitUnit(text string) (name, unitText string) {
	text = strings.TrimSpace(text)
	if m := bracketed.FindStringSubmatch(text); m != nil {
		if _, ok := unitOf(m[2]); ok {
			return fallback(m[1], text), m[2]
		}
		return text, ""
	}
	for _, cut := range []string{" in ", "_", " / ", "/", ";", ",", " "} {
		i := strings.LastIndex(text, cut)
		if cut == "/" {
			i = strings.Index(text, cut) // a unit may hold a slash of its own: bridge/mV/V
		}
		if i <= 0 {
			continue
		}
		if u := text[i+len(cut):]; len(u) > 0 && !strings.EqualFold(u, "min") {
			if _, ok := unitOf(u); ok {
				return fallback(text[:i], text), u
			}
		}
	}
	return text, ""
}

func fallback(name, whole string) string {
	if name = strings.TrimSpace(name); name != "" {
		return name
	}
	return whole
}

var (
	timeName  = regexp.MustCompile(`(?i)^(t|time|times|zeit|temps|timestamp|time ?stamp|clock|date|datetime|date ?time|elapsed( time)?|rel(ative)? ?time|x[_ ]value|seconds|milliseconds)$`)
	indexName = regexp.MustCompile(`(?i)^(n|no\.?|nr\.?|#|i|idx|index|sample|samples|sample ?(no\.?|number|index)|count(er)?|point|row|scan)$`)
)
