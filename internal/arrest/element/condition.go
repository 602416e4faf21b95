package element

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// State is what has happened to a textile besides loading.
type State string

// The states that have starting values.
const (
	Wet  State = "wet"
	Aged State = "aged" // outdoors, in sun and weather
)

// Condition changes stiffness, friction and strength of a textile by factors: those written, else starting values by fibre.
type Condition struct {
	State     State          `json:"state" yaml:"state"`
	Months    quantity.Ratio `json:"months,omitempty" yaml:"months"`       // outdoors, of an aged textile
	Fibre     Fibre          `json:"fibre,omitempty" yaml:"fibre"`         // where no material says it
	Stiffness quantity.Ratio `json:"stiffness,omitempty" yaml:"stiffness"` // factor on E1, E2, E3 and the branches; 0 = starting value
	Friction  quantity.Ratio `json:"friction,omitempty" yaml:"friction"`   // factor on the friction
	Strength  quantity.Ratio `json:"strength,omitempty" yaml:"strength"`   // factor on the strength

	from factors // where what was left out came from
}

// Conditions are all that a textile has been through.
type Conditions []Condition

// Fibre is what a textile is made of.
type Fibre string

// The fibres of which starting values are known.
const (
	Polyamide Fibre = "polyamide"
	Polyester Fibre = "polyester"
	HMPE      Fibre = "hmpe"
	Aramid    Fibre = "aramid"
	Steel     Fibre = "steel"
)

// fibreOf is the fibre of a starting set.
var fibreOf = map[string]Fibre{
	"polyamide-webbing": Polyamide, "hmpe-blend-sling": HMPE, "polyester-webbing": Polyester, "aramid-cord": Aramid,
	"dynamic-rope": Polyamide, "semi-static-rope": Polyamide, "steel-wire": Steel,
}

// factors are what a condition leaves, with the range of the strength and where the figures are from.
type factors struct {
	stiffness, friction float64
	strength, low, high float64
	source              string
}

const (
	memory      = "from memory, no source"
	stiffMemory = "; stiffness and friction are starting values, no source"
)

// wetFactors: polyamide from knot handbooks, a test series and a poll (0.75 to 0.95, knotted about 0.85, 0.70 at the least); the others from memory.
// The stiffness of wet polyamide is such that the peak rises by some percent, as is said of ropes (-5 to +10 %, from memory).
var wetFactors = map[Fibre]factors{
	Polyamide: {1.1, 0.9, 0.85, 0.75, 0.95, "knot handbooks, a test series and a poll (as low as 0.70)" + stiffMemory},
	Polyester: {1, 1, 1, 0.95, 1, memory},
	HMPE:      {1, 1, 1, 0.95, 1, memory},
	Aramid:    {1, 1, 0.95, 0.9, 1, memory},
}

// mostMonths is how long textiles were exposed at most where the figures are from.
const mostMonths = 36

// agedFactors are what so many months outdoors leave. Polyamide and polyester: a webbing exposure study of 1997 to 2004; the others from memory.
func agedFactors(f Fibre, months float64) (factors, bool) {
	left := func(most, over, low, high float64, source string) (factors, bool) {
		part := min(months/over, 1)
		return factors{1, 1, 1 - most*part, 1 - high*part, 1 - low*part, source + stiffMemory}, true
	}
	const study = "a webbing exposure study of 1997 to 2004"
	switch f {
	case Polyamide: // about linear, 50 to 60 % lost at 36 months
		return left(0.55, 36, 0.5, 0.6, study)
	case Polyester: // about 30 % lost at 12 months, then level
		return left(0.3, 12, 0.25, 0.35, study)
	case HMPE: // low to moderate
		return left(0.15, 36, 0.05, 0.3, memory)
	case Aramid: // severe without a sheath
		return left(0.6, 12, 0.4, 0.8, memory)
	}
	return factors{}, false
}

// UnmarshalYAML reads one condition or a list of them.
func (c *Conditions) UnmarshalYAML(read func(any) error) error {
	var items []unread
	if read(&items) == nil {
		return read((*[]Condition)(c))
	}
	var one Condition
	if err := read(&one); err != nil {
		return err
	}
	*c = Conditions{one}
	return nil
}

// unread is a value that is not looked at.
type unread struct{}

// UnmarshalYAML takes anything.
func (*unread) UnmarshalYAML(func(any) error) error { return nil }

// UnmarshalYAML reads the name of a state, or a state with its figures.
func (c *Condition) UnmarshalYAML(read func(any) error) error {
	var name string
	if read(&name) == nil {
		c.State = State(name)
		return nil
	}
	type plain Condition
	return read((*plain)(c))
}

// Expose changes the textile by its conditions, once.
func (t *Textile) Expose() error {
	if len(t.Condition) > 0 && t.Degradation != 0 {
		return errors.New("degradation and condition both say what is left of the strength; leave one out, or write the factor as strength of the condition")
	}
	left := 1.0
	for i := range t.Condition {
		c := &t.Condition[i]
		if slices.ContainsFunc(t.Condition[:i], func(o Condition) bool { return o.State == c.State }) {
			return fmt.Errorf("condition: %s stands twice; write it once", c.State)
		}
		if err := c.complete(t.StartingSet); err != nil {
			return fmt.Errorf("condition: %w", err)
		}
		k := quantity.Force(c.Stiffness)
		t.E1, t.E2, t.E3, t.FrictionStiffness = t.E1*k, t.E2*k, t.E3*k, t.FrictionStiffness*k
		for j := range t.Maxwell {
			t.Maxwell[j].E *= k
		}
		t.Friction *= c.Friction
		left *= c.Strength.SI()
	}
	if left != 1 {
		t.Degradation = quantity.Ratio(left)
	}
	return nil
}

// complete fills in starting values and refuses what makes no sense.
func (c *Condition) complete(material string) error {
	if err := Check(
		Value{"stiffness", c.Stiffness.SI(), upTo(10, "it is a factor above 0 and up to 10")},
		Value{"friction", c.Friction.SI(), upTo(10, "it is a factor above 0 and up to 10")},
		Value{"strength", c.Strength.SI(), upTo(1, "it is the share of strength left, above 0 and at most 1")},
		Value{"months", c.Months.SI(), upTo(mostMonths, fmt.Sprintf("there are figures for up to %d months; give the factors stiffness, friction and strength for longer", mostMonths))},
	); err != nil {
		return err
	}
	f, err := c.factors(material)
	if err != nil {
		return err
	}
	c.Stiffness = orDefault(c.Stiffness, quantity.Ratio(f.stiffness))
	c.Friction = orDefault(c.Friction, quantity.Ratio(f.friction))
	c.Strength = orDefault(c.Strength, quantity.Ratio(f.strength))
	c.from = f
	return nil
}

// factors are the starting values of the condition; they are not asked for where all three factors are written.
func (c *Condition) factors(material string) (factors, error) {
	fibre := fibreOf[material]
	switch {
	case c.Fibre != "" && fibre != "" && c.Fibre != fibre:
		return factors{}, fmt.Errorf("fibre %q does not fit material %s, which is %s; leave fibre out", c.Fibre, material, fibre)
	case fibre == "":
		fibre = c.Fibre
	}
	given := c.Stiffness > 0 && c.Friction > 0 && c.Strength > 0
	var f factors
	var ok bool
	switch {
	case c.State == Wet && c.Months > 0:
		return f, errors.New("months belong to aged: how long a textile is wet has no figures here")
	case c.State != Wet && c.State != Aged:
		return f, fmt.Errorf("state %q is not known; say wet or aged", c.State)
	case fibre == Steel:
		return f, fmt.Errorf("%s has no meaning for steel; corrosion has no figures here", c.State)
	case given:
		return factors{source: "as given"}, nil
	case fibre == "":
		return f, fmt.Errorf("there are no starting values without a fibre; write fibre (%s), or all of stiffness, friction and strength", strings.Join([]string{string(Polyamide), string(Polyester), string(HMPE), string(Aramid)}, ", "))
	case c.State == Aged && c.Months == 0:
		return f, errors.New("aged needs the months outdoors: condition: {state: aged, months: 12}")
	case c.State == Wet:
		f, ok = wetFactors[fibre]
	default:
		f, ok = agedFactors(fibre, c.Months.SI())
	}
	if !ok {
		return f, fmt.Errorf("there are no starting values for fibre %q; known are polyamide, polyester, hmpe and aramid", fibre)
	}
	return f, nil
}

// Exposed are the sentences about the conditions of a textile named name.
func (t *Textile) Exposed(name string) []message.Sentence {
	var out []message.Sentence
	for _, c := range t.Condition {
		what := message.Say("%s is computed %s: strength times %.3g, stiffness times %.3g, friction times %.3g (%s)", message.Names(name), c.words(), c.Strength.SI(), c.Stiffness.SI(), c.Friction.SI(), c.from.source)
		if f := c.from; f.low > 0 && c.Strength.SI() == f.strength {
			what = what.Say("; the strength may be times %.2g to %.2g", f.low, f.high)
		}
		out = append(out, what)
	}
	if len(t.Condition) > 1 {
		out = append(out, message.Say("%s: the factors of %d conditions are multiplied, which nobody has measured together: each has an uncertainty of its own", message.Names(name), len(t.Condition)))
	}
	return out
}

// words names the condition.
func (c Condition) words() string {
	if c.Months > 0 {
		return fmt.Sprintf("%s (%g months outdoors)", c.State, c.Months.SI())
	}
	return string(c.State)
}
