package drop

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Rig is tower, anchor, load cell, amplifier, logger and mass, with their calibration.
type Rig struct {
	Name        string                `json:"name" yaml:"name"`
	Mass        quantity.Mass         `json:"mass_kg" yaml:"mass"`
	MassU       quantity.Mass         `json:"mass_u_kg" yaml:"mass_u"`                  // standard uncertainty
	FallU       quantity.Length       `json:"fall_u_m" yaml:"fall_u"`                   // standard uncertainty of the fall height
	Gravity     quantity.Acceleration `json:"gravity_mps2" yaml:"gravity"`              // 0 = from latitude, else standard
	Latitude    *quantity.Angle       `json:"latitude_rad,omitempty" yaml:"latitude"`   //
	Stiffness   quantity.Stiffness    `json:"stiffness_Npm,omitempty" yaml:"stiffness"` // k_r of anchor and load cell
	NodeMass    quantity.Mass         `json:"node_mass_kg,omitempty" yaml:"node_mass"`  // m_c under the load cell
	Frequency   quantity.Frequency    `json:"frequency_Hz,omitempty" yaml:"frequency"`  // natural frequency, instead of stiffness and node mass
	Damping     quantity.Ratio        `json:"damping_ratio,omitempty" yaml:"damping"`   // zeta of the node
	AntiAlias   quantity.Frequency    `json:"antialias_Hz,omitempty" yaml:"antialias"`  // 3 dB of the amplifier, 0 = not known
	Resolution  quantity.Force        `json:"resolution_N,omitempty" yaml:"resolution"` // smallest step, 0 = from the record
	SpeedMethod string                `json:"speed_method,omitempty" yaml:"speed"`      // how the impact speed is known
	LoadCell    LoadCell              `json:"load_cell" yaml:"load_cell"`               //
	Notes       string                `json:"notes,omitempty" yaml:"notes"`             //
	Invented    bool                  `json:"invented,omitempty" yaml:"invented"`       // demonstration rig
}

// LoadCell is the force transducer with its latest calibration.
type LoadCell struct {
	Serial      string          `json:"serial,omitempty" yaml:"serial"`
	Capacity    quantity.Force  `json:"capacity_N,omitempty" yaml:"capacity"`
	Calibration CalibrationData `json:"calibration" yaml:"calibration"`
}

// CalibrationData is what a certificate says: readings, their model, and until when they hold.
type CalibrationData struct {
	Certificate string         `json:"certificate,omitempty" yaml:"certificate"`
	Date        string         `json:"date,omitempty" yaml:"date"`       // yyyy-mm-dd
	Expires     string         `json:"expires,omitempty" yaml:"expires"` // yyyy-mm-dd
	Degree      int            `json:"degree,omitempty" yaml:"degree"`   // 1 (default) to 5
	Input       string         `json:"input,omitempty" yaml:"input"`     // unit of the readings: "mV/V", "V", "N", "counts"
	Readings    []Reading      `json:"readings,omitempty" yaml:"readings"`
	ReferenceU  quantity.Ratio `json:"reference_u,omitempty" yaml:"reference_u"` // relative standard uncertainty of the applied forces
}

// Reading is one calibration point: the load cell showed Shown under the force Applied.
type Reading struct {
	Applied quantity.Force `json:"applied_N" yaml:"applied"`
	Shown   float64        `json:"shown" yaml:"shown"` // in CalibrationData.Input
}

// GravityAt is the normal gravity on the GRS80 ellipsoid by Somigliana's closed formula, m/s2.
// Source: Moritz, Geodetic Reference System 1980, Bull. Geod. 54 (1980).
func GravityAt(latitude quantity.Angle) quantity.Acceleration {
	const (
		equator = 9.7803267715
		k       = 0.001931851353
		e2      = 0.00669438002290
	)
	s := math.Sin(latitude.SI())
	return quantity.Acceleration(equator * (1 + k*s*s) / math.Sqrt(1-e2*s*s))
}

// G is the gravity to compute with, and how it is known.
func (r Rig) G() (g quantity.Acceleration, source string) {
	switch {
	case r.Gravity > 0:
		return r.Gravity, "stated for the rig"
	case r.Latitude != nil:
		return GravityAt(*r.Latitude), "GRS80 normal gravity at the stated latitude, sea level"
	}
	return quantity.StandardGravity, "standard gravity"
}

// NodeFrequency is the natural frequency of the load cell with its node, 0 when not known.
func (r Rig) NodeFrequency() quantity.Frequency {
	if r.Frequency > 0 {
		return r.Frequency
	}
	if r.Stiffness > 0 && r.NodeMass > 0 {
		return quantity.Frequency(math.Sqrt(r.Stiffness.SI()/r.NodeMass.SI()) / (2 * math.Pi))
	}
	return 0
}

// Validate reports an impossible rig.
func (r Rig) Validate() error {
	switch {
	case r.Mass <= 0:
		return fmt.Errorf("rig: mass is missing or not positive; write for example mass: 100 kg")
	case r.Mass > 5000:
		return fmt.Errorf("rig: a mass of %s is not believed; a bare number is kilograms", r.Mass)
	case r.MassU < 0 || r.FallU < 0 || r.Damping < 0 || r.Damping >= 1:
		return fmt.Errorf("rig: mass_u and fall_u may not be negative and damping must lie from 0 to 1")
	case r.Gravity != 0 && (r.Gravity < 9.7 || r.Gravity > 9.9):
		return fmt.Errorf("rig: a gravity of %s is not of this planet's surface; leave it out or give latitude", r.Gravity)
	case r.Latitude != nil && math.Abs(r.Latitude.SI()) > math.Pi/2:
		return fmt.Errorf("rig: latitude %s is not on earth; write for example 47.3 deg", r.Latitude.Text(4))
	case r.Stiffness < 0 || r.NodeMass < 0 || r.Frequency < 0 || r.AntiAlias < 0:
		return fmt.Errorf("rig: stiffness, node_mass, frequency and antialias may not be negative")
	}
	return nil
}
