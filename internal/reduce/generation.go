package reduce

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Generation is one numbered way from a trace to a reduction. What it gives for a trace and settings never changes: a
// new way is a new generation beside it. All generations share the types; a name added to Settings or Reduction must not
// be written by an earlier one.
type Generation struct {
	Version       string // "reduce/2"
	ForceChannel  func([]drop.Channel, Settings) int
	Reduce        func(*drop.Trace, Settings) (*Reduction, error)
	ReduceInPlace func(*drop.Trace, Settings) (*Reduction, error)
	ReduceWhole   func(*drop.Trace, Settings) (*WholeReduction, error)
}

// Generations are those that a program knows, oldest first. New reductions are made by the last.
type Generations []Generation

// KnownGenerations are the generations of this program.
func KnownGenerations() Generations {
	return Generations{{Version: Version, ForceChannel: ForceChannel, Reduce: Reduce, ReduceInPlace: ReduceInPlace, ReduceWhole: ReduceWhole}}
}

// Latest is the generation that makes new reductions.
func (gs Generations) Latest() Generation { return gs[len(gs)-1] }

// Versions names them, oldest first.
func (gs Generations) Versions() []string {
	out := make([]string, len(gs))
	for i, g := range gs {
		out[i] = g.Version
	}
	return out
}

// ByVersion is the generation that made a kept reduction. An error says which are known.
func (gs Generations) ByVersion(version string) (Generation, error) {
	for _, g := range gs {
		if g.Version == version {
			return g, nil
		}
	}
	return Generation{}, fmt.Errorf("made by %s, this program has %s; repeat it with the program that made it, or reduce it again with redo", version, strings.Join(gs.Versions(), ", "))
}
