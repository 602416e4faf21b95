// Package day is a day at the tower: checklist, arming, capture and decision of one drop after the other.
package day

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/hardcatch/hardcatch/internal/acquire"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
)

// Phase is where a day at the tower stands.
type Phase string

// The phases.
const (
	Preparing Phase = "preparing" // checklist of the next drop
	Armed     Phase = "armed"     // waits for the trigger, or records
	Reading   Phase = "reading"   // the last drop is shown
)

// State is what a page of the day shows. The JSON names are stable: names are added, never changed.
type State struct {
	Version int              `json:"version"` // grows with each change
	Phase   Phase            `json:"phase"`
	Next    look.Next        `json:"next"`
	Items   []drop.CheckItem `json:"checklist"`
	Taken   *Taken           `json:"taken"` // the drop taken last; null before the first
	// Expected is the plan's forecast for the next drop; null where there is none, or while it is worked out.
	Expected *Expected  `json:"expected"`
	Settled  string     `json:"settled"` // what was decided about it; empty = nothing
	Place    drop.Place `json:"settled_place"`
	Why      string     `json:"settled_why"`
	// Provisional is the largest force since the trigger as the load cell shows it, without filter and zero: what can be
	// said while the record is not complete. Null at any other time.
	Provisional *quantity.Force  `json:"provisional_N"`
	Entering    bool             `json:"entering"` // a record is being reduced and entered: no order is obeyed until it is there
	Trouble     []string         `json:"trouble"`  // last events of the source
	Found       []FoundRecord    `json:"found"`    // records that belong to no drop yet
	Message     message.Sentence `json:"message"`  // why the last order was not obeyed, or what was done
	Ended       bool             `json:"ended"`    // the source gives nothing more
	By          string           `json:"by"`       // who works at the tower; empty = not said
}

// FoundRecord is a captured record of which a person must say whose it is.
type FoundRecord struct {
	ID     string           `json:"id"`
	Name   string           `json:"name"`
	Why    message.Sentence `json:"why"`
	Likely string           `json:"likely"` // drop it most likely belongs to; may be empty
	Stray  bool             `json:"stray"`  // it came while no drop was awaited
}

// Day is a day at the tower: checklist, arming, capture and decision of one drop after the other. Its methods may be
// called from several goroutines; Follow is called once.
type Day struct {
	a    *look.Access
	file string
	live Live
	tell func(version int)

	early early

	mu        sync.Mutex
	opts      TakeInput // filter and reader of every drop
	state     State
	list      drop.Checklist
	auto      map[drop.CheckKey]bool // answered by the program, which takes it back when it no longer holds
	stored    bool                   // the list is in the campaign
	later     map[string]bool        // planned drops left for later
	quiet     QuietWatch
	swings    bool                 // after a drop the mass swings: its rebounds are no falls
	swung     quantity.Duration    // since when, where the force is not known
	recording bool                 // by the last view
	foreseen  map[string]*Expected // by drop
	unforesee func()               // ends the forecast that is being made
	judged    *quantity.Duration   // when the zero was judged last since the last drop; nil = not yet
	found     []*Captured
	gone      bool // the source is disconnected
}

// New begins a day with the next drop. tell is called after each change, without blocking; it may be nil. Of opts,
// the reader, the filter and By are those of every drop.
func New(ctx context.Context, a *look.Access, path string, live Live, opts TakeInput, tell func(version int)) (*Day, error) {
	d := &Day{a: a, file: path, live: live, opts: opts, tell: tell, later: map[string]bool{}, foreseen: map[string]*Expected{}, unforesee: func() {}}
	d.state.By = opts.By
	return d, d.advance(ctx)
}

// standBy lets the capture keep what falls while no drop is awaited, too. It belongs to no drop until a person says so.
func (d *Day) standBy() {
	if d.state.Ended || d.gone {
		return
	}
	if err := d.live.Arm(); err != nil {
		d.trouble("a fall that comes now is not kept: " + err.Error())
	}
}

// Moment is a copy of what is to be shown.
func (d *Day) Moment() State {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.copy()
}

func (d *Day) copy() State {
	s := d.state
	s.Items = append([]drop.CheckItem{}, d.list.Items...)
	s.Trouble = append([]string{}, s.Trouble...)
	s.Found = append([]FoundRecord{}, s.Found...)
	if s.Phase == Armed {
		s.Provisional = d.early.get()
	}
	return s
}

// do obeys one order and gives what is to be shown then. What was refused stands in Message, too.
func (d *Day) do(order func() error) (State, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.state.Message = nil
	err := errEntering
	if !d.state.Entering {
		err = order()
	}
	if err != nil {
		d.state.Message = message.Why(err)
	}
	d.changed()
	return d.copy(), err
}

var errEntering = message.Say("wait: the record is being reduced and entered").Error()

func (d *Day) changed() {
	d.state.Version++
	d.early.await(d.state.Phase == Armed)
	if d.tell != nil {
		d.tell(d.state.Version)
	}
}

// Follow takes what the capture says until it ends, and passes each view of the force on. Views go on while a drop is
// entered, which takes its time.
func (d *Day) Follow(ctx context.Context, see func(LiveView)) {
	rest := make(chan Signal, waiting)
	d.mu.Lock()
	d.standBy()
	d.mu.Unlock()
	go func() {
		defer close(rest)
		for s := range d.live.Signals() {
			if s.View == nil {
				rest <- s
				continue
			}
			see(d.early.add(*s.View))
			select {
			case rest <- s:
			default: // a view is what is; the next one tells as much
			}
		}
	}()
	for s := range rest {
		d.Hear(ctx, s)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.state.Ended = true
	d.unforesee()
	d.changed()
}

// Hear takes one thing that the capture says.
func (d *Day) Hear(ctx context.Context, s Signal) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.signal(ctx, s)
}

// mostTrouble is how many events of the source are shown.
const mostTrouble = 3

// Trouble adds an event of the source to those shown. Of slow disks only the latest word stays, so that they cannot push
// a loss or a broken connection out of sight.
func Trouble(shown []string, event string) []string {
	slow := string(acquire.Behind) + ":"
	out := make([]string, 0, len(shown)+1)
	for _, e := range shown {
		if !strings.HasPrefix(event, slow) || !strings.HasPrefix(e, slow) {
			out = append(out, e)
		}
	}
	out = append(out, event)
	return out[max(0, len(out)-mostTrouble):]
}

func (d *Day) trouble(text string) {
	d.state.Trouble = Trouble(d.state.Trouble, fmt.Sprintf("%s (%s)", text, d.a.Now().Format("15:04:05")))
}

func (d *Day) signal(ctx context.Context, s Signal) {
	switch {
	case s.View != nil:
		d.recording = s.View.State == string(acquire.Triggered)
		defer d.settled(*s.View)
		if !d.watchZero(ctx, *s.View) {
			return
		}
	case s.Event != "":
		if d.gone = strings.HasPrefix(s.Event, string(acquire.Disconnected)) || d.gone && !strings.HasPrefix(s.Event, string(acquire.Reconnected)); d.gone {
			d.quiet.Reset()
		}
		d.trouble(s.Event)
	case s.Ended != nil:
		d.state.Ended = true
		d.trouble("the source has ended: " + s.Ended.Error())
	case s.Drop != nil:
		d.recording = false
		d.captured(ctx, s.Drop)
		d.swings = true
	}
	d.changed()
}

// calmShare is the share of the last peak within which the middle of the force stays over a second once the mass hangs quietly, and
// calmAfter the time granted where the force is not known. Common practice, no source.
const (
	calmShare = 0.01
	calmAfter = quantity.Duration(10)
)

// settled stands by again once the mass of the drop before hangs quietly.
func (d *Day) settled(v LiveView) {
	if d.state.Phase == Armed || !d.swings || d.recording {
		return
	}
	if d.swung == 0 || v.At < d.swung {
		d.swung = v.At
	}
	if q := d.quiet.Seen(); v.Unit != "" && v.At-d.swung >= calmAfter || q != nil && q.For.SI() >= zeroFor-1e-6 && q.Range.SI()-2*q.Noise.SI() <= calmShare*d.reach() {
		d.swings, d.swung = false, 0
		d.standBy()
	}
}

// reach is the peak of the drop taken last, in N; 10 kN when it has none.
func (d *Day) reach() float64 {
	if t := d.state.Taken; t != nil && t.Peak != nil {
		return max(t.Peak.SI(), 1000)
	}
	return 10000
}

// lookAgain is how often the zero is judged, by the clock of the samples.
const lookAgain = quantity.Duration(1)

// watchZero looks at the zero and answers its question once enough was seen, and takes that back when it moves.
func (d *Day) watchZero(ctx context.Context, v LiveView) (changed bool) {
	if v.State == "triggered" || v.Missing || v.Unit != "" {
		d.quiet.Reset()
		return false
	}
	d.quiet.Add(v)
	q := d.quiet.Seen()
	if d.state.Phase != Preparing || d.state.Entering || d.state.Next.Drop == nil || q == nil || q.For.SI() < zeroFor-1e-6 {
		return false
	}
	if d.judged != nil && v.At >= *d.judged && v.At < *d.judged+lookAgain {
		return false
	}
	first, before := d.judged == nil, slices.Clone(d.list.Items)
	d.judged = &v.At
	if err := d.propose(ctx); err != nil {
		d.state.Message = message.Why(err)
		return true
	}
	// The numbers beside an answer are no change of which everybody must be told.
	return first || !slices.EqualFunc(before, d.list.Items, func(a, b drop.CheckItem) bool { return a.State == b.State })
}

// captured enters a drop. One that comes from the spool, or while none was awaited, needs to be told its name.
func (d *Day) captured(ctx context.Context, c *Captured) {
	why := c.Found
	if d.state.Phase == Armed && why == nil && d.state.Next.Drop != nil {
		err := d.take(ctx, *d.state.Next.Drop, c)
		if err == nil {
			return
		}
		d.state.Phase, d.state.Message = Preparing, message.Say("NOT in the campaign yet: %s", err)
		why = message.Say("captured, but not in the campaign yet")
	} else if c.Found != nil && c.ID != "" {
		if id, err := CaptureTaken(ctx, d.a, d.file, c.ID); err == nil && id != "" {
			d.state.Message = message.Say("the spool still held drop %s, which is in the campaign", message.Own(id))
			d.release(c)
			return
		}
	}
	if why == nil {
		d.stray(c)
		return
	}
	f := FoundRecord{ID: c.ID, Name: c.Name, Why: why}
	likely, err := AwaitedDrop(ctx, d.a, d.file)
	if err != nil {
		d.state.Message = message.Why(err)
	}
	if likely == nil {
		likely = d.state.Next.Drop
	}
	if likely != nil {
		f.Likely = likely.ID
	}
	d.found, d.state.Found = append(d.found, c), append(d.state.Found, f)
}

// stray keeps a record that nobody awaited. No drop is proposed for it: the mass may have been hung up, or somebody pulled.
func (d *Day) stray(c *Captured) {
	why := message.Say("captured at %s while no drop was awaited: a fall, or a load above the trigger. It is kept", d.a.Now().Format("15:04:05"))
	d.found, d.state.Found = append(d.found, c), append(d.state.Found, FoundRecord{ID: c.ID, Name: c.Name, Why: why, Stray: true})
	d.state.Message = why
}

// release tells the capture that the campaign holds a drop.
func (d *Day) release(c *Captured) {
	if c.Keep == nil {
		return
	}
	if err := c.Keep(); err != nil {
		d.trouble("the campaign holds the drop, but its spool could not be released: " + err.Error())
	}
}

// take enters the drop and shows it. Meanwhile the day can be looked at, but obeys no order.
func (d *Day) take(ctx context.Context, x drop.Drop, c *Captured) error {
	in := d.opts
	if c.Invented {
		x.Scenario = drop.InventedScenario
	}
	in.Drop, in.Capture, in.Name, in.Original, in.Remarks = x, c.ID, c.Name, c.Original, c.Remarks
	d.state.Entering = true
	d.changed()
	d.mu.Unlock()
	t, err := Take(ctx, d.a, d.file, in)
	d.mu.Lock()
	d.state.Entering = false
	if err != nil {
		return err
	}
	d.state.Taken, d.state.Phase, d.state.Next, d.state.Message = t, Reading, t.Next, nil
	d.settle(drop.Decision{})
	d.early.forget()
	d.quiet.Reset()
	d.release(c)
	return nil
}

// advance turns to the next drop that was not left for later; when all were, they come again. What happened to the source
// before stands in the logbook of the records it concerns; what lasts is still shown.
func (d *Day) advance(ctx context.Context) error {
	if !d.gone && !d.state.Ended {
		d.state.Trouble = nil
	}
	n, err := NextDrop(ctx, d.a, d.file, d.later)
	if err != nil {
		return err
	}
	if n.Drop != nil && d.later[n.Drop.ID] {
		clear(d.later) // all were left for later
	}
	d.state.Next, d.state.Phase, d.stored, d.judged = n, Preparing, false, nil
	d.list, d.auto = drop.Checklist{}, map[drop.CheckKey]bool{}
	if n.Drop == nil {
		return nil
	}
	d.list = drop.NewChecklist(n.Drop.ID)
	if err := d.foresee(ctx, *n.Drop); err != nil {
		return err
	}
	return d.propose(ctx)
}

// propose lets the program answer what it can; what a person answered stays.
func (d *Day) propose(ctx context.Context) error {
	in := ChecklistInput{Drop: *d.state.Next.Drop, Quiet: d.quiet.Seen()}
	if e := d.state.Expected; e != nil {
		in.Predicted = e.P95
	}
	seen, err := ProposeChecklist(ctx, d.a, d.file, in)
	if err != nil {
		return err
	}
	for i := range d.list.Items {
		item, s := &d.list.Items[i], seen.Items[i]
		if item.State == drop.CheckOpen || d.auto[item.Key] {
			item.State = s.State
			d.auto[item.Key] = s.State != drop.CheckOpen
		}
		item.Found = s.Found
	}
	return nil
}
