package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/day"
)

type captureCmd struct {
	Source string `arg:"" help:"Description of the source in YAML."`
	Out    string `required:"" placeholder:"FILE" help:"Write the record into this file."`
	Hand   bool   `help:"Trigger at once."`
	triggerFlags
	Overwrite bool `help:"Overwrite the file."`
	JSON      bool `name:"json" help:"Print JSON."`
}

// Help is shown below the usage.
func (captureCmd) Help() string {
	return `Example: hardcatch capture source.yaml --out record.csv --level "500 N" --pre "0.5 s" --post "5 s"

source.yaml:
  kind: serial
  address: COM3
  baud: 460800
  rate: 10 kHz
  lines: "{counter},{force mV/V}"
  modulus: 65536

A capture that was cut off by a crash or a loss of power is finished from its spool by the next one; that record is written beside FILE, with the name of the drop.`
}

// Run takes one drop.
func (c *captureCmd) Run(b *day.Bench, s *streams) error {
	f, err := os.Open(c.Source)
	if err != nil {
		return fmt.Errorf("%s cannot be read: %w", c.Source, err)
	}
	defer func() { _ = f.Close() }() // only read
	if _, err := os.Stat(c.Out); err == nil && !c.Overwrite {
		return fmt.Errorf("%s exists already; choose another name, or overwrite it with --overwrite", c.Out)
	}
	o := c.options(c.Out)
	o.Hand = c.Hand
	x, err := day.Capture(s.ctx, b, c.Source, f, o, func(e acquire.Event) { fmt.Fprintln(s.err, e) }, func(x *acquire.Drop) error { return c.save(s, x) })
	if c.Spool == "" {
		err = errors.Join(err, emptied(o.Spool))
	}
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(x)
	}
	if x.Whole != nil {
		s.say("%s: the record %s, as its logger wrote it", c.Out, x.Whole.Name)
		return nil
	}
	s.say("%s: %d samples at %s, triggered by %s after %d, ended by %s; %d lost", c.Out, x.Len(), x.Description.Rate.Text(6), x.By, x.Trigger-x.First, x.Ended, x.Lost)
	for _, f := range x.Findings() {
		s.say("  - %s: %s", f.Grade, wrap(f.String(), 94, "    "))
	}
	s.say("Go on with: hardcatch reduce %s --mass \"100 kg\" --fall \"0.9 m\"", c.Out)
	return nil
}

// save writes a record so that it is whole or not there, and on the disk before the spool forgets it.
func (c *captureCmd) save(s *streams, x *acquire.Drop) error {
	name := c.Out
	if x.Recovered {
		ext := filepath.Ext(name)
		name = strings.TrimSuffix(name, ext) + "-" + x.ID + ext
		fmt.Fprintf(s.err, "a capture that was cut off was finished from its spool: %s\n", name)
	}
	write := x.WriteCSV
	if x.Whole != nil {
		write = func(w io.Writer) error {
			_, err := w.Write(x.Whole.Data)
			return err
		}
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".capture-*")
	if err != nil {
		return fmt.Errorf("%w: %w", errWrite, err)
	}
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		_ = os.Remove(f.Name()) // what was half written helps nobody
		return fmt.Errorf("%w: %w", errWrite, err)
	}
	return nil
}

// emptied removes the spool's folder when nothing but its lock is left.
func emptied(folder string) error {
	list, err := os.ReadDir(folder)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("%s: %w", folder, err)
	case len(list) > 1: // something is left for the next capture
		return nil
	}
	if err := os.RemoveAll(folder); err != nil {
		return fmt.Errorf("%s: %w", folder, err)
	}
	return nil
}
