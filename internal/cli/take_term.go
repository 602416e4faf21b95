package cli

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	tea "charm.land/bubbletea/v2"

	"github.com/hardcatch/hardcatch/internal/day"
)

// onTerminal runs the page full screen until the person quits.
func (p *towerPage) onTerminal(ctx context.Context, in *os.File, out io.Writer) error {
	program := tea.NewProgram(&terminalPage{page: p, width: 80, height: 24}, tea.WithContext(ctx), tea.WithInput(in), tea.WithOutput(out), tea.WithFPS(30))
	done := make(chan struct{})
	defer close(done)
	go func() {
		for {
			select {
			case <-done:
				return
			case <-p.nudged:
				program.Send(refresh{})
			}
		}
	}()
	_, err := program.Run()
	if errors.Is(err, tea.ErrProgramKilled) && ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}

// terminalPage is the page as a program of the terminal.
type terminalPage struct {
	page          *towerPage
	width, height int
	from          int // first line shown, when the page is longer than the screen
}

// refresh is when something has changed.
type refresh struct{}

// Init implements tea.Model.
func (t *terminalPage) Init() tea.Cmd { return nil }

// Update implements tea.Model.
func (t *terminalPage) Update(m tea.Msg) (tea.Model, tea.Cmd) {
	switch m := m.(type) {
	case tea.WindowSizeMsg:
		t.width, t.height = m.Width, m.Height
	case tea.KeyPressMsg:
		switch k := m.String(); k {
		case "up":
			t.from = max(0, t.from-1)
		case "down":
			t.from++
		case "pgup":
			t.from = max(0, t.from-t.height/2)
		case "pgdown":
			t.from += t.height / 2
		default:
			t.from = 0
			if text := m.Key().Text; text != "" && k != "space" {
				k = text
			}
			t.page.key(k)
		}
	case tea.PasteMsg:
		for _, r := range m.Content {
			t.page.key(string(r))
		}
	case refresh:
		t.page.look()
	}
	if t.page.quit {
		return t, tea.Quit
	}
	return t, nil
}

// View implements tea.Model.
func (t *terminalPage) View() tea.View {
	body, foot := t.page.parts(t.width)
	v := tea.NewView(strings.Join(fit(body, foot, t.height, &t.from), "\n"))
	v.AltScreen = true
	v.WindowTitle = "hardcatch take"
	return v
}

// fit shows of the body what there is room for, from line *from on, and says how much is left out; the foot stands at
// the bottom of the screen, where the eye finds it.
func fit(body, foot []string, height int, from *int) []string {
	room := height - len(foot) - 1
	if len(body) <= room || room < 2 {
		*from = 0
		gap := make([]string, max(1, height-len(body)-len(foot)))
		return slices.Concat(body, gap, foot)
	}
	*from = max(0, min(*from, len(body)-room))
	out := append([]string{}, body[*from:*from+room]...)
	out = append(out, fmt.Sprintf("-- %d more lines: arrow keys up and down --", len(body)-room))
	return append(out, foot...)
}

// byLines runs the page on lines of keys, for scripts: one key a line; the answer to a question is a line of its own;
// "wait" waits for the next captured drop, "rest 1s" for a while. The page is printed after each line.
func (p *towerPage) byLines(ctx context.Context, in io.Reader, s *streams) error {
	var shown *day.Taken
	print := func() {
		p.look()
		shown = p.state.Taken
		for _, l := range p.screen(100) {
			s.say("%s", strings.TrimRight(l, " "))
		}
		s.say("%s", strings.Repeat("-", 40))
		if m := p.message(); m != "" {
			fmt.Fprintln(s.err, "note:", m)
		}
	}
	lines := bufio.NewScanner(in)
	print()
	for !p.quit && lines.Scan() {
		p.look()
		switch line := strings.TrimSpace(lines.Text()); {
		case strings.HasPrefix(line, "#"):
			continue
		case p.ask != nil:
			p.ask.typed = line
			p.key("enter")
		case line == "wait":
			if err := p.await(ctx, shown); err != nil {
				return err
			}
		case strings.HasPrefix(line, "rest "):
			d, err := time.ParseDuration(strings.TrimPrefix(line, "rest "))
			if err != nil {
				return fmt.Errorf("line %q: write for example rest 1s", line)
			}
			if err := p.until(ctx, d, func() bool { return false }); err != nil {
				return err
			}
		case line == "":
			p.key("enter")
		default:
			p.key(line)
		}
		print()
	}
	if err := lines.Err(); err != nil {
		return fmt.Errorf("reading keys: %w", err)
	}
	if !p.quit {
		p.leave()
	}
	return nil
}

// longestWait bounds how long a script waits for a drop.
const longestWait = 2 * time.Minute

// await waits until another drop was captured than the one shown.
func (p *towerPage) await(ctx context.Context, shown *day.Taken) error {
	caught := func() bool { return p.state.Taken != shown || p.ask != nil || p.state.Ended }
	if p.state.Phase != day.Armed && !caught() {
		return fmt.Errorf("wait: nothing is armed; %s", cmp.Or(p.message(), "arm with a first"))
	}
	if err := p.until(ctx, longestWait, caught); err != nil {
		return err
	}
	if !caught() {
		return fmt.Errorf("no drop was captured within %s; look at trigger level and source", longestWait)
	}
	return nil
}

// until waits for a while, or until enough.
func (p *towerPage) until(ctx context.Context, d time.Duration, enough func() bool) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	for p.look(); !enough(); p.look() {
		select {
		case <-p.nudged:
		case <-timer.C:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}
