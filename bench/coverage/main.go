// Command coverage reduces records of which the truth is known, and prints how often the results hold it.
//
//	go run ./bench/coverage                              rows, then faults, 200 records each
//	go run ./bench/coverage -rows zener,break -n 50 -faults none
//	go run ./bench/coverage -rows zener -rates 1000 -gains 0.0005
//	go run ./bench/coverage -rows none -faults clip,over -on zener,soft
//	go run ./bench/coverage -rows none -faults knee -on zener -n 1 -seed 17 -json -write FOLDER
package main

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/bench/truth"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "coverage:", err)
		os.Exit(1)
	}
}

// study is what is to be drawn and reduced.
type study struct {
	n      int
	seed   uint64
	bench  *bench
	each   func(judged) error // told of every record; nil = nobody
	folder string             // where each record is written as CSV; empty = nowhere
	report io.Writer          // of the progress
}

func run(ctx context.Context, args []string, out, progress io.Writer) error {
	f := flag.NewFlagSet("coverage", flag.ContinueOnError)
	f.SetOutput(progress)
	rows := f.String("rows", "all", "rows, separated by commas; all or none")
	faults := f.String("faults", "all", "faults laid on the rows of -on; all or none")
	on := f.String("on", "zener,soft,break", "rows on which faults are laid")
	rates := f.String("rates", "", "sampling rates in Hz, separated by commas; each row's own when empty")
	gains := f.String("gains", "", "relative standard uncertainties of the force scale; 0.005 when empty")
	n := f.Int("n", 200, "records a row")
	seed := f.Uint64("seed", 1, "of the first record; the others follow")
	version := f.String("reduction", "", "generation of the reduction; the latest when empty")
	filter := f.String("filter", "cfc60", "filter, as the program reads it")
	asJSON := f.Bool("json", false, "write every record's truth and result, one a line, instead of the tables")
	folder := f.String("write", "", "folder into which every record is written as a logger would")
	if err := f.Parse(args); err != nil {
		return err
	}
	chosen, err := reduce.ParseFilter(*filter)
	if err != nil {
		return err
	}
	b, err := newBench(*version, chosen)
	if err != nil {
		return err
	}
	s := study{n: *n, seed: *seed, bench: b, report: progress, folder: *folder}
	buffered := bufio.NewWriter(out)
	if *asJSON {
		enc := json.NewEncoder(buffered)
		s.each = func(j judged) error { return enc.Encode(j) }
	}
	sets, err := variants(*rates, *gains)
	if err != nil {
		return err
	}
	var plainLines, faultLines []line
	for _, row := range list(*rows, truth.Rows()) {
		for _, o := range sets {
			l, err := s.line(ctx, row, o)
			if err != nil {
				return err
			}
			plainLines = append(plainLines, l)
		}
	}
	for _, fault := range list(*faults, truth.Faults()) {
		for _, row := range list(*on, truth.Rows()) {
			for _, o := range sets {
				o.Fault = fault
				l, err := s.line(ctx, row, o)
				if err != nil {
					return err
				}
				faultLines = append(faultLines, l)
			}
		}
	}
	if !*asJSON {
		fmt.Fprintf(buffered, "%s, %s, seeds from %d\n\n", b.generation.Version, chosen, *seed)
		covers(buffered, plainLines)
		misses(buffered, faultLines)
	}
	return buffered.Flush()
}

// list reads names separated by commas.
func list(text string, all []string) []string {
	switch text {
	case "all":
		return all
	case "none", "":
		return nil
	}
	return strings.Split(text, ",")
}

// variants are all pairs of the rates and the uncertainties of the force scale.
func variants(rates, gains string) ([]truth.Options, error) {
	numbers := func(text string) ([]float64, error) {
		if text == "" {
			return []float64{0}, nil
		}
		var all []float64
		for _, t := range strings.Split(text, ",") {
			v, err := strconv.ParseFloat(t, 64)
			if err != nil || !(v > 0) {
				return nil, fmt.Errorf("%q is no positive number", t)
			}
			all = append(all, v)
		}
		return all, nil
	}
	rs, err := numbers(rates)
	if err != nil {
		return nil, err
	}
	gs, err := numbers(gains)
	if err != nil {
		return nil, err
	}
	var all []truth.Options
	for _, r := range rs {
		for _, g := range gs {
			all = append(all, truth.Options{Rate: r, GainU: g})
		}
	}
	return all, nil
}

// line draws and reduces the records of one row.
func (s *study) line(ctx context.Context, row string, o truth.Options) (line, error) {
	l := line{name: row}
	if o.Fault != "" {
		l.name = o.Fault + " on " + row
	}
	if o.Rate > 0 {
		l.name += fmt.Sprintf(", %g Hz", o.Rate)
	}
	if o.GainU > 0 {
		l.name += fmt.Sprintf(", gain %g %%", 100*o.GainU)
	}
	for i := range s.n {
		if err := ctx.Err(); err != nil {
			return l, err
		}
		rec, err := truth.Draw(row, s.seed+uint64(i), o)
		if err != nil {
			return l, err
		}
		if s.folder != "" {
			name := strings.Join(strings.Fields(fmt.Sprintf("%s %s %g Hz %d", row, o.Fault, rec.Rate, rec.Seed)), "_")
			if err := os.WriteFile(filepath.Join(s.folder, name+".csv"), rec.CSV(), 0o644); err != nil {
				return l, err
			}
		}
		j := s.judge(ctx, &rec)
		rec.Time, rec.Force, rec.Cells = nil, nil, nil
		j.Record = rec
		if s.each != nil {
			if err := s.each(j); err != nil {
				return l, err
			}
		}
		j.Warnings = nil
		l.all = append(l.all, j)
	}
	fmt.Fprintf(s.report, "%s: %d records\n", l.name, s.n)
	return l, nil
}

func (s *study) judge(ctx context.Context, rec *truth.Record) judged {
	red, err := s.bench.reduce(ctx, rec)
	if err != nil {
		return judged{Error: err.Error()}
	}
	j := judged{Outcome: string(red.Outcome), Warnings: red.Warnings, Readings: map[string]reading{}}
	j.Verdict, j.Checks = said(red)
	for _, q := range quantities {
		j.Readings[q.name] = q.in(red)
	}
	return j
}
