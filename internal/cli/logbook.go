package cli

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/question"
	"github.com/hardcatch/hardcatch/internal/store"
)

type logbookCmd struct {
	File string `arg:"" help:"Campaign file."`
	JSON bool   `name:"json" help:"Print JSON, with payloads."`
}

// Help is shown below the usage.
func (logbookCmd) Help() string { return `Example: hardcatch logbook trial.hardcatch` }

// Run lists the entries.
func (c *logbookCmd) Run(a *look.Access, s *streams) error {
	entries, err := a.Logbook(s.ctx, c.File)
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

// what says in a few words what a person settled, noted, checked or attached with an entry.
func what(e store.Entry) string {
	switch e.Kind {
	case store.KindDecision:
		var d drop.Decision
		if json.Unmarshal([]byte(e.Payload), &d) == nil {
			return strings.Replace(settled(d), ", ", ": ", 1) + bracketed(d.By)
		}
	case store.KindNote:
		var n store.Note
		if json.Unmarshal([]byte(e.Payload), &n) == nil {
			return settles(n) + n.Text + bracketed(n.By)
		}
	case store.KindChecklist:
		var c drop.Checklist
		if json.Unmarshal([]byte(e.Payload), &c) == nil {
			return listWords(c)
		}
	case store.KindQuestion:
		var q drop.Question
		if json.Unmarshal([]byte(e.Payload), &q) == nil {
			if q.Withdrawn != "" {
				return "asked no longer: " + q.Withdrawn
			}
			return fmt.Sprintf("is %s %s?", question.QuantityWords(q), question.BoundWords(q))
		}
	case store.KindPhoto:
		var p store.Photo
		if json.Unmarshal([]byte(e.Payload), &p) == nil {
			return p.Name + after(": ", p.Caption) + bracketed(p.By)
		}
	}
	return ""
}

func settles(n store.Note) string {
	switch {
	case n.Settles == "":
		return ""
	case n.Reopens:
		return "finding " + n.Settles + " is open again: "
	}
	return "finding " + n.Settles + " is settled: "
}

func bracketed(by string) string {
	if by == "" {
		return ""
	}
	return " (" + by + ")"
}
