package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
)

// towerPage is the page of a day at the tower, without a terminal: keys go in, lines come out. The day itself is
// app.Day, which it shows and to which it gives orders.
type towerPage struct {
	ctx      context.Context
	day      *day.Day
	file     string
	force    force
	nudged   chan struct{} // something has changed
	followed chan struct{} // closed when the capture says nothing more

	state  day.State
	note   string           // of this page, about the last key
	hidden message.Sentence // message of the day that was seen
	ask    *lineAsked
	later  string // the found record whose question was left with Esc
	named  bool   // r was pressed: also a record that nobody awaited is to be told its drop
	help   bool
	quit   bool
}

// lineAsked is a line of text that is asked for.
type lineAsked struct {
	text  string
	typed string
	phase day.Phase // outside of which it makes no sense; empty = none
	then  func(answer string)
}

// force is what the force showed last.
type force struct {
	mu      sync.Mutex
	view    *day.LiveView
	highest float64 // N, since arming
}

func (f *force) add(v day.LiveView) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.view, f.highest = &v, max(f.highest, v.Max.SI())
}

// last is the last view, nil before the first, and the highest force since arming.
func (f *force) last() (*day.LiveView, float64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.view, f.highest
}

func (f *force) restart() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.highest = 0
}

func newTowerPage(ctx context.Context, a *look.Access, file string, live day.Live, opts day.TakeInput) (*towerPage, error) {
	p := &towerPage{ctx: ctx, file: file, nudged: make(chan struct{}, 1), followed: make(chan struct{})}
	var err error
	if p.day, err = day.New(ctx, a, file, live, opts, func(int) { p.nudge() }); err != nil {
		return nil, err
	}
	p.look()
	return p, nil
}

func (p *towerPage) nudge() {
	select {
	case p.nudged <- struct{}{}:
	default:
	}
}

// follow lets the day follow the capture.
func (p *towerPage) follow() {
	go func() {
		defer close(p.followed)
		p.day.Follow(p.ctx, func(v day.LiveView) {
			p.force.add(v)
			p.nudge()
		})
	}()
}

// look takes over what is to be shown.
func (p *towerPage) look() {
	before := p.state.Phase
	p.state = p.day.Moment()
	if p.state.Phase != before {
		p.help = false
		if p.ask != nil && p.ask.phase != "" && p.ask.phase != p.state.Phase {
			p.ask = nil
		}
	}
	if len(p.state.Found) > 0 && fmt.Sprint(p.state.Found[0]) != p.later {
		p.askFor()
	}
}

// message is what is to be said about the last key or order.
func (p *towerPage) message() string {
	if p.note != "" || p.state.Message.Equal(p.hidden) {
		return p.note
	}
	return p.state.Message.String()
}

// key takes one key by its name: a character, "enter", "esc", "backspace".
func (p *towerPage) key(k string) {
	p.note, p.hidden = "", p.state.Message
	if p.ask != nil {
		p.answer(k)
	} else {
		p.press(k)
	}
	p.look()
}

// obey takes what came of an order; what was refused stands in the day's message.
func (p *towerPage) obey(st day.State, _ error) {
	p.hidden = nil
	p.state = st
}

func (p *towerPage) press(k string) {
	switch k {
	case "?":
		p.help = !p.help
		return
	case "ctrl+c":
		p.leave()
		return
	case "q":
		p.askToLeave()
		return
	case "r":
		if len(p.state.Found) > 0 {
			p.later, p.named = "", true
			return
		}
	}
	known := false
	switch p.state.Phase {
	case day.Preparing:
		known = p.prepare(k)
	case day.Armed:
		known = p.whileArmed(k)
	case day.Reading:
		known = p.judge(k)
	}
	if !known {
		p.note = fmt.Sprintf("key %s does nothing here; ? shows the keys", k)
	}
}

func (p *towerPage) askToLeave() {
	if p.state.Phase != day.Armed {
		p.leave()
		return
	}
	p.ask = &lineAsked{text: fmt.Sprintf("Drop %s is awaited. Quit all the same? y = yes, Enter = no", p.state.Next.Drop.ID), phase: day.Armed, then: func(answer string) {
		if strings.HasPrefix(strings.ToLower(strings.TrimSpace(answer)), "y") {
			p.leave()
		}
	}}
}

// leave quits. While a drop is awaited it disarms first.
func (p *towerPage) leave() {
	if p.state.Phase == day.Armed {
		p.obey(p.day.Disarm())
	}
	p.quit = true
}

// numbered tells which of n things a key stands for, from 1.
func numbered(k string, n int) (int, bool) {
	if len(k) == 1 && k[0] >= '1' && int(k[0]-'0') <= n {
		return int(k[0] - '0'), true
	}
	return 0, false
}

func (p *towerPage) prepare(k string) (known bool) {
	if n, ok := numbered(k, len(p.state.Items)); ok {
		p.obey(p.day.Toggle(n, ""))
		return true
	}
	switch k {
	case "k":
		if len(p.state.Items) == 0 {
			return false
		}
		p.ask = &lineAsked{text: "Skip which question, and why? (for example: 6 battery empty)", phase: day.Preparing, then: p.skip}
	case "l", "n": // n goes on, where nothing is prepared that it could leave
		if (k == "l") != (p.state.Next.Drop != nil) {
			return false
		}
		p.obey(p.day.Onward(p.ctx))
	case "a":
		p.obey(p.day.Arm(p.ctx))
		if p.state.Phase == day.Armed {
			p.force.restart()
		}
	case "u":
		p.askWhyBack(day.Preparing)
	default:
		return false
	}
	return true
}

func (p *towerPage) whileArmed(k string) (known bool) {
	switch k {
	case "m":
		p.obey(p.day.Fire())
	case "e":
		p.obey(p.day.Finish())
	case "d":
		p.obey(p.day.Disarm())
	default:
		return false
	}
	return true
}

func (p *towerPage) skip(answer string) {
	number, why, _ := strings.Cut(strings.TrimSpace(answer), " ")
	n, ok := numbered(number, len(p.state.Items))
	if why = strings.TrimSpace(why); !ok || why == "" {
		p.note = "write the number of the question and the reason, for example: 6 battery empty"
		return
	}
	p.obey(p.day.Toggle(n, why))
}

// judge takes the keys of a drop that is shown.
func (p *towerPage) judge(k string) (known bool) {
	switch k {
	case "u":
		p.askWhyBack(day.Reading)
		return true
	case "n":
		p.obey(p.day.Onward(p.ctx))
		return true
	}
	reasons := drop.VoidReasons()
	if p.state.Settled != "" {
		p.note = fmt.Sprintf("drop %s is decided; press u first to take that back", p.state.Taken.Drop.ID)
		return slices.Contains([]string{"enter", "c", "h", "b", "s", "v"}, k)
	}
	reason := func(text string, o drop.Outcome) {
		p.ask = &lineAsked{text: text, phase: day.Reading, then: func(why string) { p.decide(o, drop.Unsaid, why) }}
	}
	switch k {
	case "enter", "c":
		p.decide("", drop.Unsaid, "")
	case "v":
		p.askWhyVoid(reasons)
	case "h":
		reason("Held, because:", drop.Held)
	case "s":
		reason("Slipped, because:", drop.Slipped)
	case "b":
		p.ask = &lineAsked{text: "Broke where? b body, k knot, s stitching, e edge, c connector, Enter = not said; then a remark if wanted", phase: day.Reading, then: p.broke}
	default:
		return false
	}
	return true
}

// askWhyBack asks why the last decision is taken back.
func (p *towerPage) askWhyBack(phase day.Phase) {
	if p.state.Taken == nil {
		p.obey(p.day.Withdraw(p.ctx, "")) // it says why not
		return
	}
	p.ask = &lineAsked{text: fmt.Sprintf("Take the last decision on drop %s back, because:", p.state.Taken.Drop.ID), phase: phase, then: func(why string) { p.obey(p.day.Withdraw(p.ctx, why)) }}
}

func (p *towerPage) askWhyVoid(reasons []string) {
	var listed []string
	for i, r := range reasons {
		listed = append(listed, fmt.Sprintf("%d %s", i+1, r))
	}
	p.ask = &lineAsked{text: "Void, because: write why, or a number: " + strings.Join(listed, ", "), phase: day.Reading, then: func(why string) {
		if n, ok := numbered(strings.TrimSpace(why), len(reasons)); ok {
			why = reasons[n-1]
		}
		p.decide(drop.Void, drop.Unsaid, why)
	}}
}

func (p *towerPage) broke(answer string) {
	letter, why, _ := strings.Cut(strings.TrimSpace(answer), " ")
	if letter == "" {
		p.decide(drop.Broke, drop.Unsaid, "")
		return
	}
	for _, place := range []drop.Place{drop.Body, drop.Knot, drop.Stitching, drop.Edge, drop.Connector} {
		if strings.HasPrefix(string(place), strings.ToLower(letter)) {
			p.decide(drop.Broke, place, why)
			return
		}
	}
	p.note = fmt.Sprintf("place %q is not known; write b, k, s, e or c first", letter)
}

func (p *towerPage) decide(o drop.Outcome, place drop.Place, why string) {
	p.obey(p.day.Decide(p.ctx, o, place, why))
}

// askFor asks to which drop a found record belongs, unless something else is asked or a drop is awaited.
func (p *towerPage) askFor() {
	if p.ask != nil || p.state.Phase == day.Armed || p.state.Entering {
		return
	}
	f := p.state.Found[0]
	if f.Stray && !p.named {
		return // a question that comes unasked would take the next key for its answer
	}
	p.named = false
	name := f.Likely
	if name == "" {
		name = "none; write its name"
	}
	record := strings.TrimSpace("A record " + f.Name)
	p.ask = &lineAsked{
		text: fmt.Sprintf("%s: %s. Which drop is it? Enter = %s, - = none (leave it in the spool)", record, f.Why, name),
		then: func(answer string) { p.belongs(answer, f.Likely) },
	}
}

// belongs enters a found record as the drop named, or as the likely one.
func (p *towerPage) belongs(answer, likely string) {
	switch answer = strings.TrimSpace(answer); answer {
	case "-":
		answer = ""
	case "":
		if answer = likely; answer == "" {
			p.note = "no drop is proposed for it; write the drop's name"
			return
		}
	}
	p.obey(p.day.Assign(p.ctx, answer))
}

// answer takes the keys of a question.
func (p *towerPage) answer(k string) {
	q := p.ask
	switch k {
	case "enter":
		p.ask = nil
		q.then(q.typed)
	case "esc", "ctrl+c":
		p.ask = nil
		if q.phase == "" && len(p.state.Found) > 0 {
			p.later = fmt.Sprint(p.state.Found[0])
		}
	case "backspace":
		if r := []rune(q.typed); len(r) > 0 {
			q.typed = string(r[:len(r)-1])
		}
	case "space":
		q.typed += " "
	default:
		if len([]rune(k)) == 1 {
			q.typed += k
		}
	}
}
