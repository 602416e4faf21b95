package cli

import (
	"context"
	"fmt"
	"strings"

	"hardcatch/internal/app"
	"hardcatch/internal/drop"
)

// phase is where the page of a day stands.
type phase int

const (
	preparing phase = iota // checklist of the next drop
	armed                  // waits for the trigger, or records
	reading                // the last drop is shown
)

// towerPage is the page of a day at the tower, without a terminal: keys and signals go in, lines come out.
type towerPage struct {
	ctx  context.Context
	a    *app.App
	file string
	by   string
	live app.Live
	opts app.TakeInput // filter and reader of every drop

	phase   phase
	next    app.Next
	later   map[string]bool // planned drops left for later
	list    drop.Checklist
	auto    map[drop.CheckKey]bool // answered by the program, which takes it back when it no longer holds
	stored  bool                   // the list is in the campaign
	view    app.LiveView
	viewed  bool
	quiet   app.QuietWatch
	highest float64 // N, since arming
	taken   *app.Taken
	settled string   // what was decided about it
	trouble []string // last events of the source
	found   []*app.Captured
	message string
	ask     *question
	help    bool
	ended   bool // the source is done
	quit    bool
}

// question asks for a line of text.
type question struct {
	text  string
	typed string
	then  func(answer string) error
}

func newTowerPage(ctx context.Context, a *app.App, file, by string, live app.Live) (*towerPage, error) {
	p := &towerPage{ctx: ctx, a: a, file: file, by: by, live: live, later: map[string]bool{}}
	return p, p.advance()
}

// advance turns to the next drop.
func (p *towerPage) advance() error {
	n, err := p.a.NextDrop(p.ctx, p.file)
	if err != nil {
		return err
	}
	p.next, p.phase, p.stored, p.highest = n, preparing, false, 0
	if n.Drop == nil {
		return nil
	}
	if p.later[n.Drop.ID] {
		if err := p.passOver(); err != nil {
			return err
		}
	}
	p.list = drop.NewChecklist(p.next.Drop.ID)
	p.list.By, p.auto = p.by, map[drop.CheckKey]bool{}
	return p.propose()
}

// passOver finds the first planned drop that was not left for later; when all were, they come again.
func (p *towerPage) passOver() error {
	r, err := p.a.Results(p.ctx, p.file)
	if err != nil {
		return err
	}
	for _, id := range r.Planned {
		if p.later[id] {
			continue
		}
		v, err := p.a.Drop(p.ctx, p.file, id)
		if err != nil {
			return err
		}
		p.next.Drop = &v.Drop
		return nil
	}
	clear(p.later)
	return nil
}

// propose lets the program answer what it can; what a person answered stays.
func (p *towerPage) propose() error {
	found, err := p.a.ProposeChecklist(p.ctx, p.file, app.ChecklistInput{Drop: *p.next.Drop, Quiet: p.quiet.Seen()})
	if err != nil {
		return err
	}
	for i := range p.list.Items {
		item, seen := &p.list.Items[i], found.Items[i]
		if item.State == drop.CheckOpen || p.auto[item.Key] {
			item.State = seen.State
			p.auto[item.Key] = seen.State != drop.CheckOpen
		}
		item.Found = seen.Found
	}
	return nil
}

// key takes one key by its name: a character, "enter", "esc", "backspace".
func (p *towerPage) key(k string) {
	p.message = ""
	if p.ask != nil {
		p.answer(k)
		return
	}
	if k == "ctrl+c" {
		k = "q"
	}
	if err := p.press(k); err != nil {
		p.message = err.Error()
	}
}

func (p *towerPage) press(k string) error {
	switch k {
	case "?":
		p.help = !p.help
		return nil
	case "q":
		return p.leave()
	case "u":
		return p.undo()
	}
	switch p.phase {
	case preparing:
		return p.prepare(k)
	case armed:
		switch k {
		case "m":
			return p.live.Fire()
		case "d":
			p.phase = preparing
			return p.live.Disarm()
		}
	case reading:
		return p.judge(k)
	}
	return fmt.Errorf("key %s does nothing here; ? shows the keys", k)
}

// leave quits. While a drop is awaited it disarms first.
func (p *towerPage) leave() error {
	if p.phase == armed {
		p.phase = preparing
		if err := p.live.Disarm(); err != nil {
			return err
		}
	}
	p.quit = true
	return nil
}

func (p *towerPage) prepare(k string) error {
	switch {
	case p.next.Drop == nil:
		return fmt.Errorf("nothing planned is left; enter more with: hardcatch add %s plan.csv --planned, then n", p.file)
	case len(k) == 1 && k >= "1" && k <= "7":
		p.toggle(int(k[0] - '1'))
		return nil
	}
	switch k {
	case "s":
		p.ask = &question{text: "Skip which question, and why? (for example: 6 battery empty)", then: p.skip}
		return nil
	case "n":
		p.later[p.next.Drop.ID] = true
		return p.advance()
	case "a":
		return p.arm()
	}
	return fmt.Errorf("key %s does nothing here; ? shows the keys", k)
}

// toggle goes round the answers of a question: open, done, not applicable where that may be said.
func (p *towerPage) toggle(i int) {
	item := &p.list.Items[i]
	item.Reason, p.auto[item.Key] = "", false
	switch item.State {
	case drop.CheckOpen, drop.CheckSkipped:
		item.State = drop.CheckDone
	case drop.CheckDone:
		item.State = drop.CheckNotApplicable
		if drop.CheckQuestions()[i].Always {
			item.State = drop.CheckOpen
		}
	default:
		item.State = drop.CheckOpen
	}
}

func (p *towerPage) skip(answer string) error {
	number, why, _ := strings.Cut(strings.TrimSpace(answer), " ")
	why = strings.TrimSpace(why)
	if len(number) != 1 || number < "1" || number > "7" || why == "" {
		return fmt.Errorf("write the number of the question and the reason, for example: 6 battery empty")
	}
	item := &p.list.Items[number[0]-'1']
	item.State, item.Reason, p.auto[item.Key] = drop.CheckSkipped, why, false
	return nil
}

func (p *towerPage) arm() error {
	if err := p.propose(); err != nil {
		return err
	}
	if open := p.list.Open(); len(open) > 0 {
		var names []string
		for _, k := range open {
			names = append(names, string(k))
		}
		return fmt.Errorf("not armed: answer %s, or skip with a reason (s)", strings.Join(names, ", "))
	}
	if p.ended {
		return fmt.Errorf("not armed: the source has ended; look at it and start again")
	}
	if !p.stored {
		if _, err := p.a.EnterChecklist(p.ctx, p.file, p.list); err != nil {
			return err
		}
		p.stored = true
	}
	if err := p.live.Arm(); err != nil {
		return err
	}
	p.phase, p.highest = armed, 0
	return nil
}

// signal takes what the capture says.
func (p *towerPage) signal(s app.Signal) {
	switch {
	case s.View != nil:
		p.see(*s.View)
	case s.Event != "":
		p.trouble = app.Trouble(p.trouble, s.Event)
	case s.Ended != nil:
		p.ended, p.message = true, "the source has ended: "+s.Ended.Error()
	case s.Drop != nil:
		p.captured(s.Drop)
	}
}

func (p *towerPage) see(v app.LiveView) {
	p.view, p.viewed = v, true
	p.highest = max(p.highest, v.Max.SI())
	if v.State == "triggered" || v.Missing || v.Unit != "" {
		p.quiet.Reset()
		return
	}
	p.quiet.Add(v)
}

// captured enters a drop. One that comes from the spool, or while none was awaited, needs to be told its name.
func (p *towerPage) captured(c *app.Captured) {
	p.help = false
	if p.phase == armed && c.Found == "" {
		if err := p.take(*p.next.Drop, c); err != nil {
			p.found = append(p.found, c)
			p.message = "NOT in the campaign yet: " + err.Error()
			p.askFor()
		}
		return
	}
	if c.Found != "" && c.ID != "" {
		if id, err := p.a.CaptureTaken(p.ctx, p.file, c.ID); err == nil && id != "" {
			p.message = fmt.Sprintf("the spool still held drop %s, which is in the campaign", id)
			p.release(c)
			return
		}
	}
	p.found = append(p.found, c)
	if p.ask == nil {
		p.askFor()
	}
}

// release tells the capture that the campaign holds a drop.
func (p *towerPage) release(c *app.Captured) {
	if c.Keep == nil {
		return
	}
	if err := c.Keep(); err != nil {
		p.trouble = app.Trouble(p.trouble, "the campaign holds the drop, but its spool could not be released: "+err.Error())
	}
}

// askFor asks to which drop a found record belongs: most likely the one that was awaited, else the next.
func (p *towerPage) askFor() {
	if len(p.found) == 0 {
		return
	}
	likely, err := p.a.AwaitedDrop(p.ctx, p.file)
	if err != nil {
		p.message = err.Error()
	}
	if likely == nil {
		likely = p.next.Drop
	}
	c, name := p.found[0], "none is left; write its name"
	if likely != nil {
		name = likely.ID
	}
	why := c.Found
	if why == "" {
		why = "captured while no drop was awaited"
	}
	record := strings.TrimSpace("A record " + c.Name)
	p.ask = &question{
		text: fmt.Sprintf("%s: %s. Which drop is it? Enter = %s, - = none (leave it in the spool)", record, why, name),
		then: func(answer string) error { return p.belongs(answer, likely) },
	}
}

// belongs enters a found record as the drop named, or as the likely one.
func (p *towerPage) belongs(answer string, d *drop.Drop) error {
	c := p.found[0]
	switch answer = strings.TrimSpace(answer); answer {
	case "-":
		p.found = p.found[1:]
		return nil
	case "":
	default:
		v, err := p.a.Drop(p.ctx, p.file, answer)
		if err != nil {
			return err
		}
		d = &v.Drop
	}
	if d == nil {
		return fmt.Errorf("nothing planned is left; write the drop's name")
	}
	if err := p.take(*d, c); err != nil {
		return err
	}
	p.found = p.found[1:]
	return nil
}

// take enters the drop and shows it.
func (p *towerPage) take(d drop.Drop, c *app.Captured) error {
	in := p.opts
	in.Drop, in.Capture, in.Name, in.Original, in.Remarks, in.By = d, c.ID, c.Name, c.Original, c.Remarks, p.by
	t, err := p.a.Take(p.ctx, p.file, in)
	if err != nil {
		return err
	}
	p.taken, p.settled, p.phase, p.next = t, "", reading, t.Next
	p.quiet.Reset()
	p.release(c)
	return nil
}

// judge takes the keys of a drop that is shown.
func (p *towerPage) judge(k string) error {
	switch k {
	case "enter":
		if p.settled != "" {
			return p.advance()
		}
		if p.untold() {
			return fmt.Errorf("the record does not tell the outcome: press h held, b broke, p slipped or v void")
		}
		return p.decide(drop.Outcome(p.taken.Outcome), drop.Unsaid, "confirmed at the tower, as proposed")
	case "v":
		p.ask = &question{text: "Void, because:", then: func(why string) error { return p.decide(drop.Void, drop.Unsaid, why) }}
	case "b":
		p.ask = &question{text: "Broke where? b body, k knot, s stitching, e edge, c connector, Enter = not said; then a remark if wanted", then: p.broke}
	case "h":
		p.ask = &question{text: "Held, because:", then: func(why string) error { return p.decide(drop.Held, drop.Unsaid, orSeen(why)) }}
	case "p":
		p.ask = &question{text: "Slipped, because:", then: func(why string) error { return p.decide(drop.Slipped, drop.Unsaid, orSeen(why)) }}
	case "n":
		return p.advance()
	default:
		return fmt.Errorf("key %s does nothing here; ? shows the keys", k)
	}
	return nil
}

func orSeen(why string) string {
	if strings.TrimSpace(why) == "" {
		return "seen at the tower"
	}
	return why
}

func (p *towerPage) broke(answer string) error {
	letter, why, _ := strings.Cut(strings.TrimSpace(answer), " ")
	for _, place := range []drop.Place{drop.Body, drop.Knot, drop.Stitching, drop.Edge, drop.Connector} {
		if letter != "" && strings.HasPrefix(string(place), strings.ToLower(letter)) {
			return p.decide(drop.Broke, place, orSeen(why))
		}
	}
	if letter != "" {
		return fmt.Errorf("place %q is not known; write b, k, s, e or c first", letter)
	}
	return p.decide(drop.Broke, drop.Unsaid, "seen at the tower")
}

func (p *towerPage) decide(o drop.Outcome, place drop.Place, why string) error {
	if _, err := p.a.Decide(p.ctx, p.file, drop.Decision{Drop: p.taken.Drop.ID, Outcome: o, Place: place, Reason: strings.TrimSpace(why), By: p.by}); err != nil {
		return err
	}
	p.settled = string(o)
	if place != drop.Unsaid {
		p.settled += " (" + string(place) + ")"
	}
	if o == drop.Void {
		p.settled += ": " + strings.TrimSpace(why)
	}
	return nil
}

// undo takes the last decision on the drop that is shown back, or on the one shown last.
func (p *towerPage) undo() error {
	if p.taken == nil {
		return fmt.Errorf("no drop was taken yet; hardcatch undo takes earlier decisions back")
	}
	_, d, err := p.a.Undo(p.ctx, p.file, p.taken.Drop.ID, p.by)
	if err != nil {
		return err
	}
	p.settled = string(d.Outcome)
	p.message = fmt.Sprintf("drop %s: the last decision is taken back", p.taken.Drop.ID)
	if p.phase == preparing {
		p.phase = reading
	}
	return nil
}

// answer takes the keys of a question.
func (p *towerPage) answer(k string) {
	q := p.ask
	switch k {
	case "enter":
		p.ask = nil
		if err := q.then(q.typed); err != nil {
			p.message = err.Error()
		}
		if p.ask == nil {
			p.askFor()
		}
	case "esc", "ctrl+c":
		if len(p.found) > 0 && k == "ctrl+c" {
			p.quit = true
		}
		p.ask = nil
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
