// Package report writes what a campaign shows as one self-contained page that prints on A4.
package report

import (
	"time"

	"github.com/hardcatch/hardcatch/internal/compare"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/plan"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Document is everything a report says. Texts may hold anything; they are escaped. A zero or empty value
// of the rig, the specimens or the method is printed as "not stated". Texts of the program are English; they are
// said in the report's language when it is written.
type Document struct {
	In       message.Locale // language and decimal sign; the zero value is English
	Title    string         // of the campaign
	Question string
	Notes    string
	Invented bool      // simulated records: said at the top, on each printed page and under each figure
	Made     time.Time // printed in UTC
	Program  string    // name and version

	Answers    []Answer
	Plan       *Plan // nil when the campaign was not planned
	Comparison *Comparison
	Rig        Rig
	Specimens  []Specimen // in order; those that differ in nothing but ID share a row
	Method     Method
	Cells      []Cell
	Figures    []Figure
	Drops      []Drop // trial drops, in the order to print
	CheckDrops []Drop
	Limits     []Limit // against the highest valid peak
	Budgets    []Budget
	Warnings   []string
	Provenance Provenance
	Planned    []string       // drops planned, not taken
	Checklists int            // drops before which the checklist was gone through
	Skipped    []SkippedCheck // what was skipped of it
	Photos     []Photo        // in order
	EveryCheck bool           // print every audit check in full, not only those that do not agree
}

// Plan is what was planned, against what was done.
type Plan struct {
	Seed       uint64 // of the run order
	Replicates int
	Days       int
	Batches    []string
	Operators  []string
	Cells      []PlannedCell
	Runs       int // drops planned, check drops among them
	Taken      int
	Checks     int      // check drops planned
	Open       []string // planned and not taken, in run order
	Extra      []string // taken and not planned
	CanShow    string   // what so many specimens can show at most
	Statements []string
	Warnings   []string // of the feasibility
}

// PlannedCell is a planned cell with what was taken of it and what had been foretold.
type PlannedCell struct {
	Number   int
	Name     string
	Planned  int
	Taken    int // void drops among them
	Void     int
	Forecast *plan.Forecast // nil when it could not be made
}

// Comparison is what the cells say about each other, with specimens that held or broke as bounds.
type Comparison struct {
	Confidence      float64
	Contrasts       []compare.Tested
	PeakEffects     *compare.Effects
	StrengthEffects *compare.Effects
	Strengths       []compare.Kind
	Ratios          []compare.StrengthRatio
	Interference    []compare.CellInterference
	Outliers        []compare.Outlier
	Repeatability   []compare.Repeatability
	Checks          *compare.CheckChart
	Curves          []Figure // of the strengths
	RatioFigures    []Figure // of the effects
	CheckFigures    []Figure // of the check drops
	Warnings        []string
}

// Answer is a sentence of the answer in short.
type Answer struct {
	Subject string // cell or contrast, may be empty
	Text    string
}

// Fact is a name with its value.
type Fact struct {
	Name  string
	Value string
}

// Rig is tower, anchor, load cell, amplifier, logger and mass, with their calibration.
type Rig struct {
	Name          string
	Mass          quantity.Mass
	MassU         quantity.Mass   // standard
	FallU         quantity.Length // standard
	Gravity       quantity.Acceleration
	GravitySource string
	Stiffness     quantity.Stiffness
	Frequency     quantity.Frequency // of the load cell with its node
	Damping       quantity.Ratio
	AntiAlias     quantity.Frequency
	Resolution    quantity.Force
	SpeedMethod   string
	LoadCell      string // serial number
	Capacity      quantity.Force
	Certificate   string
	Calibrated    string // yyyy-mm-dd
	Expires       string
	Model         string // "straight line through 12 readings"
	From, To      quantity.Force
	FitResidual   string         // residual standard deviation with its unit
	LackOfFit     string         // what the test of the model says
	ReferenceU    quantity.Ratio // relative standard uncertainty of the applied forces
	Warnings      []string
	Notes         string
	More          []Fact
}

// Specimen is one physical item.
type Specimen struct {
	ID           string
	Material     string
	Construction string
	Length       quantity.Length
	Diameter     quantity.Length
	Knot         string
	Batch        string
	Conditioning string
	Rating       quantity.Force
	Standard     string
	Prior        int // earlier drops
}

// Method is how records became measures.
type Method struct {
	Version  string // of the reduction
	Filter   string // class, factor and 3 dB frequency
	Sampling string
	Zero     string
	Speed    string
	Coverage float64 // 0.95
	Steps    []Step
	More     []Fact
}

// Step is one recorded step of the reduction.
type Step struct {
	Name     string
	Version  string
	Settings []Fact
}

// Cell is one combination of factor levels. Cells are numbered from 1 in their order.
type Cell struct {
	Levels    []Fact
	N         int // valid drops
	Held      int
	Broke     int
	Slipped   int
	Void      int
	Mean      *quantity.Force // of those that held
	SD        *quantity.Force
	Lo, Hi    *quantity.Force // t interval of the mean
	BrokeMean *quantity.Force // mean peak at the break
	AtLeast   bool            // some broke: the mean is a lower bound for the cell
	BreakLo   *float64        // break probability, 0 to 1
	BreakHi   *float64
	Statement string
	Warnings  []string
	Limits    []Limit // against the cell's highest valid peak
}

// Figure is a drawing with its caption. Figures of one group stand under one heading.
type Figure struct {
	Group   string
	Drawing figure.Drawing
	Caption string
	Half    bool // two side by side
}

// Drop is one release of the mass on one specimen. Values that are not known are nil.
type Drop struct {
	ID         string
	Cell       int // number of its cell, 0 = none
	Specimen   string
	Outcome    drop.Outcome
	Decided    bool // by a person
	Place      drop.Place
	Reason     string // of a void drop, or of a decision against the record
	Peak       *quantity.Force
	Expanded   *quantity.Force
	K          float64
	Coverage   float64
	LowerBound bool
	TimeToPeak *quantity.Duration
	Elongation *quantity.Length
	Energy     *quantity.Energy // absorbed
	Rate       quantity.Frequency
	Filter     string
	RigRings   quantity.Frequency // natural frequency of the rig, 0 = not known
	Speed      string             // how the impact speed is known
	Bias       []string           // of the peak by sampling, filter and rig, in words
	Audit      string             // worst verdict
	Checks     []Check
	Evidence   []string // for the outcome the record suggests
	Proposed   string   // that outcome
	Decisions  []Decision
	Warnings   []string
	Record     string
	SHA256     string
	Taken      string // yyyy-mm-dd
	Order      int    // place in the run order
}

// Check is one audit check.
type Check struct {
	Name     string
	Unit     string
	Expected *float64
	Found    *float64
	U        *float64
	Verdict  string
	Meaning  string
}

// The verdicts of checks and drops that the report tells apart.
const (
	Agrees      = "agrees"
	NotPossible = "not possible here"
	Doubtful    = "doubtful"
	Disagrees   = "disagrees"
)

// Decision is what a person settled.
type Decision struct {
	At        string
	By        string
	Outcome   drop.Outcome
	Place     drop.Place
	Reason    string
	Withdrawn bool // the decision before was taken back and none stands
}

// SkippedCheck is a question of the checklist before a drop that was skipped.
type SkippedCheck struct {
	Drop   string
	Check  string
	Reason string
	Found  string // what the program saw, may be empty
	By     string
}

// Photo is a picture of a specimen or a break.
type Photo struct {
	Drop          string
	Caption       string // may be empty
	Alt           string // what it shows, in words
	JPEG          []byte // without metadata
	Width, Height int    // pixels
	SHA256        string // of the bytes kept in the campaign
}

// Limit is a rated strength or an arrest-force limit, held against a peak.
type Limit struct {
	Name     string
	Value    quantity.Force
	Kind     string
	Edition  string
	Terms    string
	Source   string
	Verdict  string
	Drop     string
	Peak     quantity.Force
	Expanded quantity.Force
	// LowerBound tells that the specimen of that drop broke.
	LowerBound bool
}

// The verdicts on limits.
const (
	Exceeds     = "exceeds"
	WithinReach = "within reach"
	StaysBelow  = "stays below"
	BrokeBelow  = "broke below" // for the specimen's own rating: a specimen parted below it
)

// Budget is the uncertainty budget of one measure, in the measure's unit.
type Budget struct {
	Drop     string
	Measure  string
	Unit     string
	Value    float64
	Rows     []BudgetRow
	U        float64 // combined standard uncertainty
	DoF      float64 // effective degrees of freedom, +Inf when well known
	K        float64
	Coverage float64
	Expanded float64
	Bias     []string // printed beside the budget
}

// BudgetRow is one component.
type BudgetRow struct {
	Label        string
	Kind         string // A or B
	Shape        string
	U            float64 // of the input, in the input's unit
	Sensitivity  float64
	Contribution float64 // in the measure's unit
	DoF          float64
}

// Provenance is where the numbers come from.
type Provenance struct {
	Head    string // hash of the campaign's logbook
	HeadSeq int64  // its number of entries
	File    string // of the campaign
	More    []Fact
}
