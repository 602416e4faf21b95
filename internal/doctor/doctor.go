// Package doctor looks through what was entered for what would make a number wrong.
//
// A record or a question is judged where it is read; this looks at what only shows when entries stand beside each other, or beside what such
// things can be: one record under two names, levels that differ by a hyphen, a mass nobody drops. It knows no files and no clock.
package doctor

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// Campaign is what is looked through.
type Campaign struct {
	Rig     *drop.Rig
	RigDay  string // on which the rig was entered, yyyy-mm-dd
	Drops   []Drop
	Planned string          // the day on which the plan was first entered, empty where there is none
	Asked   []Asked         // questions that stand
	Settled map[string]Word // what a person said of findings, by their keys
}

// Drop is a drop with what came of it.
type Drop struct {
	drop.Drop
	Day       string            // on which it was entered as it stands, yyyy-mm-dd
	Open      bool              // planned, not taken
	Outcome   drop.Outcome      // empty where nobody and nothing tells
	SHA256    string            // of its record, empty where there is none
	Reduction *reduce.Reduction // nil where there is none
}

// taken tells that the drop was made and is not void.
func (d Drop) taken() bool { return !d.Open && d.Outcome != drop.Void }

// Asked is a question with the day of its first entry.
type Asked struct{ ID, Day string }

// Word is what a person said of a finding.
type Word struct {
	By     string    `json:"by"`
	Reason string    `json:"reason"`
	At     time.Time `json:"at"`
}

// Effect is what a finding does to the numbers until it is settled.
type Effect string

// The effects.
const (
	LeavesOut Effect = "left_out" // its drops count in no estimate, fit or answer
	Marks     Effect = "marked"   // its drops count, and every result says so
)

// Finding is one thing that would make a number wrong.
type Finding struct {
	Key    string           `json:"finding"` // the name under which it is settled: the rule and what it is of
	Rule   string           `json:"rule"`
	Drops  []string         `json:"drops"`
	Says   message.Sentence `json:"says"`  // the fact
	Wrong  message.Sentence `json:"wrong"` // what it makes wrong
	WayOut message.Sentence `json:"way_out"`
	Effect Effect           `json:"effect"`
	// Settled is what a person said of it; then it has no effect.
	Settled *Word `json:"settled,omitempty"`
}

// Examine gives what is found, what leaves drops out first, then in the order of the rules. A finding's key stays the same as long as what it is of
// does.
func Examine(c Campaign) []Finding {
	out := []Finding{}
	for _, rule := range []func(Campaign) []Finding{sameRecord, alikeRecords, alikeLevels, oneSpecimen, otherMass, falls, rig, certificate, days, beforeAsked, oneDay, checkDrops} {
		out = append(out, rule(c)...)
	}
	for i, f := range out {
		if f.Drops == nil {
			out[i].Drops = []string{}
		}
		if w, ok := c.Settled[f.Key]; ok {
			out[i].Settled = &w
		}
	}
	slices.SortStableFunc(out, func(a, b Finding) int { return cmp.Compare(rank(a), rank(b)) })
	return out
}

func rank(f Finding) int {
	switch {
	case f.Settled != nil:
		return 2
	case f.Effect == LeavesOut:
		return 0
	}
	return 1
}

// LeftOut gives for each drop that an open finding leaves out of the numbers the key of that finding.
func LeftOut(findings []Finding) map[string]string {
	out := map[string]string{}
	for _, f := range findings {
		if f.Settled != nil || f.Effect != LeavesOut {
			continue
		}
		for _, id := range f.Drops {
			if _, known := out[id]; !known {
				out[id] = f.Key
			}
		}
	}
	return out
}

// Open counts the findings that nobody has settled, and those of them that leave drops out.
func Open(findings []Finding) (open, leaving int) {
	for _, f := range findings {
		if f.Settled == nil {
			open++
			if f.Effect == LeavesOut {
				leaving++
			}
		}
	}
	return open, leaving
}

// after tells that a day lies after another by more than the clocks of the world differ.
func after(day, other string) bool {
	a, err1 := time.Parse(time.DateOnly, day)
	b, err2 := time.Parse(time.DateOnly, other)
	return err1 == nil && err2 == nil && a.Sub(b) > 24*time.Hour
}

// key is a rule with what it is of.
func key(rule string, of ...string) string { return rule + ":" + strings.Join(of, "+") }

// mostNamed is how many names are read at once.
const mostNamed = 8

func names(ids []string) message.Sentence { return message.Listed(ids, mostNamed) }
