package reduce

import (
	"math"
	"slices"

	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Dated is the judgement of a drop and the day on which it was taken, "2026-03-03"; empty when not known.
type Dated struct {
	Day       string
	Judgement *Judgement
}

// Limits of what is said of many drops together (common practice, no source).
const (
	fewestTogether = 3   // drops
	changeSigmas   = 4.0 // by which the days before and after a change differ
	offSigmas      = 3.0
)

// Together says what the judgements of many drops say together: which quantity is off, by how much, and since which day. What all
// records have in common (the specimens' set, the entered height) does not average out: half of a single drop's uncertainty is
// kept. It says nothing of fewer than three drops, or where single drops do not contradict what was entered.
func Together(drops []Dated) []message.Sentence {
	var list []Dated
	for _, d := range drops {
		if d.Judgement != nil {
			list = append(list, d)
		}
	}
	if len(list) < fewestTogether {
		return nil
	}
	slices.SortStableFunc(list, func(a, b Dated) int {
		if a.Day < b.Day {
			return -1
		} else if a.Day > b.Day {
			return 1
		}
		return 0
	})
	var out []message.Sentence
	for q, name := range []string{OffScale, OffHeight} {
		at := changeAt(list, q)
		for _, part := range []struct {
			drops []Dated
			since string
			until string
		}{{list[:at], "", dayOf(list, at)}, {list[at:], dayOf(list, at), ""}} {
			if len(part.drops) < fewestTogether {
				continue
			}
			m := mean(part.drops, q)
			if !m.off {
				continue
			}
			says := offSentence(name, m)
			switch {
			case at > 0 && at < len(list) && part.since != "":
				says = message.Say("%s, on the %d {drop|drops} since %s", says, len(part.drops), message.Own(part.since))
			case at > 0 && at < len(list):
				says = message.Say("%s, on the %d {drop|drops} before %s", says, len(part.drops), message.Own(part.until))
			default:
				says = message.Say("%s, on {the|all} %d {drop|drops} that can tell", says, len(part.drops))
			}
			out = append(out, message.Say("all records together: %s", says))
		}
	}
	return out
}

func dayOf(list []Dated, at int) string {
	if at < len(list) {
		return list[at].Day
	}
	return ""
}

type together struct {
	by, u float64
	off   bool
}

// mean is the mean of what a quantity is off by over drops, with its standard uncertainty, and whether it contradicts what was entered
// on at least half of them.
func mean(list []Dated, q int) together {
	var sum, ss float64
	var us []float64
	against := 0
	for _, d := range list {
		o := d.Judgement.Off[q]
		sum += o.By
		us = append(us, o.U)
		if d.Judgement.Verdict != Agrees && o.Explains {
			against++
		}
	}
	n := float64(len(list))
	m := together{by: sum / n}
	for _, d := range list {
		ss += sq(d.Judgement.Off[q].By - m.by)
	}
	slices.Sort(us)
	m.u = math.Hypot(math.Sqrt(ss/(n-1)/n), us[len(us)/2]/2)
	m.off = math.Abs(m.by) > offSigmas*m.u && 2*against >= len(list)
	return m
}

// changeAt is the first drop of the day from which on the quantity differs most from before, 0 where no day does.
func changeAt(list []Dated, q int) int {
	best, at := changeSigmas, 0
	for i := fewestTogether; i+fewestTogether <= len(list); i++ {
		if list[i].Day == list[i-1].Day {
			continue
		}
		a, b := scatter(list[:i], q), scatter(list[i:], q)
		u := math.Sqrt(a.ss/(a.n-1)/a.n + b.ss/(b.n-1)/b.n)
		if s := math.Abs(a.mean-b.mean) / math.Max(u, 1e-12); s > best {
			best, at = s, i
		}
	}
	return at
}

type spreadOf struct{ n, mean, ss float64 }

func scatter(list []Dated, q int) spreadOf {
	s := spreadOf{n: float64(len(list))}
	for _, d := range list {
		s.mean += d.Judgement.Off[q].By / s.n
	}
	for _, d := range list {
		s.ss += sq(d.Judgement.Off[q].By - s.mean)
	}
	return s
}

// offSentence words a mean with twice its standard uncertainty.
func offSentence(name string, m together) message.Sentence {
	if name == OffHeight {
		if m.by < 0 {
			return message.Say("the mass fell %s ± %s less than entered", quantity.Length(-m.by).Text(2), quantity.Length(2*m.u).Text(2))
		}
		return message.Say("the mass fell %s ± %s more than entered", quantity.Length(m.by).Text(2), quantity.Length(2*m.u).Text(2))
	}
	if m.by < 0 {
		return message.Say("the force reads %s %% ± %s %% too low, or the mass is entered too high", quantity.Significant(-100*m.by, 2), quantity.Significant(200*m.u, 2))
	}
	return message.Say("the force reads %s %% ± %s %% too high, or the mass is entered too low", quantity.Significant(100*m.by, 2), quantity.Significant(200*m.u, 2))
}
