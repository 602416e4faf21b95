// Package cli is the command line: one file for each command.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/alecthomas/kong"
	"golang.org/x/term"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/store"
)

// Exit codes.
const (
	exitOK         = 0
	exitUnexpected = 1 // something broke, or a proof failed
	exitInput      = 2 // usage, or input that cannot be used
)

// commands is the whole command line.
type commands struct {
	New        newCmd        `cmd:"" help:"Write a commented kit to start a campaign from: plan, rig, drop list, labels, checklist."`
	Begin      beginCmd      `cmd:"" help:"Make a campaign file that answers a question."`
	Rig        rigCmd        `cmd:"" help:"Enter rig, load cell, mass and calibration."`
	Enter      enterCmd      `cmd:"" help:"Enter a list of drops with their force records, and reduce them."`
	Ask        askCmd        `cmd:"" help:"Enter a question with what would count as yes, before the first drop."`
	Answer     answerCmd     `cmd:"" help:"Answer the questions: yes, no or cannot be told yet, and the drop that would tell most."`
	Results    resultsCmd    `cmd:"" help:"Show what the campaign says: cells, breaks, audit findings, limits."`
	Drop       dropCmd       `cmd:"" help:"Show one drop: measures, budget, audit, decisions."`
	Decide     decideCmd     `cmd:"" help:"Settle the outcome of a drop, or void it, with a reason."`
	Take       takeCmd       `cmd:"" help:"Take the planned drops from a live source, at the tower."`
	Next       nextCmd       `cmd:"" help:"Rank the drops that would tell most, and say why."`
	Withdraw   withdrawCmd   `cmd:"" help:"Take the last decision on a drop back."`
	Event      eventCmd      `cmd:"" help:"Set taut, the peak or the end of the first arrest by hand, with a reason."`
	Photo      photoCmd      `cmd:"" help:"Attach a photo to a drop, or give its photos back."`
	Report     reportCmd     `cmd:"" help:"Write the report as one HTML page."`
	Doctor     doctorCmd     `cmd:"" help:"Look through what was entered for what would make a number wrong."`
	Settle     settleCmd     `cmd:"" help:"Say why a finding of the doctor may be passed over."`
	Prove      proveCmd      `cmd:"" help:"Check that a campaign file is consistent, and holds a logbook hash kept elsewhere."`
	Logbook    logbookCmd    `cmd:"" help:"List everything that was entered, in order."`
	Record     recordCmd     `cmd:"" help:"Give back the original bytes of a drop's record."`
	Redo       redoCmd       `cmd:"" help:"Reduce all kept records again with the latest rig."`
	Serve      serveCmd      `cmd:"" help:"Show the campaign on pages, in a browser on this machine."`
	Capture    captureCmd    `cmd:"" help:"Take one drop from a live source, without a campaign."`
	Rehearse   rehearseCmd   `cmd:"" help:"Play the simulated rig as a live source, with faults on demand."`
	Reduce     reduceCmd     `cmd:"" help:"Reduce one force record, without a campaign."`
	Simulate   simulateCmd   `cmd:"" help:"Simulate one fall on a described chain."`
	Ensemble   ensembleCmd   `cmd:"" help:"Spread the parameters of a fall and get the distribution of the peak."`
	Chain      chainCmd      `cmd:"" help:"Hold one fall against every component of the chain."`
	Map        mapCmd        `cmd:"" help:"Map the peak over two quantities of the fall: limits, where it parts, what was dropped."`
	Identify   identifyCmd   `cmd:"" help:"Fit the model to the campaign's own records, and say what they leave open."`
	Predict    predictCmd    `cmd:"" help:"Predict a drop that was not made, from the campaign's own model."`
	Scenes     scenesCmd     `cmd:"" help:"Show what falls of the trade give, beside the peaks of a campaign: for illustration."`
	Plan       planCmd       `cmd:"" help:"Lay out a campaign: cells, run order, labels, and whether the bench will take it."`
	Staircase  staircaseCmd  `cmd:"" help:"Read an up-and-down series: next height, height at which half break; or simulate a planned one."`
	SampleSize sampleSizeCmd `cmd:"" name:"samplesize" help:"What a number of specimens can show, and how many are needed."`
	Compare    compareCmd    `cmd:"" help:"Compare: strengths, contrasts with exact tests, effects, breaks to expect, the rig over the days."`
	Strength   strengthCmd   `cmd:"" help:"Fit strengths of which some were only held: quantiles with intervals."`
	Limits     limitsCmd     `cmd:"" help:"List the strengths and arrest-force limits known here, with sources."`
	Demo       demoCmd       `cmd:"" help:"Run the whole job on an invented scenario."`
	SelfTest   selfTestCmd   `cmd:"" name:"selftest" help:"Hold the program on this machine against its kept results, to the last bit."`
	Completion completionCmd `cmd:"" help:"Write what a shell needs to complete commands and options."`
	Version    versionCmd    `cmd:"" help:"Print the versions, the commit it was built from, or the notices of what is in it."`

	VersionFlag kong.VersionFlag `name:"version" help:"Print the versions."`
}

// streams is where a command reads and writes. Only the answer goes to out.
type streams struct {
	ctx      context.Context
	out, err io.Writer
	tty      io.Writer // what out writes to
	watched  bool      // err is a terminal
	styled   bool      // out is a terminal and NO_COLOR is not set
}

const about = `Turns drop tests of textile fall-arrest gear into evidence.

Results are for a rigid mass on the stated rig; they are not injury thresholds and no certification test. Local codes, the maker's instructions and licensed practice come first.

Exit status: 0 done, 1 something unexpected or a failed proof, 2 usage or unusable input.`

// Run runs one command line and returns the exit status.
func Run(ctx context.Context, b *day.Bench, args []string, stdout, stderr io.Writer) (code int) {
	w := &writer{to: stdout}
	s := &streams{ctx: ctx, out: w, err: stderr, tty: stdout, watched: terminal(stderr), styled: terminal(stdout) && os.Getenv("NO_COLOR") == ""}
	if s.watched {
		b.Watcher = s.progress
	}
	type exited int
	defer func() {
		if r := recover(); r != nil {
			e, ok := r.(exited)
			if !ok {
				panic(r)
			}
			code = int(e)
		}
	}()
	parser, err := kong.New(&commands{}, kong.Name("hardcatch"), kong.Description(about), kong.Writers(stdout, stderr),
		kong.Exit(func(c int) { panic(exited(c)) }), kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}), kong.UsageOnError(),
		kong.Vars{"version": versionsOf(b.Version).String()})
	if err != nil {
		fmt.Fprintln(stderr, "hardcatch:", err)
		return exitUnexpected
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	if args[0] == "help" {
		args = append(args[1:len(args):len(args)], "--help")
	}
	plainPlaceholders(parser.Model.Node)
	k, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(stderr, "hardcatch: %v; see hardcatch --help\n", err)
		return exitInput
	}
	err = k.Run(b.Access, b, s, parser)
	if err == nil && w.err != nil {
		err = fmt.Errorf("%w: %w", errWrite, w.err)
	}
	if err != nil {
		s.clear()
		fmt.Fprintf(stderr, "hardcatch: %v\n", err)
		return exitOf(err)
	}
	s.clear()
	return exitOK
}

// failedProof is the error of a proof that did not hold; the answer is on stdout already.
type failedProof struct{ why string }

func (f failedProof) Error() string { return f.why }

// exitOf is 1 for what no input of the user's could have caused, else 2.
func exitOf(err error) int {
	var proof failedProof
	if errors.As(err, &proof) {
		return exitUnexpected
	}
	for _, e := range []error{context.Canceled, context.DeadlineExceeded, store.ErrFull, store.ErrDamaged, store.ErrUnreachable, store.ErrClosed, errWrite} {
		if errors.Is(err, e) {
			return exitUnexpected
		}
	}
	return exitInput
}

// writer keeps the first error of what it writes to.
type writer struct {
	to  io.Writer
	err error
}

func (w *writer) Write(b []byte) (int, error) {
	n, err := w.to.Write(b)
	if err != nil && w.err == nil {
		w.err = err
	}
	return n, err
}

var errWrite = errors.New("output could not be written")

func terminal(w any) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// progress overwrites one line of the terminal.
func (s *streams) progress(what string, done, total int) {
	fmt.Fprintf(s.err, "\r\x1b[K%s %d of %d", what, done, total)
	if done == total {
		s.clear()
	}
}

func (s *streams) clear() {
	if s.watched {
		fmt.Fprint(s.err, "\r\x1b[K")
	}
}
