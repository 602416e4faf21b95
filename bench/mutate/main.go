// Command mutate changes the program in small ways, one at a time, and asks the tests whether they notice.
//
//	go run ./bench/mutate                            every package of the gate
//	go run ./bench/mutate ./internal/compare         one
//	go run ./bench/mutate -changed HEAD              only files that differ from a revision
//	go run ./bench/mutate -sample 60                 a fixed sample over all packages
//
// It prints the mutants that no test noticed, and exits with 1 when fewer than 90 % of a package's were (-least). See docs/decisions/mutants.md.
package main

import (
	"flag"
	"fmt"
	"hash/fnv"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"time"
)

// gated are the packages of the gate.
var gated = []string{"./internal/reduce/...", "./internal/compare/...", "./internal/num/...", "./internal/arrest/...", "./internal/store/...", "./internal/limits/..."}

// alsoTestedBy names packages whose tests are the tests of another as well: a contract and what fulfils it.
var alsoTestedBy = map[string][]string{
	"internal/store": {"internal/store/memstore", "internal/store/sqlstore"},
}

// apart are packages that are tests themselves.
var apart = map[string]bool{"internal/store/storetest": true, "internal/num/ode/odeproblem": true}

type options struct {
	changed  string
	sample   int
	seed     uint64
	workers  int
	accepted string
	only     string
	list     bool
	verbose  bool
	least    float64
}

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, w, wErr io.Writer) int {
	var o options
	flags := flag.NewFlagSet("mutate", flag.ContinueOnError)
	flags.SetOutput(wErr)
	flags.StringVar(&o.changed, "changed", "", "mutate only files that differ from this git `revision`")
	flags.IntVar(&o.sample, "sample", 0, "mutate a fixed sample of this `size` over all packages; the gate holds for all together")
	flags.Uint64Var(&o.seed, "seed", 1, "of the sample")
	flags.IntVar(&o.workers, "workers", runtime.NumCPU(), "mutants tried at once")
	flags.StringVar(&o.accepted, "accepted", "", "`file` of survivors with reasons (bench/mutate/accepted.tsv)")
	flags.StringVar(&o.only, "file", "", "mutate only files with this `name`")
	flags.Float64Var(&o.least, "least", 90, "`percent` of a package's mutants (of all, with -sample) that must be noticed")
	flags.BoolVar(&o.verbose, "v", false, "print each survivor when it is found, on standard error")
	flags.BoolVar(&o.list, "list", false, "list the mutants that would be tried, and stop")
	if err := flags.Parse(args); err != nil {
		return 2
	}
	ok, err := gate(o, flags.Args(), w, wErr)
	if err != nil {
		fmt.Fprintln(wErr, "mutate:", err)
		return 2
	}
	if !ok {
		return 1
	}
	return 0
}

// gate tries the mutants and says whether enough were noticed.
func gate(o options, patterns []string, w, wErr io.Writer) (bool, error) {
	whole := len(patterns) == 0 && o.changed == "" && o.only == "" && o.sample == 0
	if len(patterns) == 0 {
		patterns = gated
	}
	packages, err := goList(".", patterns...)
	if err != nil {
		return false, err
	}
	exports, err := exported(".", patterns)
	if err != nil {
		return false, err
	}
	everything, err := goList(".", "./...")
	if err != nil {
		return false, err
	}
	named := map[string]listed{}
	for _, p := range everything {
		named[p.ImportPath] = p
	}
	var sources []*source
	for _, p := range packages {
		if apart[below(p)] {
			continue
		}
		s, err := load(p, exports)
		if err != nil {
			return false, err
		}
		sources = append(sources, s)
	}
	if len(sources) == 0 {
		return true, nil
	}
	keep, err := readKept(o, sources[0].root)
	if err != nil {
		return false, err
	}
	wanted, err := choice(o, sources, keep)
	if err != nil {
		return false, err
	}
	if o.list {
		for _, s := range sources {
			for _, m := range find(s, wanted) {
				fmt.Fprintf(w, "%s:%d: %s: %s  ->  %s\n", m.file, m.line, m.function, m.original, m.mutated)
			}
		}
		return true, nil
	}
	return tryAll(o, sources, named, wanted, keep, whole, w, wErr)
}

// below is the path of a package below its module.
func below(p listed) string {
	rel, err := filepath.Rel(p.Module.Dir, p.Dir)
	if err != nil {
		return p.ImportPath
	}
	return filepath.ToSlash(rel)
}

func readKept(o options, root string) (*accepted, error) {
	name := o.accepted
	if name == "" {
		name = filepath.Join(root, "bench", "mutate", "accepted.tsv")
	}
	f, err := os.Open(name)
	if os.IsNotExist(err) && o.accepted == "" {
		return &accepted{}, nil
	}
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // only read
	return readAccepted(name, f)
}

// find lists the mutants of a package.
func find(s *source, wanted func(mutant) bool) []mutant {
	var all []mutant
	for _, f := range collect(s, wanted, nil) {
		all = append(all, f.mutants...)
	}
	return all
}

// choice says which mutants are tried: of changed files, of one file, of a sample.
func choice(o options, sources []*source, keep *accepted) (func(mutant) bool, error) {
	files := map[string]bool{}
	if o.changed != "" {
		out, err := exec.Command("git", "-C", sources[0].root, "diff", "--name-only", "--relative", o.changed, "--").Output()
		if err != nil {
			return nil, fmt.Errorf("git diff %s: %w", o.changed, err)
		}
		more, err := exec.Command("git", "-C", sources[0].root, "ls-files", "--others", "--exclude-standard").Output()
		if err != nil {
			return nil, fmt.Errorf("git ls-files: %w", err)
		}
		for _, name := range strings.Fields(string(out) + string(more)) {
			files[name] = true
		}
	}
	wanted := func(m mutant) bool {
		return (o.changed == "" || files[m.file]) && (o.only == "" || path.Base(m.file) == o.only)
	}
	if o.sample == 0 {
		return wanted, nil
	}
	return sampled(o, sources, wanted, keep), nil
}

// sampled draws mutants by the hash of their keys, the same share of each folder of the gate: the same code gives the same sample, and
// a change somewhere does not change the sample elsewhere.
func sampled(o options, sources []*source, wanted func(mutant) bool, keep *accepted) func(mutant) bool {
	rooms := map[string]map[string]uint64{}
	for _, s := range sources {
		room := path.Join(append(strings.Split(below(s.listed), "/"), "", "")[:2]...)
		if rooms[room] == nil {
			rooms[room] = map[string]uint64{}
		}
		for _, m := range find(s, wanted) {
			if keep.of(m) {
				continue
			}
			h := fnv.New64a()
			fmt.Fprintf(h, "%d\t%s", o.seed, m.key())
			rooms[room][m.key()] = mix(h.Sum64())
		}
	}
	in := map[string]bool{}
	for _, hashes := range rooms {
		keys := make([]string, 0, len(hashes))
		for k := range hashes {
			keys = append(keys, k)
		}
		sort.Slice(keys, func(i, j int) bool { return hashes[keys[i]] < hashes[keys[j]] })
		for _, k := range keys[:min(len(keys), (o.sample+len(rooms)-1)/len(rooms))] {
			in[k] = true
		}
	}
	return func(m mutant) bool { return in[m.key()] }
}

// mix spreads a hash over all its bits (the finaliser of MurmurHash3).
func mix(h uint64) uint64 {
	h ^= h >> 33
	h *= 0xff51afd7ed558ccd
	h ^= h >> 33
	h *= 0xc4ceb9fe1a85ec53
	return h ^ h>>33
}

// outcome is the result for one package.
type outcome struct {
	name                         string
	noticed, late, stayed, given int // killed, of them by time, survived, accepted
	unfit                        int
	survivors                    []string
	left                         []string
	took                         time.Duration
}

func (r outcome) share() float64 {
	if n := r.noticed + r.stayed; n > 0 {
		return float64(r.noticed) / float64(n)
	}
	return 1
}

func tryAll(o options, sources []*source, named map[string]listed, wanted func(mutant) bool, keep *accepted, whole bool, w, wErr io.Writer) (bool, error) {
	good := true
	var sum outcome
	for _, s := range sources {
		r, err := tryPackage(o, s, named, wanted, keep, wErr)
		if err != nil {
			return false, err
		}
		if r.noticed+r.stayed+r.given == 0 {
			continue
		}
		for _, line := range r.survivors {
			fmt.Fprintln(w, line)
		}
		for _, line := range r.left {
			fmt.Fprintf(wErr, "%s: left out, it fails with no mutant on: %s\n", r.name, line)
		}
		fmt.Fprintf(w, "%-30s %5.1f %%  %d of %d noticed (%d by time), %d accepted, %d places did not compile, %.0f s\n", r.name, 100*r.share(), r.noticed, r.noticed+r.stayed, r.late, r.given, r.unfit, r.took.Seconds())
		if o.sample == 0 && 100*r.share() < o.least {
			good = false
			fmt.Fprintf(w, "%s: under %.0f %%; write a test that notices, or say in bench/mutate/accepted.tsv why nothing can\n", r.name, o.least)
		}
		sum.noticed, sum.stayed = sum.noticed+r.noticed, sum.stayed+r.stayed
	}
	fmt.Fprintf(w, "%-30s %5.1f %%  %d of %d noticed\n", "all", 100*sum.share(), sum.noticed, sum.noticed+sum.stayed)
	if o.sample > 0 && 100*sum.share() < o.least {
		good = false
		fmt.Fprintf(w, "the sample: under %.0f %%\n", o.least)
	}
	if whole {
		for _, l := range keep.lines {
			if !l.used {
				fmt.Fprintf(w, "accepted, but no such survivor: %s %s: %s  ->  %s\n", l.file, l.function, l.original, l.mutated)
			}
		}
	}
	return good, nil
}

func tryPackage(o options, s *source, named map[string]listed, wanted func(mutant) bool, keep *accepted, wErr io.Writer) (outcome, error) {
	start := time.Now()
	r := outcome{name: below(s.listed)}
	work, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return r, err
	}
	defer func() { _ = os.RemoveAll(work) }() // in the temporary folder
	var also []listed
	for _, name := range alsoTestedBy[r.name] {
		also = append(also, named[strings.TrimSuffix(s.ImportPath, r.name)+name])
	}
	b, err := build(s, also, work, wanted)
	if err != nil || len(b.mutants) == 0 {
		return r, err
	}
	r.unfit = b.unfit
	tests, left, err := record(b, work, o.workers)
	if err != nil {
		return r, err
	}
	r.left = left
	verdicts, errs := make([]verdict, len(b.mutants)), make([]error, len(b.mutants))
	each(o.workers, len(b.mutants), func(i int) {
		verdicts[i], errs[i] = try(b.mutants[i], tests)
		if m := b.mutants[i]; o.verbose && verdicts[i] <= unseen {
			fmt.Fprintf(wErr, "%d of %d: %s:%d: %s: %s  ->  %s\n", i, len(b.mutants), m.file, m.line, m.function, m.original, m.mutated)
		}
	})
	for i, m := range b.mutants {
		if errs[i] != nil {
			return r, errs[i]
		}
		switch v := verdicts[i]; {
		case v == killed || v == timedOut:
			r.noticed++
			if v == timedOut {
				r.late++
			}
		case keep.of(m):
			r.given++
		default:
			r.stayed++
			what := ""
			if v == unseen {
				what = "  (no quick test comes here)"
			}
			r.survivors = append(r.survivors, fmt.Sprintf("%s:%d: %s: %s  ->  %s%s", m.file, m.line, m.function, m.original, m.mutated, what))
		}
	}
	r.took = time.Since(start)
	return r, nil
}
