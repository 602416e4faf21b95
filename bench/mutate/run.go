package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"sync"
	"time"
)

// test is one quick test: where it is, how long it takes and which places it passes.
type test struct {
	bin  binary
	name string
	took time.Duration
	sees map[int]bool
}

func (b binary) command(ctx context.Context, pattern string, limit time.Duration, env ...string) *exec.Cmd {
	args := []string{"-test.short", "-test.failfast", "-test.run", pattern, "-test.timeout", limit.String()}
	if b.rapid {
		args = append(args, "-rapid.nofailfile", "-rapid.seed=1")
	}
	cmd := exec.CommandContext(ctx, b.path, args...)
	cmd.Dir = b.dir
	cmd.Env = append(os.Environ(), env...)
	cmd.WaitDelay = time.Second
	return cmd
}

// record runs each quick test by itself with no mutant switched on. Tests that fail under the switches are named and left out.
func record(b built, work string, workers int) (tests []test, left []string, err error) {
	for _, bin := range b.binaries {
		out, err := exec.Command(bin.path, "-test.list", ".").Output()
		if err != nil {
			return nil, nil, fmt.Errorf("%s: listing tests: %w", bin.dir, err)
		}
		for _, name := range strings.Fields(string(out)) {
			if !strings.HasPrefix(name, "Benchmark") {
				tests = append(tests, test{bin: bin, name: name})
			}
		}
	}
	failed := make([]string, len(tests))
	each(workers, len(tests), func(i int) {
		t := &tests[i]
		seen := filepath.Join(work, fmt.Sprintf("seen%d", i))
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
		defer cancel()
		start := time.Now()
		if out, err := t.bin.command(ctx, "^"+t.name+"$", 2*time.Minute, "MUTANT_SEEN="+seen).CombinedOutput(); err != nil {
			failed[i] = fmt.Sprintf("%s (%v: %s)", t.name, err, firstLine(out))
			return
		}
		t.took = time.Since(start)
		t.sees = readSeen(seen)
	})
	kept := tests[:0]
	for i, t := range tests {
		if failed[i] != "" {
			left = append(left, failed[i])
		} else {
			kept = append(kept, t)
		}
	}
	sort.SliceStable(kept, func(i, j int) bool { return kept[i].took < kept[j].took })
	return kept, left, nil
}

func firstLine(out []byte) string {
	for line := range strings.Lines(string(out)) {
		if strings.Contains(line, ".go:") || strings.HasPrefix(line, "panic:") {
			return strings.TrimSpace(line)
		}
	}
	return ""
}

func readSeen(path string) map[int]bool {
	seen := map[int]bool{}
	f, err := os.Open(path)
	if err != nil {
		return seen // a test that passes no place at all
	}
	defer func() { _ = f.Close() }() // only read
	for sc := bufio.NewScanner(f); sc.Scan(); {
		if id, err := strconv.Atoi(sc.Text()); err == nil {
			seen[id] = true
		}
	}
	return seen
}

// each calls f for 0 to n-1 from some workers.
func each(workers, n int, f func(int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range max(1, workers) {
		wg.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// verdict is what became of a mutant.
type verdict int

const (
	survived verdict = iota
	unseen           // no quick test passes the place
	killed
	timedOut // counts as killed
)

// try switches one mutant on and runs the tests that pass its place, the quick ones first, until one fails.
func try(m mutant, tests []test) (verdict, error) {
	var batches [][]test
	var sum time.Duration
	for _, t := range tests {
		if !t.sees[m.site] {
			continue
		}
		sum += t.took
		if n := len(batches); n == 0 || batches[n-1][0].bin != t.bin || sum > 300*time.Millisecond {
			batches, sum = append(batches, nil), t.took
		}
		n := len(batches) - 1
		batches[n] = append(batches[n], t)
	}
	if len(batches) == 0 {
		return unseen, nil
	}
	for _, batch := range batches {
		names, took := make([]string, len(batch)), time.Duration(0)
		for i, t := range batch {
			names[i], took = t.name, took+t.took
		}
		limit := 5*time.Second + 10*took
		ctx, cancel := context.WithTimeout(context.Background(), limit+time.Second)
		err := batch[0].bin.command(ctx, "^("+strings.Join(names, "|")+")$", limit, "MUTANT="+strconv.Itoa(m.id)).Run()
		late := ctx.Err() != nil
		cancel()
		var exit *exec.ExitError
		switch {
		case late:
			return timedOut, nil //nolint:nilerr // a mutant that does not end is an outcome
		case err == nil:
		case errors.As(err, &exit) || errors.Is(err, exec.ErrWaitDelay):
			return killed, nil
		default:
			return survived, err
		}
	}
	return survived, nil
}
