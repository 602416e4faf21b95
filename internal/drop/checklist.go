package drop

import (
	"fmt"
	"strings"
)

// CheckKey names one question of the checklist before a drop.
type CheckKey string

// The questions, in the order in which they are asked.
const (
	AreaClear       CheckKey = "area clear"
	NobodyUnder     CheckKey = "nobody under the mass"
	SteelConnectors CheckKey = "steel connectors"
	LoadCellReady   CheckKey = "load cell in range and in date"
	ZeroStable      CheckKey = "zero stable"
	CameraRuns      CheckKey = "camera"
	CheckDropDone   CheckKey = "check drop of the day"
)

// CheckQuestion is one question of the checklist, as a person reads it.
type CheckQuestion struct {
	Key  CheckKey
	Text string
	// Always tells that the question cannot be answered with "not applicable".
	Always bool
}

// CheckQuestions are the questions before a drop, in order.
func CheckQuestions() []CheckQuestion {
	return []CheckQuestion{
		{AreaClear, "Area clear, recoil path included", true},
		{NobodyUnder, "Nobody under the mass", true},
		{SteelConnectors, "Steel connectors in the tower, gates locked", false},
		{LoadCellReady, "Load cell in range and in date", false},
		{ZeroStable, "Zero stable", false},
		{CameraRuns, "Camera runs", false},
		{CheckDropDone, "Check drop of the day done", false},
	}
}

// CheckState is the answer to one question.
type CheckState string

// The answers. Open is the zero value and may not be stored.
const (
	CheckOpen          CheckState = ""
	CheckDone          CheckState = "done"
	CheckSkipped       CheckState = "skipped"
	CheckNotApplicable CheckState = "not applicable"
)

// CheckItem is one question with its answer.
type CheckItem struct {
	Key    CheckKey   `json:"item"`
	State  CheckState `json:"state"`
	Reason string     `json:"reason,omitempty"` // why it was skipped; required then
	Found  string     `json:"found,omitempty"`  // what the program saw
}

// Checklist is what was asked and answered before one drop.
type Checklist struct {
	Drop  string      `json:"drop"`
	By    string      `json:"by,omitempty"`
	Items []CheckItem `json:"items"` // one for each of CheckQuestions, in that order
}

// NewChecklist has every question open.
func NewChecklist(dropID string) Checklist {
	c := Checklist{Drop: dropID}
	for _, q := range CheckQuestions() {
		c.Items = append(c.Items, CheckItem{Key: q.Key})
	}
	return c
}

// Open lists the questions without an answer.
func (c Checklist) Open() []CheckKey {
	var out []CheckKey
	for _, i := range c.Items {
		if i.State == CheckOpen {
			out = append(out, i.Key)
		}
	}
	return out
}

// Skipped lists the items that were skipped.
func (c Checklist) Skipped() []CheckItem {
	var out []CheckItem
	for _, i := range c.Items {
		if i.State == CheckSkipped {
			out = append(out, i)
		}
	}
	return out
}

// Item is the item of a question, nil when the list does not have it.
func (c *Checklist) Item(k CheckKey) *CheckItem {
	for i := range c.Items {
		if c.Items[i].Key == k {
			return &c.Items[i]
		}
	}
	return nil
}

// Check reports a checklist that may not be stored.
func (c Checklist) Check() error {
	if c.Drop == "" {
		return fmt.Errorf("checklist: no drop is named")
	}
	questions := CheckQuestions()
	if len(c.Items) != len(questions) {
		return fmt.Errorf("checklist of %s: %d of %d questions are there; answer each, or skip it with a reason", c.Drop, len(c.Items), len(questions))
	}
	for n, q := range questions {
		i := c.Items[n]
		if i.Key != q.Key {
			return fmt.Errorf("checklist of %s: question %d is %q where %q is due; keep the order", c.Drop, n+1, i.Key, q.Key)
		}
		if err := i.check(q); err != nil {
			return fmt.Errorf("checklist of %s: %s: %w", c.Drop, q.Key, err)
		}
	}
	return nil
}

func (i CheckItem) check(q CheckQuestion) error {
	switch i.State {
	case CheckDone:
	case CheckNotApplicable:
		if q.Always {
			return fmt.Errorf("it applies to every drop; do it, or skip it with a reason")
		}
	case CheckSkipped:
		if strings.TrimSpace(i.Reason) == "" {
			return fmt.Errorf("a skipped question needs a reason; say why")
		}
	case CheckOpen:
		return fmt.Errorf("it is not answered; do it, or skip it with a reason")
	default:
		return fmt.Errorf("the answer %q is not known; write done, skipped or not applicable", i.State)
	}
	return nil
}
