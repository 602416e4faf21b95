package view

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/figure"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/question"
)

// AnswerSVG is the drawing of answer n of a page, nil where there is none. It escapes what it is given; its bytes may stand in a page as they are.
func AnswerSVG(a question.Answer, n int, in message.Locale) []byte {
	f := AnswerFigure(a, in)
	if f == nil {
		return nil
	}
	return figure.Screen(f, fmt.Sprintf("reply%d", n), figure.PanelWidth)
}

// AnswerFigure draws what the drops say against what was asked: an interval for each kind, and a line at the bound of the rule. Nil where nothing bounds what is asked
// about, or ratings differ.
func AnswerFigure(a question.Answer, in message.Locale) figure.Drawing {
	if a.Threshold == nil {
		return nil
	}
	unit, axis, digits := 1.0, in.Tell(a.Quantity), 3
	force := a.Unit == "N"
	if force {
		unit, axis, digits = 1000, in.Tell(a.Quantity)+", kN", 4
	}
	f := figure.Intervals{Frame: figure.Frame{In: in}, Axis: axis, Same: *a.Threshold / unit, Percent: a.Of() == drop.AskBreaks, Log: a.Of().IsRatio()}
	any := false
	for _, p := range a.Parts {
		if p.Threshold == nil || *p.Threshold != *a.Threshold {
			return nil
		}
		row := figure.Interval{Value: math.NaN(), Lo: math.NaN(), Hi: math.NaN(), Seen: math.NaN(), Certainty: figure.Unsure}
		if len(a.Parts) > 1 {
			row.Name = in.Tell(p.Said())
		}
		if p.Estimate != nil {
			row.Value = *p.Estimate / unit
		}
		if p.Lo != nil {
			row.Lo = *p.Lo / unit
		}
		if p.Hi != nil {
			row.Hi = *p.Hi / unit
		}
		if p.Verdict != question.CannotTell {
			row.Certainty = figure.Sure
		}
		if p.Estimate == nil || p.Lo == nil && p.Hi == nil {
			row.Missing = in.Tell(p.Why)
		} else {
			any = true
			row.Amount = amount(row, digits, f.Percent, in)
		}
		f.Rows = append(f.Rows, row)
	}
	if !any {
		return nil
	}
	kept, not := in.Say("the rule is kept"), in.Say("it is not kept")
	f.Below, f.Above = not, kept
	if a.AtMost() {
		f.Below, f.Above = kept, not
	}
	f.Means = map[figure.Certainty]string{figure.Sure: in.Say("it can be told"), figure.Unsure: in.Say("it cannot be told yet")}
	f.Desc = in.Tell(a.Statement)
	return f
}

// amount is the interval in figures, its ends rounded outward.
func amount(r figure.Interval, digits int, percent bool, in message.Locale) string {
	unit := 1.0
	if percent {
		unit = 100
	}
	end := func(v float64, round func(float64, int) string) string {
		if math.IsNaN(v) {
			return "–"
		}
		return in.Number(round(v*unit, digits))
	}
	text := fmt.Sprintf("%s … %s", end(r.Lo, quantity.Below), end(r.Hi, quantity.Above))
	if percent {
		text += " %"
	}
	return text
}
