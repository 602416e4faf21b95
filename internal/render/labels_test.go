package render

import (
	"bytes"
	"fmt"
	"html"
	"regexp"
	"strconv"
	"strings"
	"testing"

	qr "github.com/piglig/go-qr"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/plan"
)

func sheet(n int) *LabelSheet {
	s := &LabelSheet{Campaign: `Slings & "knots" <1>`, Question: "q", Invented: true, Seed: 7}
	for i := range n {
		s.Labels = append(s.Labels, Label{Run: plan.Run{Specimen: fmt.Sprintf("s%02d", i+1), Drop: fmt.Sprintf("d%02d", n-i), Order: n - i, Cell: i/3 + 1, Replicate: i%3 + 1, Day: 1, Batch: "A"}, Levels: "polyamide, sewn"})
	}
	return s
}

func TestLabelsHaveAllThatIsNeeded(t *testing.T) {
	var first, again bytes.Buffer
	if err := WriteLabels(&first, sheet(20)); err != nil {
		t.Fatal(err)
	}
	if err := WriteLabels(&again, sheet(20)); err != nil || !bytes.Equal(first.Bytes(), again.Bytes()) {
		t.Errorf("the same sheet gives other bytes, or %v", err)
	}
	page := first.String()
	for what, n := range map[string]int{`<section class="sheet">`: 2, `<article class="label">`: 20, `<svg class="qr"`: 20, "retire</span>": 20, `<b class="id">s07</b>`: 1, "run 14 · d14": 1, "cell 7, no. 2: polyamide, sewn": 1, "batch A": 20} {
		if got := strings.Count(page, what); got != n {
			t.Errorf("%q stands %d times, want %d", what, got, n)
		}
	}
	for _, c := range drop.Cautions() {
		if got := strings.Count(html.UnescapeString(page), c); got != 2 {
			t.Errorf("the caution %q stands %d times, want once on each page", c, got)
		}
	}
	if strings.Contains(page, "<1>") || strings.Contains(page, "http:") || strings.Contains(page, "https:") || strings.Contains(page, "<script") {
		t.Error("the page holds text that was not escaped, or needs something from outside")
	}
	if WriteLabels(&first, &LabelSheet{}) == nil || WriteLabels(&first, nil) == nil {
		t.Error("no labels were written without an error")
	}
	long := sheet(1)
	long.Campaign = strings.Repeat("long ", 1000)
	if err := WriteLabels(&first, long); err == nil || !strings.Contains(err.Error(), "shorter name") {
		t.Error(err)
	}
}

var piece = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`)

// Regression only: what the SVG paints is the library's own matrix, moved by the quiet border of four modules.
func TestQRPaintsTheMatrix(t *testing.T) {
	s := sheet(1)
	text := s.Code(s.Labels[0])
	if text != "s01\n"+s.Campaign {
		t.Errorf("%q", text)
	}
	svg, err := qrSVG(text)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		t.Fatal(err)
	}
	painted := map[[2]int]bool{}
	for _, m := range piece.FindAllStringSubmatch(string(svg), -1) {
		x, _ := strconv.Atoi(m[1])
		y, _ := strconv.Atoi(m[2])
		w, _ := strconv.Atoi(m[3])
		if m[3] != m[4] {
			t.Fatalf("%s is no closed row", m[0])
		}
		for i := range w {
			painted[[2]int{x + i - 4, y - 4}] = true
		}
	}
	n := 0
	for y := range code.Size() {
		for x := range code.Size() {
			if code.Module(x, y) {
				n++
			}
			if code.Module(x, y) != painted[[2]int{x, y}] {
				t.Fatalf("module %d, %d is painted %v", x, y, painted[[2]int{x, y}])
			}
		}
	}
	if len(painted) != n {
		t.Errorf("%d modules are painted, the code has %d dark ones", len(painted), n)
	}
	if want := fmt.Sprintf(`viewBox="0 0 %d %d"`, code.Size()+8, code.Size()+8); !strings.Contains(string(svg), want) {
		t.Errorf("no %s", want)
	}
}
