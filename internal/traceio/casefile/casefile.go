// Package casefile reads a fall to simulate from YAML: mass, fall and the chain from anchor to mass.
package casefile

import (
	"fmt"
	"io"
	"regexp"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/quantity"
	model "github.com/hardcatch/hardcatch/internal/traceio/textile"
	"github.com/hardcatch/hardcatch/internal/traceio/yamlread"
)

// file mirrors the YAML.
type file struct {
	Mass    quantity.Mass         `yaml:"mass"`
	Fall    quantity.Length       `yaml:"fall"`
	Speed   quantity.Speed        `yaml:"speed"`
	Gravity quantity.Acceleration `yaml:"gravity"`
	Until   quantity.Duration     `yaml:"until"`
	Drops   int                   `yaml:"drops"`
	Rest    quantity.Duration     `yaml:"rest"`
	Floor   quantity.Length       `yaml:"floor"`
	Chain   []element             `yaml:"chain"`
}

type element struct {
	Rig      *rig      `yaml:"rig"`
	Textile  *textile  `yaml:"textile"`
	Knot     *knot     `yaml:"knot"`
	Absorber *absorber `yaml:"absorber"`
	Body     *body     `yaml:"body"`
}

type rig struct {
	Name         string             `yaml:"name"`
	Stiffness    quantity.Stiffness `yaml:"stiffness"`
	DampingRatio quantity.Ratio     `yaml:"damping_ratio"`
	Damping      quantity.Damping   `yaml:"damping"`
	NodeMass     quantity.Mass      `yaml:"node_mass"`
}

type textile struct {
	Name          string          `yaml:"name"`
	Material      string          `yaml:"material"`
	Length        quantity.Length `yaml:"length"`
	model.Written `yaml:",inline"`
	Set           *quantity.Ratio    `yaml:"set"`
	Degradation   quantity.Ratio     `yaml:"degradation"`
	BreakRamp     *quantity.Duration `yaml:"break_ramp"`
}

type knot struct {
	Name       string             `yaml:"name"`
	F0         quantity.Force     `yaml:"F0"`
	FL         quantity.Force     `yaml:"FL"`
	Slip       quantity.Length    `yaml:"slip"`
	Power      quantity.Ratio     `yaml:"power"`
	Lock       quantity.Stiffness `yaml:"lock"`
	Efficiency quantity.Ratio     `yaml:"efficiency"`
	State      quantity.Length    `yaml:"state"`
}

type absorber struct {
	Name     string             `yaml:"name"`
	Force    quantity.Force     `yaml:"force"`
	Ripple   quantity.Ratio     `yaml:"ripple"`
	Pitch    quantity.Length    `yaml:"pitch"`
	Travel   quantity.Length    `yaml:"travel"`
	Backing  quantity.Stiffness `yaml:"backing"`
	Strength quantity.Force     `yaml:"strength"`
	State    quantity.Length    `yaml:"state"`
}

type body struct {
	Name         string             `yaml:"name"`
	Stiffness    quantity.Stiffness `yaml:"stiffness"`
	DampingRatio quantity.Ratio     `yaml:"damping_ratio"`
	TorsoShare   quantity.Ratio     `yaml:"torso_share"`
}

// Read reads a case; what its file says of spread and components is for other commands. Quantities carry units; a bare number is SI. `material` fills in the starting values
// of that name for what is left out, and marks them. An unknown key, a wrong unit or an impossible value
// is an error with line and column.
func Read(name string, r io.Reader) (*arrest.Case, error) {
	var f chainFile
	places, err := yamlread.Decode(name, r, &f)
	if err != nil {
		return nil, err
	}
	return f.toCase(name, places)
}

func (f file) toCase(name string, places yamlread.Places) (*arrest.Case, error) {
	c := &arrest.Case{Mass: f.Mass, Fall: f.Fall, Speed: f.Speed, Gravity: f.Gravity, Until: f.Until, Drops: f.Drops, Rest: f.Rest, Floor: f.Floor}
	for i, e := range f.Chain {
		made, err := e.make()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", places.At(name, fmt.Sprintf("chain[%d]", i)), err)
		}
		c.Chain = append(c.Chain, made)
	}
	if err := c.Validate(); err != nil {
		return nil, fmt.Errorf("%s: %w", places.At(name, pathOf(f, err)), err)
	}
	return c, nil
}

var inElement = regexp.MustCompile(`^chain: element (\d+) \([^)]*\): (\w+)`)
var atTop = regexp.MustCompile(`^(\w+):`)

// pathOf finds the value that a message of Validate is about.
func pathOf(f file, err error) string {
	if m := inElement.FindStringSubmatch(err.Error()); m != nil {
		i, _ := strconv.Atoi(m[1])
		path := fmt.Sprintf("chain[%d]", i-1)
		if i < 1 || i > len(f.Chain) {
			return path
		}
		return path + "." + f.Chain[i-1].kind() + "." + m[2]
	}
	if m := atTop.FindStringSubmatch(err.Error()); m != nil {
		return m[1]
	}
	return ""
}

func (e element) kind() string {
	switch {
	case e.Rig != nil:
		return "rig"
	case e.Textile != nil:
		return "textile"
	case e.Knot != nil:
		return "knot"
	case e.Absorber != nil:
		return "absorber"
	}
	return "body"
}

func (e element) make() (arrest.Element, error) {
	n := 0
	for _, is := range []bool{e.Rig != nil, e.Textile != nil, e.Knot != nil, e.Absorber != nil, e.Body != nil} {
		if is {
			n++
		}
	}
	if n != 1 {
		return arrest.Element{}, fmt.Errorf("each element of the chain is one of rig, textile, knot, absorber, body; start each with a dash of its own")
	}
	switch {
	case e.Rig != nil:
		r := e.Rig
		return arrest.Element{Kind: arrest.KindRig, Name: r.Name, Rig: &arrest.Rig{Stiffness: r.Stiffness, DampingRatio: r.DampingRatio, Damping: r.Damping, NodeMass: r.NodeMass}}, nil
	case e.Textile != nil:
		t, err := e.Textile.make()
		return arrest.Element{Kind: arrest.KindTextile, Name: e.Textile.Name, Textile: t}, err
	case e.Knot != nil:
		k := e.Knot
		return arrest.Element{Kind: arrest.KindKnot, Name: k.Name, Knot: &arrest.Knot{F0: k.F0, FL: k.FL, Slip: k.Slip, Power: k.Power, Lock: k.Lock, Efficiency: k.Efficiency, State: k.State}}, nil
	case e.Absorber != nil:
		a := e.Absorber
		return arrest.Element{Kind: arrest.KindAbsorber, Name: a.Name, Absorber: &arrest.Absorber{Force: a.Force, Ripple: a.Ripple, Pitch: a.Pitch, Travel: a.Travel, Backing: a.Backing, Strength: a.Strength, State: a.State}}, nil
	}
	b := e.Body
	return arrest.Element{Kind: arrest.KindBody, Name: b.Name, Body: &arrest.Body{Stiffness: b.Stiffness, DampingRatio: b.DampingRatio, TorsoShare: b.TorsoShare}}, nil
}

func (t *textile) make() (*arrest.Textile, error) {
	out, err := t.Over(t.Material)
	if err != nil {
		return nil, err
	}
	out.Length, out.Degradation = t.Length, t.Degradation
	model.Fill(&out.Set, t.Set)
	model.Fill(&out.BreakRamp, t.BreakRamp)
	return &out, nil
}
