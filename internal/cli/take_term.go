package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	tea "charm.land/bubbletea/v2"

	"hardcatch/internal/app"
)

// onTerminal runs the page full screen until the person quits.
func (p *towerPage) onTerminal(ctx context.Context, in *os.File, out io.Writer) error {
	program := tea.NewProgram(&terminalPage{page: p, width: 80, height: 24}, tea.WithContext(ctx), tea.WithInput(in), tea.WithOutput(out), tea.WithFPS(30))
	done := make(chan struct{})
	defer close(done)
	go func() {
		for s := range p.live.Signals() {
			select {
			case <-done:
				return
			default:
				program.Send(s)
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

// Init implements tea.Model.
func (t *terminalPage) Init() tea.Cmd { return tick() }

// refresh is when the checklist looks at the zero again.
type refresh struct{}

func tick() tea.Cmd { return tea.Tick(time.Second, func(time.Time) tea.Msg { return refresh{} }) }

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
	case app.Signal:
		t.page.signal(m)
	case refresh:
		if t.page.phase == preparing && t.page.next.Drop != nil {
			if err := t.page.propose(); err != nil {
				t.page.message = err.Error()
			}
		}
		return t, tick()
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

// fit shows of the body what there is room for above the foot, from line *from on, and says how much is left out.
func fit(body, foot []string, height int, from *int) []string {
	room := height - len(foot) - 1
	if len(body) <= room || room < 2 {
		*from = 0
		return append(append(append([]string{}, body...), ""), foot...)
	}
	*from = max(0, min(*from, len(body)-room))
	out := append([]string{}, body[*from:*from+room]...)
	out = append(out, fmt.Sprintf("-- %d more lines: arrow keys up and down --", len(body)-room))
	return append(out, foot...)
}

// byLines runs the page on lines of keys, for scripts: one key a line; the answer to a question is a line of its own;
// "wait" waits for the next captured drop, "rest 1s" for a while. The page is printed after each line.
func (p *towerPage) byLines(ctx context.Context, in io.Reader, s *streams) error {
	print := func() {
		for _, l := range p.screen(100) {
			s.say("%s", strings.TrimRight(l, " "))
		}
		s.say("%s", strings.Repeat("-", 40))
	}
	lines := bufio.NewScanner(in)
	p.catchUp()
	print()
	for !p.quit && lines.Scan() {
		switch line := strings.TrimSpace(lines.Text()); {
		case strings.HasPrefix(line, "#"):
			continue
		case p.ask != nil:
			p.ask.typed = line
			p.key("enter")
		case line == "wait":
			if err := p.await(ctx); err != nil {
				return err
			}
		case strings.HasPrefix(line, "rest "):
			d, err := time.ParseDuration(strings.TrimPrefix(line, "rest "))
			if err != nil {
				return fmt.Errorf("line %q: write for example rest 1s", line)
			}
			if err := p.follow(ctx, d, func() bool { return false }); err != nil {
				return err
			}
			if p.phase == preparing && p.next.Drop != nil {
				if err := p.propose(); err != nil {
					return err
				}
			}
		case line == "":
			p.key("enter")
		default:
			p.catchUp()
			p.key(line)
		}
		print()
		if p.message != "" {
			fmt.Fprintln(s.err, "note:", p.message)
		}
	}
	if err := lines.Err(); err != nil {
		return fmt.Errorf("reading keys: %w", err)
	}
	if !p.quit {
		return p.leave()
	}
	return nil
}

// longestWait bounds how long a script waits for a drop.
const longestWait = 2 * time.Minute

// await follows the source until a drop was captured.
func (p *towerPage) await(ctx context.Context) error {
	if p.phase != armed && p.ask == nil {
		return fmt.Errorf("wait: nothing is armed; %s", orNothing(p.message))
	}
	before := p.taken
	caught := func() bool { return p.taken != before || p.ask != nil || p.ended }
	if err := p.follow(ctx, longestWait, caught); err != nil {
		return err
	}
	if !caught() {
		return fmt.Errorf("no drop was captured within %s; look at trigger level and source", longestWait)
	}
	return nil
}

func orNothing(message string) string {
	if message == "" {
		return "arm with a first"
	}
	return message
}

// follow takes signals for a while, or until enough.
func (p *towerPage) follow(ctx context.Context, d time.Duration, enough func() bool) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	signals := p.live.Signals()
	for !enough() {
		select {
		case sig, ok := <-signals:
			if !ok {
				p.ended, signals = true, nil
				continue
			}
			p.signal(sig)
		case <-timer.C:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

// catchUp takes what has come so far.
func (p *towerPage) catchUp() {
	for {
		select {
		case sig, ok := <-p.live.Signals():
			if !ok {
				p.ended = true
				return
			}
			p.signal(sig)
		default:
			return
		}
	}
}
