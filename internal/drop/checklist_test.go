package drop

import (
	"strings"
	"testing"
)

func answered() Checklist {
	c := NewChecklist("d1")
	for i := range c.Items {
		c.Items[i].State = CheckDone
	}
	return c
}

func TestChecklistRefusals(t *testing.T) {
	if err := answered().Check(); err != nil {
		t.Fatal(err)
	}
	if n := len(NewChecklist("d1").Open()); n != 7 {
		t.Errorf("%d questions are open, want 7", n)
	}
	for want, change := range map[string]func(*Checklist){
		"no drop is named":       func(c *Checklist) { c.Drop = "" },
		"6 of 7 questions":       func(c *Checklist) { c.Items = c.Items[:6] },
		"keep the order":         func(c *Checklist) { c.Items[0], c.Items[1] = c.Items[1], c.Items[0] },
		"camera: it is not answ": func(c *Checklist) { c.Item(CameraRuns).State = CheckOpen },
		"zero stable: a skipped": func(c *Checklist) { c.Item(ZeroStable).State = CheckSkipped },
		"applies to every drop":  func(c *Checklist) { c.Item(NobodyUnder).State = CheckNotApplicable },
		`"perhaps" is not known`: func(c *Checklist) { c.Item(AreaClear).State = "perhaps" },
	} {
		c := answered()
		change(&c)
		if err := c.Check(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	c := answered()
	*c.Item(CameraRuns) = CheckItem{Key: CameraRuns, State: CheckSkipped, Reason: "battery empty"}
	c.Item(SteelConnectors).State = CheckNotApplicable
	if err := c.Check(); err != nil || len(c.Skipped()) != 1 || c.Skipped()[0].Key != CameraRuns {
		t.Errorf("%v, %v", err, c.Skipped())
	}
}

func TestWithdrawn(t *testing.T) {
	for _, c := range []struct {
		d    Decision
		want string
	}{
		{Decision{Drop: "d1", Withdrawn: true, Reason: "withdrawn"}, ""},
		{Decision{Drop: "d1", Withdrawn: true}, "has a reason and no outcome"},
		{Decision{Drop: "d1", Withdrawn: true, Reason: "withdrawn", Outcome: Held}, "has a reason and no outcome"},
		{Decision{Drop: "d1"}, `outcome "" is not known`},
	} {
		err := c.d.Check()
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%+v: %v, want %q", c.d, err, c.want)
		}
	}
}
