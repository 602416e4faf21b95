package cli

import (
	"encoding/json"
	"strconv"

	"hardcatch/internal/app"
	"hardcatch/internal/drop"
	"hardcatch/internal/store"
)

type historyCmd struct {
	File string `arg:"" help:"Campaign file."`
	JSON bool   `name:"json" help:"Print JSON, with payloads."`
}

// Help is shown below the usage.
func (historyCmd) Help() string { return `Example: hardcatch history trial.hardcatch` }

// Run lists the entries.
func (c *historyCmd) Run(a *app.App, s *streams) error {
	entries, err := a.History(s.ctx, c.File)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(entries)
	}
	rows := [][]string{{"entry", "time", "kind", "subject", "hash", "what"}}
	for _, e := range entries {
		rows = append(rows, []string{strconv.FormatInt(e.Seq, 10), e.At, string(e.Kind), e.Subject, e.Hash.String()[:16], what(e)})
	}
	return s.table(rows)
}

// what says in a few words what an entry of a person settled.
func what(e store.Entry) string {
	var d drop.Decision
	if e.Kind != store.KindDecision || json.Unmarshal([]byte(e.Payload), &d) != nil {
		return ""
	}
	text := string(d.Outcome) + ": " + d.Reason
	if d.By != "" {
		text += " (" + d.By + ")"
	}
	return text
}
