package figure

import (
	"fmt"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		most   int
		want   string
	}{
		{0, 10, 5, "0 2 4 6 8 10"}, {0, 17.3, 8, "0 5 10 15"}, {0, 1, 5, "0.0 0.2 0.4 0.6 0.8 1.0"}, {-4, 70, 10, "0 10 20 30 40 50 60 70"},
		{-2, 2, 4, "\u22122 \u22121 0 1 2"}, {0, 0.003, 3, "0.000 0.001 0.002 0.003"}, {0, 4.9e6, 5, "0 1000000 2000000 3000000 4000000"},
		{5, 5, 4, ""}, {0, math.NaN(), 4, ""}, {0, math.Inf(1), 4, ""},
	} {
		var got []string
		for _, m := range ticks(c.lo, c.hi, c.most) {
			got = append(got, m.text)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%g to %g: %q, want %q", c.lo, c.hi, got, c.want)
		}
	}
}

func TestTicksAreOneTwoFive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// An axis far from zero for its size would leave no digits to tell its ticks apart.
		size := math.Pow(10, rapid.Float64Range(-4, 6).Draw(t, "size"))
		lo := size * rapid.Float64Range(-1000, 1000).Draw(t, "lo")
		hi := lo + size
		most := rapid.IntRange(2, 12).Draw(t, "most")
		m := ticks(lo, hi, most)
		if len(m) > most+1 || len(m) < 1 && most > 4 {
			t.Fatalf("%d ticks for at most %d steps", len(m), most)
		}
		for i := range m {
			if m[i].v < lo-1e-6*(hi-lo) || m[i].v > hi+1e-6*(hi-lo) {
				t.Fatalf("%g is outside %g to %g", m[i].v, lo, hi)
			}
		}
		if len(m) > 1 {
			step := m[1].v - m[0].v
			lead := step / math.Pow(10, math.Floor(math.Log10(step)+1e-6))
			if math.Abs(lead-1) > 1e-3 && math.Abs(lead-2) > 2e-3 && math.Abs(lead-5) > 5e-3 {
				t.Fatalf("step %g", step)
			}
		}
	})
}

func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12).Draw(t, "n")
		want, half := make([]float64, n), make([]float64, n)
		for i := range want {
			want[i], half[i] = rapid.Float64Range(0, 500).Draw(t, "want"), rapid.Float64Range(1, 12).Draw(t, "half")
		}
		got := spread(want, half, 2, 0, 500)
		for i := range got {
			if got[i] < half[i]-1e-9 || got[i] > 500-half[i]+1e-9 {
				t.Fatalf("place %d at %g is outside", i, got[i])
			}
			for j := range got {
				if i != j && math.Abs(got[i]-got[j]) < half[i]+half[j]+2-1e-9 {
					t.Fatalf("%d and %d overlap", i, j)
				}
				if want[i] < want[j] && got[i] > got[j] {
					t.Fatalf("%d and %d changed places", i, j)
				}
			}
		}
	})
	// By hand: two labels of half width 5 that want the same place stand 5 to each side of it.
	if got := spread([]float64{50, 50}, []float64{5, 5}, 0, 0, 100); !reflect.DeepEqual(got, []float64{45, 55}) {
		t.Errorf("got %v", got)
	}
	if got := spread([]float64{50, 50, 50}, []float64{50, 50, 50}, 0, 0, 100); got[0] >= got[1] || got[1] >= got[2] {
		t.Errorf("without room: %v", got)
	}
}

// Relative luminance and contrast as WCAG 2.2 defines them (recalled): black on white is 21.
func TestContrast(t *testing.T) {
	lum := func(hex string) float64 {
		var c [3]int
		if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &c[0], &c[1], &c[2]); err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for i, w := range []float64{0.2126, 0.7152, 0.0722} {
			v := float64(c[i]) / 255
			if v <= 0.04045 {
				v /= 12.92
			} else {
				v = math.Pow((v+0.055)/1.055, 2.4)
			}
			sum += w * v
		}
		return sum
	}
	between := func(a, b string) float64 {
		x, y := lum(a), lum(b)
		return (max(x, y) + 0.05) / (min(x, y) + 0.05)
	}
	contrast := func(hex string) float64 { return between(hex, "#ffffff") }
	if c := contrast("#000000"); math.Abs(c-21) > 1e-9 {
		t.Fatalf("black on white is %g", c)
	}
	for _, c := range append([]string{ink, soft, teal, iron, plum, slate}, series...) {
		if contrast(c) < 4.5 {
			t.Errorf("%s has a contrast of %.2f", c, contrast(c))
		}
	}
	// WCAG 2.2, 1.4.3 and 1.4.11: 4.5 for text, 3 for what has to be seen.
	told := "| role | | light | dark | sunlight |\n|---|---|---|---|---|\n"
	for _, roles := range []struct {
		names []string
		least float64
	}{{TextRoles, 4.5}, {LineRoles, 3}} {
		for _, r := range roles.names {
			told += fmt.Sprintf("| `%s` | %g |", r, roles.least)
			for _, th := range Themes {
				least := math.Inf(1)
				for _, ground := range Grounds {
					least = min(least, between(th.Roles[r], th.Roles[ground]))
				}
				if least < roles.least {
					t.Errorf("%s, %s: contrast %.2f, want %g", th.Name, r, least, roles.least)
				}
				told += fmt.Sprintf(" `%s` %.1f |", th.Roles[r], math.Floor(10*least)/10)
			}
			told += "\n"
		}
	}
	for _, th := range Themes {
		if c := between(th.Roles["on-act"], th.Roles["act"]); c < 4.5 {
			t.Errorf("%s: words on a button %.2f", th.Name, c)
		}
	}
	page, err := os.ReadFile("../../docs/look.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(page), told) {
		t.Errorf("docs/look.md does not hold the colours as they are:\n%s", told)
	}
}

func TestTextStaysInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[ -~äöüß°±≥]{0,80}`).Draw(t, "s")
		w := rapid.Float64Range(12, 300).Draw(t, "w")
		for _, line := range wrap(s, 8.5, false, w, rapid.IntRange(0, 3).Draw(t, "most")) {
			if textWidth(line, 8.5, false) > w {
				t.Fatalf("%q is %g wide, %g allowed", line, textWidth(line, 8.5, false), w)
			}
		}
		if got := fit(s, 8.5, true, w); textWidth(got, 8.5, true) > w {
			t.Fatalf("%q is too wide", got)
		}
	})
	for s, want := range map[string][]string{
		"aaa bbb ccc": {"aaa bbb", "ccc"}, "anchor EN 795:2012": {"anchor", "EN 795:2…"}, "": nil,
	} {
		if got := wrap(s, 10, false, 60, 0); !reflect.DeepEqual(got, want) {
			t.Errorf("%q: %q", s, got)
		}
	}
	if got := wrap("one two three four", 10, false, 40, 1); len(got) != 1 || !strings.HasSuffix(got[0], "…") {
		t.Errorf("cut text: %q", got)
	}
}

// By hand: of points on a straight line only the ends stay; a corner stays.
func TestSimplify(t *testing.T) {
	line := []point{{0, 0}, {1, 1}, {2, 2}, {3, 3}}
	if got := simplify(line); !reflect.DeepEqual(got, []point{{0, 0}, {3, 3}}) {
		t.Errorf("line: %v", got)
	}
	corner := []point{{0, 0}, {1, 0}, {2, 0}, {2, 1}, {2, 2}}
	if got := simplify(corner); !reflect.DeepEqual(got, []point{{0, 0}, {2, 0}, {2, 2}}) {
		t.Errorf("corner: %v", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		var p []point
		for i := range rapid.IntRange(1, 60).Draw(t, "n") {
			p = append(p, point{float64(i), rapid.Float64Range(0, 20).Draw(t, "y")})
		}
		kept := simplify(p)
		for _, q := range p {
			near := math.Inf(1)
			for i := 1; i < len(kept); i++ {
				near = math.Min(near, distance(q, kept[i-1], kept[i]))
			}
			if len(p) > 1 && near > tolerance {
				t.Fatalf("%v lies %g from the line", q, near)
			}
		}
	})
}

func TestLetters(t *testing.T) {
	for i, want := range map[int]string{0: "a", 25: "z", 26: "aa", 27: "ab", 701: "zz", 702: "aaa"} {
		if got := letters(i); got != want {
			t.Errorf("%d: %s, want %s", i, got, want)
		}
	}
}

func TestSafeIDsStayDifferent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.String().Draw(t, "a"), rapid.String().Draw(t, "b")
		if a != b && safeID(a) == safeID(b) {
			t.Fatalf("%q and %q are both %q", a, b, safeID(a))
		}
	})
}

func TestNumbersOfPlaces(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -0.001: "0", 1.5: "1.5", 1.05: "1.05", -2.345: "-2.35", 100: "100", 0.999: "1"} {
		w := &svgWriter{}
		if w.num(v); string(w.buf) != want {
			t.Errorf("%g: %s, want %s", v, w.buf, want)
		}
	}
	if fixed(-0.001, 2) != "0.00" || fixed(-0.01, 2) != "-0.01" {
		t.Error("the sign of nothing")
	}
}
