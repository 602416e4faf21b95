package day

import (
	"context"
	"strings"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// in refuses an order that belongs to another phase.
func (d *Day) in(p Phase, what string) error {
	if d.state.Phase != p {
		return message.Say("%s is not possible now: the day is at %q, it needs %q", what, d.state.Phase, p).Error()
	}
	return nil
}

// Toggle goes round the answers of the question of that number, from 1: open, done, not applicable where that may be
// said. With a reason the question is skipped.
func (d *Day) Toggle(number int, skip string) (State, error) {
	return d.do(func() error {
		if err := d.in(Preparing, "answering"); err != nil {
			return err
		}
		if number < 1 || number > len(d.list.Items) {
			return message.Say("there is no question %d; choose 1 to %d", number, len(d.list.Items)).Error()
		}
		item := &d.list.Items[number-1]
		skip = strings.TrimSpace(skip)
		if item.Key == drop.ZeroStable && skip == "" {
			if item.State != drop.CheckSkipped {
				return message.Say("question %d is answered by the program alone: wait for 1 s of quiet, or skip it with a reason", number).Error()
			}
			item.State, item.Reason, d.stored, d.judged = drop.CheckOpen, "", false, nil
			return nil
		}
		d.auto[item.Key], d.stored = false, false
		if skip != "" {
			item.State, item.Reason = drop.CheckSkipped, skip
			return nil
		}
		item.Reason = ""
		switch {
		case item.State == drop.CheckOpen || item.State == drop.CheckSkipped:
			item.State = drop.CheckDone
		case item.State == drop.CheckDone && !drop.CheckQuestions()[number-1].Always:
			item.State = drop.CheckNotApplicable
		default:
			item.State = drop.CheckOpen
		}
		return nil
	})
}

// Arm stores the checklist and waits for the trigger.
func (d *Day) Arm(ctx context.Context) (State, error) {
	return d.do(func() error {
		if err := d.in(Preparing, "arming"); err != nil {
			return err
		}
		if d.state.Next.Drop == nil {
			return message.Say("not armed: nothing planned is left; enter more with: hardcatch enter %s plan.csv --planned", message.Own(d.file)).Error()
		}
		if err := d.propose(ctx); err != nil {
			return err
		}
		if open := d.list.Open(); len(open) > 0 {
			var names []string
			for _, k := range open {
				names = append(names, string(k))
			}
			return message.Say("not armed: answer %s, or skip with a reason", message.Names(strings.Join(names, ", "))).Error()
		}
		if d.recording {
			return message.Say("not armed: a force above the trigger is being recorded; wait until the record has ended").Error()
		}
		if d.state.Ended {
			return message.Say("not armed: the source has ended; look at it and start again").Error()
		}
		if !d.stored {
			d.list.By = d.opts.By
			if _, err := EnterChecklist(ctx, d.a, d.file, d.list); err != nil {
				return err
			}
			d.stored = true
		}
		if err := d.live.Arm(); err != nil {
			return err
		}
		d.state.Phase, d.swings = Armed, false
		return nil
	})
}

// Disarm goes back to the checklist. The capture goes on watching: a fall that nobody awaits is kept all the same.
func (d *Day) Disarm() (State, error) {
	return d.do(func() error {
		if err := d.in(Armed, "disarming"); err != nil {
			return err
		}
		d.state.Phase = Preparing
		return nil
	})
}

// Fire triggers by hand.
func (d *Day) Fire() (State, error) {
	return d.do(func() error {
		if err := d.in(Armed, "triggering by hand"); err != nil {
			return err
		}
		return d.live.Fire()
	})
}

// Finish ends the record that is being taken, before its time.
func (d *Day) Finish() (State, error) {
	return d.do(func() error {
		if err := d.in(Armed, "ending a record"); err != nil {
			return err
		}
		if !d.recording {
			return message.Say("nothing is being recorded yet; disarm to go back").Error()
		}
		return d.live.Finish()
	})
}

// Onward turns from a drop that was read to the next, or leaves the one that is prepared for later.
func (d *Day) Onward(ctx context.Context) (State, error) {
	return d.do(func() error {
		if d.state.Phase == Armed {
			return d.in(Preparing, "going on")
		}
		if d.state.Phase == Preparing && d.state.Next.Drop != nil {
			d.later[d.state.Next.Drop.ID] = true
		}
		return d.advance(ctx)
	})
}

// Decide enters what a person settles about the drop that is shown. The outcome empty confirms what is proposed.
func (d *Day) Decide(ctx context.Context, o drop.Outcome, place drop.Place, why string) (State, error) {
	return d.do(func() error {
		if err := d.in(Reading, "deciding"); err != nil {
			return err
		}
		why = strings.TrimSpace(why)
		t := d.state.Taken
		refined := o == drop.Broke && d.state.Settled == string(drop.Broke) // says where it broke
		if d.state.Settled != "" && !refined {
			return message.Say("drop %s is decided; take that back first, with a reason", message.Own(t.Drop.ID)).Error()
		}
		if refined && why == "" {
			why = d.state.Why
		}
		if t.Audit == reduce.Disagrees && why == "" {
			return message.Say("the audit disagrees with the record of drop %s: look at it first, then decide with a reason", message.Own(t.Drop.ID)).Error()
		}
		if o == "" {
			o = drop.Outcome(t.Outcome)
			if _, err := drop.ParseOutcome(string(o)); err != nil || o == "" {
				return message.Say("the record does not tell the outcome: say held, broke, slipped or void").Error()
			}
			why = "confirmed at the tower, as proposed"
		}
		if why == "" && o != drop.Void {
			why = "seen at the tower"
		}
		if o != drop.Broke {
			place = drop.Unsaid
		}
		x := drop.Decision{Drop: t.Drop.ID, Outcome: o, Place: place, Reason: why, By: d.opts.By}
		if _, err := app.Decide(ctx, d.a, d.file, x); err != nil {
			return err
		}
		d.settle(x)
		return d.freshen(ctx)
	})
}

// settle shows what stands decided.
func (d *Day) settle(x drop.Decision) {
	if x.Withdrawn {
		x = drop.Decision{}
	}
	d.state.Settled, d.state.Place, d.state.Why = string(x.Outcome), x.Place, x.Reason
}

// freshen reads again what a decision changes in what is shown about the drop: its cell, and which drop is next.
func (d *Day) freshen(ctx context.Context) error {
	t, err := d.state.Taken.again(ctx, d.a, d.file)
	if err != nil {
		return err
	}
	d.state.Taken = t
	return nil
}

// Withdraw takes the last decision on the drop taken last back, for a reason, and shows it.
func (d *Day) Withdraw(ctx context.Context, why string) (State, error) {
	return d.do(func() error {
		if d.state.Taken == nil {
			return message.Say("no drop was taken yet; earlier decisions are taken back on the page of their drop").Error()
		}
		_, x, err := app.Withdraw(ctx, d.a, d.file, d.state.Taken.Drop.ID, d.opts.By, why)
		if err != nil {
			return err
		}
		d.settle(x)
		d.state.Message = message.Say("drop %s: the last decision is taken back", message.Own(d.state.Taken.Drop.ID))
		if d.state.Phase == Preparing {
			d.state.Phase = Reading
		}
		return d.freshen(ctx)
	})
}

// Assign enters the first record that belongs to no drop yet as the drop named; without a name it stays in the spool.
func (d *Day) Assign(ctx context.Context, id string) (State, error) {
	return d.do(func() error {
		if len(d.found) == 0 {
			return message.Say("no record waits to be told its drop").Error()
		}
		if d.state.Phase == Armed {
			return d.in(Preparing, "entering a found record")
		}
		if id = strings.TrimSpace(id); id != "" {
			x, err := dropNamed(ctx, d.a, d.file, id)
			if err != nil {
				return err
			}
			if err := d.take(ctx, x, d.found[0]); err != nil {
				return err
			}
		}
		d.found, d.state.Found = d.found[1:], d.state.Found[1:]
		return nil
	})
}

// Name sets who works at the tower from now on; an empty name changes nothing.
func (d *Day) Name(by string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if by = strings.TrimSpace(by); by != "" {
		d.opts.By, d.state.By = by, by
	}
}
