package cli

import (
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/message"
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/reduce"
)

// screen is the page as lines of at most width characters. Nothing is told by colour.
func (p *towerPage) screen(width int) []string {
	body, foot := p.parts(width)
	return append(append(body, ""), foot...)
}

// parts are what may scroll and what must always be seen: force, trouble, message, question and keys.
func (p *towerPage) parts(width int) (body, foot []string) {
	width = max(width, 40)
	to := &body
	say := func(format string, args ...any) { *to = append(*to, fold(fmt.Sprintf(format, args...), width)...) }
	switch {
	case p.help:
		sayAll(say, keyHelp())
	case p.state.Phase == day.Preparing:
		p.sayNext(say)
		if p.state.Next.Drop != nil {
			p.sayList(say)
		}
	case p.state.Phase == day.Armed:
		p.sayArmed(say, width)
	case p.state.Phase == day.Reading:
		p.sayTaken(say, width)
	}
	to = &foot
	if v, highest := p.force.last(); v != nil && !p.help {
		say("%s", bar(*v, highest, width))
	}
	for _, t := range p.state.Trouble {
		say("! source: %s", t)
	}
	if p.state.Ended {
		say("! THE SOURCE GIVES NOTHING MORE. Look at it and start again; what was captured is kept.")
	}
	if m := p.message(); m != "" {
		say("> %s", m)
	}
	if p.ask != nil {
		say("? %s", p.ask.text)
		say("  %s_", p.ask.typed)
		return body, foot
	}
	if n := len(p.state.Found); n > 0 {
		say("! [r] %d records wait to be told their drops", n)
		if f := p.state.Found[0]; f.Stray {
			say("  %s %s", f.Name, f.Why)
		}
	}
	if p.state.Entering {
		say("The record is being reduced and entered.")
	} else {
		say("%s", p.keysNow())
	}
	return body, foot
}

// fold breaks a line at blanks; what follows stands two further in than the line.
func fold(line string, width int) []string {
	rest := []rune(line)
	indent := ""
	for _, r := range rest {
		if r != ' ' {
			break
		}
		indent += " "
	}
	var out []string
	for len(rest) > width {
		at := width
		for at > len(indent)+2 && rest[at] != ' ' {
			at--
		}
		if at <= len(indent)+2 {
			at = width
		}
		out = append(out, strings.TrimRight(string(rest[:at]), " "))
		rest = []rune(indent + "  " + strings.TrimLeft(string(rest[at:]), " "))
	}
	return append(out, string(rest))
}

// keysNow lists the keys that do something here.
func (p *towerPage) keysNow() string {
	phase, settled := p.state.Phase, p.state.Settled != ""
	var out []string
	add := func(key, short string) { out = append(out, "["+key+"] "+short) }
	if phase == day.Preparing && p.state.Next.Drop == nil {
		add("n", "look again")
	}
	if phase == day.Preparing && p.state.Next.Drop != nil {
		add(day.NumberKeys(len(p.state.Items)), "answer")
	}
	for _, k := range day.Keys() {
		switch {
		case k.Phase != phase:
		case phase == day.Preparing && p.state.Next.Drop == nil && k.Key != "u":
		case k.Key == "u" && p.state.Taken == nil:
		case phase == day.Reading && settled && k.Key != "n" && k.Key != "u":
		case k.Also == "Enter" && (p.untold() || p.state.Taken.Audit == reduce.Disagrees), k.Key == "u" && phase == day.Reading && !settled:
		case k.Also == "Enter":
			add(k.Also, k.Short)
		case k.Key == "n" && settled && phase == day.Reading:
			add("n", "NEXT")
		default:
			add(k.Key, k.Short)
		}
	}
	if p.help {
		return "[?] back"
	}
	if phase == day.Reading && !settled { // the line is full
		return strings.Join(append(out, "[?]"), "  ")
	}
	add("q", "quit")
	add("?", "keys")
	return strings.Join(out, "  ")
}

// untold tells that the record of the drop shown proposes no outcome.
func (p *towerPage) untold() bool {
	return p.state.Taken == nil || p.state.Taken.Outcome == "" || p.state.Taken.Outcome == reduce.Undecided
}

func keyHelp() []string {
	var out []string
	list := func(title string, phase day.Phase, numbers, does string) {
		out = append(out, title)
		if numbers != "" {
			out = append(out, fmt.Sprintf("  %-8s %s", numbers, does))
		}
		for _, k := range day.Keys() {
			if k.Phase == phase {
				name := k.Key
				if k.Also != "" {
					name += ", " + k.Also
				}
				out = append(out, fmt.Sprintf("  %-8s %s", name, k.Does))
			}
		}
	}
	list("BEFORE THE DROP", day.Preparing, day.NumberKeys(len(drop.CheckQuestions())), "answer a question: done, not applicable, open")
	list("ARMED", day.Armed, "", "")
	list("AFTER THE DROP", day.Reading, "", "")
	return append(out,
		"  r        say to which drop a found record belongs",
		"  q        quit;  Esc leaves a question;  arrow keys move a long page",
		"Results: rigid mass on this rig; no injury thresholds, no certification test.")
}

func sayAll(say func(string, ...any), lines []string) {
	for _, l := range lines {
		say("%s", l)
	}
}

func specimenWords(d drop.Drop) string {
	sp := d.Specimen
	var parts []string
	add := func(s string) {
		if s != "" {
			parts = append(parts, s)
		}
	}
	add(strings.TrimSpace(sp.Material + " " + sp.Construction))
	add(sp.Knot)
	add(sp.Conditioning)
	if sp.Length > 0 {
		add("length " + sp.Length.Text(3))
	}
	fall := "fall " + d.Fall.Text(3)
	if sp.Length > 0 {
		fall += ", fall factor " + d.FallFactor().Text(3)
	}
	add(fall)
	if d.Mass > 0 {
		add("mass " + d.Mass.Text(3))
	}
	for _, k := range sortedKeys(d.Factors) {
		add(k + " " + d.Factors[k])
	}
	return strings.Join(parts, ", ")
}

func (p *towerPage) sayNext(say func(string, ...any)) {
	n := p.state.Next
	if n.Drop == nil {
		say("%s", message.Text("NOTHING PLANNED IS LEFT. %d {drop has|drops have} a record.", n.Taken))
		return
	}
	kind := ""
	if n.Drop.Role == drop.Check {
		kind = "CHECK "
	}
	say("NEXT %sDROP %s   SPECIMEN %s   (%d to go, %d taken)", kind, n.Drop.ID, n.Drop.Specimen.ID, n.Left, n.Taken)
	say("  %s", specimenWords(*n.Drop))
	say("")
}

func (p *towerPage) sayList(say func(string, ...any)) {
	say("BEFORE THE DROP")
	for i, q := range drop.CheckQuestions() {
		item := p.state.Items[i]
		state := map[drop.CheckState]string{drop.CheckDone: "done   ", drop.CheckSkipped: "SKIPPED", drop.CheckNotApplicable: "n/a    ", drop.CheckOpen: "  ?    "}[item.State]
		text := fmt.Sprintf("  %d [%s] %s", i+1, state, q.Text)
		if item.Reason != "" {
			text += ": " + item.Reason
		}
		if item.Found != "" {
			text += " (" + item.Found + ")"
		}
		say("%s", text)
	}
}

func (p *towerPage) sayArmed(say func(string, ...any), width int) {
	d := p.state.Next.Drop
	v, highest := p.force.last()
	word := "ARMED"
	switch {
	case p.state.Entering:
		word = "RECORDED"
	case v != nil && v.State == "triggered":
		word = "RECORDING"
	}
	say("%s: drop %s, specimen %s", word, d.ID, d.Specimen.ID)
	say("  %s", specimenWords(*d))
	say("  KEEP CLEAR of the mass and of the recoil path.")
	say("")
	if v != nil && v.Unit != "" {
		say("  The force is not known while it is recorded: the source gives %s and the rig has no calibration in it.", v.Unit)
		return
	}
	sayAll(say, figures(quantity.Force(highest), "", width))
	say("  highest force since arming")
}

// figures is a force in kN, large where there is room for it.
func figures(f quantity.Force, sign string, width int) []string {
	text := fmt.Sprintf("%s%.2f", sign, f.SI()/1000)
	for _, wide := range []int{3, 2, 1} {
		block := blockText(text, wide)
		if len([]rune(block[0]))+5 > width {
			continue
		}
		for i := range block {
			block[i] = "  " + block[i]
		}
		block[len(block)-1] += " kN"
		return block
	}
	return []string{"  " + text + " kN"}
}

func (p *towerPage) sayTaken(say func(string, ...any), width int) {
	t := p.state.Taken
	if t.Drop.Invented() {
		say("INVENTED SCENARIO: simulated records, no real product.")
	}
	say("DROP %s   SPECIMEN %s   %s", t.Drop.ID, t.Drop.Specimen.ID, p.standing())
	if t.Peak == nil {
		say("  No peak: %s", t.Problem)
	} else {
		sign := ""
		if t.LowerBound || t.CutOff {
			sign = "≥"
		}
		say("")
		sayAll(say, figures(*t.Peak, sign, width))
		say("")
		p.sayPeak(say)
	}
	for _, r := range t.Remarks {
		say("  While recording: %s", r)
	}
	for _, w := range t.Warnings {
		say("  Warning: %s", w)
	}
	if t.Cell != nil {
		p.sayCell(say)
	}
	if n := t.Next.Drop; n != nil {
		say("Next: drop %s, specimen %s; %d to go", n.ID, n.Specimen.ID, t.Next.Left)
	} else {
		say("Next: nothing planned is left")
	}
	for _, k := range t.Failing {
		say("  ! %s %s: %s", k.Name, k.Verdict, k.Meaning)
	}
	if p.state.Settled == "" && t.Audit == reduce.Disagrees {
		say("LOOK FIRST: the audit disagrees. Look at mass, fall height and record; then h, b, s or v, with a reason.")
	}
	switch {
	case len(t.Evidence) == 0:
	case p.untold():
		say("What the record tells:")
	default:
		say("Why %s is proposed:", t.Outcome)
	}
	for _, e := range t.Evidence {
		say("  - %s", e)
	}
}

// standing is what is proposed or decided about the drop.
func (p *towerPage) standing() string {
	if p.state.Settled == "" {
		if p.untold() {
			return "THE RECORD DOES NOT TELL THE OUTCOME"
		}
		return "PROPOSED: " + strings.ToUpper(string(p.state.Taken.Outcome))
	}
	out := "DECIDED: " + p.state.Settled
	if p.state.Place != drop.Unsaid {
		out += " (" + string(p.state.Place) + ")"
	}
	if p.state.Settled == string(drop.Void) {
		out += ": " + p.state.Why
	}
	return strings.ToUpper(out)
}

func (p *towerPage) sayPeak(say func(string, ...any)) {
	t := p.state.Taken
	scale := ""
	if !t.ScaleKnown {
		scale = "; ± leaves the force scale out: it is not known"
	}
	say("Peak %s, k = %.3g, %g %%%s; %s, %s, rigid mass on this rig", quantity.WithU(*t.Peak, *t.Expanded), t.K, 100*t.Coverage, scale, t.Rate.Text(3), t.Filter)
	switch {
	case t.Rebuilt != nil:
		lo, hi := reduce.Outward(*t.Rebuilt)
		say("  The record does not show the peak: %s to %s, rebuilt from momentum; at least %s was measured.", lo, hi, *t.Peak)
	case t.CutOff:
		say("  The record does not show the peak: it is at least this.")
	case t.LowerBound:
		say("  The specimen let go: its arrest force is at least this.")
	}
	audit := "Audit: " + strings.ToUpper(string(t.Audit))
	for i, k := range t.Failing {
		audit += map[bool]string{true: " – ", false: "; "}[i == 0] + k.Name
	}
	say("%s", audit)
}

func (p *towerPage) sayCell(say func(string, ...any)) {
	c := p.state.Taken.Cell
	name := c.Name
	if name == "" {
		name = "all drops"
	}
	counts := fmt.Sprintf("n = %d (%d held, %d broke, %d slipped), %d void, %d planned", c.N, c.Held, c.Broke, c.Slip, c.Void, c.Planned)
	mean := ""
	if c.Mean != nil {
		mean = "; mean of those that held " + c.Mean.String()
		if c.MeanIsLowerBound {
			mean += ", which the arrest force is at least"
		}
	}
	say("Cell %s: %s%s", name, counts, mean)
	say("  This drop: %s", c.Text)
}

// bar shows the force of the last stretch on a scale that grows with it.
func bar(v day.LiveView, highest float64, width int) string {
	if v.Missing {
		return "FORCE  no samples come"
	}
	if v.Unit != "" {
		return fmt.Sprintf("SIGNAL %.4g [%.4g to %.4g] %s  %s", v.Last.SI(), v.Min.SI(), v.Max.SI(), v.Unit, v.State)
	}
	text := fmt.Sprintf("FORCE %s [%s to %s] ", v.Last.Text(3), v.Min.Text(2), v.Max.Text(2))
	top := 1000.0
	for _, step := range []float64{2000, 5000, 10000, 20000, 50000, 100000, 200000} {
		if max(highest, v.Max.SI()) > top {
			top = step
		}
	}
	end := fmt.Sprintf("| %g kN  %s", top/1000, v.State)
	room := max(8, width-len([]rune(text))-len([]rune(end)))
	at := func(f quantity.Force) int { return max(0, min(room, int(f.SI()/top*float64(room)+0.5))) }
	lo, hi := at(v.Min), at(v.Max)
	hi = max(hi, min(room, lo+1))
	return text + strings.Repeat("·", lo) + strings.Repeat("█", hi-lo) + strings.Repeat("·", room-hi) + end
}
