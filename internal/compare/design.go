package compare

import (
	"fmt"
	"math"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
)

// term is one column of a design: a level of a factor against the factor's reference, or the product of two such.
type term struct {
	factors []string
	levels  []string
	base    []string // the levels they are set against
}

func (t term) name() string {
	s := ""
	for i := range t.factors {
		if i > 0 {
			s += " with "
		}
		s += t.factors[i] + " " + t.levels[i]
	}
	return s
}

// says is the name as a sentence.
func (t term) says() message.Sentence {
	var s message.Sentence
	for i, f := range t.factors {
		if i > 0 {
			s = s.Say(" with ")
		}
		s = s.Say("%s %s", message.Names(f), message.Names(t.levels[i]))
	}
	return s
}

func (t term) value(levels map[string]string) float64 {
	for i, f := range t.factors {
		if levels[f] != t.levels[i] {
			return 0
		}
	}
	return 1
}

// mainTerms are the columns of the factors, each level against the reference.
func (a Against) mainTerms(rows []map[string]string, factors []string) []term {
	var out []term
	for _, f := range factors {
		l := a.levelOrder(rows, f)
		for _, v := range l[1:] {
			out = append(out, term{factors: []string{f}, levels: []string{v}, base: l[:1]})
		}
	}
	return out
}

// crossTerms are the products of two factors' columns.
func (a Against) crossTerms(rows []map[string]string, f, g string) []term {
	var out []term
	of, by := a.levelOrder(rows, f), a.levelOrder(rows, g)
	for _, x := range of[1:] {
		for _, y := range by[1:] {
			out = append(out, term{factors: []string{f, g}, levels: []string{x, y}, base: []string{of[0], by[0]}})
		}
	}
	return out
}

// levelOrder lists a factor's levels among the rows: quantities by size, words by the alphabet.
func levelOrder(rows []map[string]string, factor string) []string {
	cells := make([]Cell, len(rows))
	for i, r := range rows {
		cells[i].Levels = r
	}
	return levelsOf(cells, factor)
}

// levelOrder lists a factor's levels among the rows, the reference first.
func (a Against) levelOrder(rows []map[string]string, factor string) []string {
	entered := map[string]int{}
	for i, r := range rows {
		if _, ok := entered[r[factor]]; !ok {
			entered[r[factor]] = i
		}
	}
	return a.ordered(factor, levelOrder(rows, factor), entered)
}

// varying are the factors among those given that have more than one level in the rows.
func varying(rows []map[string]string, factors []string) []string {
	var out []string
	for _, f := range factors {
		if len(levelOrder(rows, f)) > 1 {
			out = append(out, f)
		}
	}
	return out
}

// matrix is the design, one row a drop, an intercept first.
func matrix(rows []map[string]string, terms []term) [][]float64 {
	x := make([][]float64, len(rows))
	for i, r := range rows {
		x[i] = make([]float64, 1+len(terms))
		x[i][0] = 1
		for j, t := range terms {
			x[i][1+j] = t.value(r)
		}
	}
	return x
}

// independent keeps the terms whose columns are not already spanned by the intercept and the terms before, by
// modified Gram-Schmidt; dropped are the others, which the rows cannot tell apart.
func independent(rows []map[string]string, terms []term) (kept, dropped []term) {
	x := matrix(rows, terms)
	var basis [][]float64
	for j := range 1 + len(terms) {
		v := make([]float64, len(x))
		norm := 0.0
		for i := range x {
			v[i] = x[i][j]
			norm += v[i] * v[i]
		}
		for _, b := range basis {
			dot := 0.0
			for i := range v {
				dot += v[i] * b[i]
			}
			for i := range v {
				v[i] -= dot * b[i]
			}
		}
		left := 0.0
		for i := range v {
			left += v[i] * v[i]
		}
		ok := left > 1e-9*norm && norm > 0
		if ok {
			for i := range v {
				v[i] /= math.Sqrt(left)
			}
			basis = append(basis, v)
		}
		switch {
		case j == 0:
		case ok:
			kept = append(kept, terms[j-1])
		default:
			dropped = append(dropped, terms[j-1])
		}
	}
	return kept, dropped
}

// specimenLevels are a drop's levels without those that belong to the fall: what its strength may depend on.
func specimenLevels(d drop.Drop) map[string]string {
	l := d.Levels()
	for f := range ofTheFall {
		delete(l, f)
	}
	return l
}

func listTerms(terms []term) message.Sentence {
	names := make([]message.Sentence, len(terms))
	for i, t := range terms {
		names[i] = t.says()
	}
	return message.Join(", ", names...)
}

// checkConfidence refuses what is no confidence.
func checkConfidence(confidence float64) error {
	if !(confidence > 0.5 && confidence < 1) {
		return fmt.Errorf("confidence %g is outside 0.5 to 1; 0.95 is usual", confidence)
	}
	return nil
}
