package web_test

import (
	"context"
	"fmt"
	"html"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/store"
)

// swing is the record of 100 kg that fall 0.9 m into a damped spring (invented): time and force, N, every 0.1 ms for 6 s.
func swing() []float64 {
	const m, k, c, g, dt = 100, 80e3, 900, 9.81, 1e-4
	out := make([]float64, 60000)
	x, v := -0.9, 0.0
	for i := range out {
		if i < 5000 {
			continue // before the release
		}
		f := 0.0
		if x > 0 {
			f = math.Max(k*x+c*v, 0)
		}
		v += (g - f/m) * dt
		x += v * dt
		out[i] = f
	}
	return out
}

// written gives every so many samples of a force, in kN, with noise of a few newtons.
func written(every int, force []float64, of func(i int, f float64) string) string {
	var b strings.Builder
	b.WriteString("time [s],force [kN]\n")
	for i := 0; i < len(force); i += every {
		noise := 2 * math.Sin(float64(i)*float64(i)*0.37)
		fmt.Fprintf(&b, "%.4f,%s\n", float64(i)*1e-4, of(i, force[i]+noise))
	}
	return b.String()
}

// The page of a drop whose record hides its peak, contradicts itself, or does not tell the drop at all, holds no English in
// German and French and no decimal point.
func TestHiddenPeaksInTheReadersLanguage(t *testing.T) {
	t.Parallel()
	force := swing()
	top := 0
	for i, f := range force {
		if f > force[top] {
			top = i
		}
	}
	kN := func(f float64) string { return strconv.FormatFloat(f/1000, 'f', 4, 64) }
	near := func(i, reach int) bool { return i > top-reach && i < top+reach }
	cases := []struct {
		every  int
		record func(i int, f float64) string
		shows  string // in the German page
	}{
		{1, func(_ int, f float64) string { return kN(math.Min(f, 0.8*force[top])) }, "zeigt die Spitze nicht (übersteuert von"},
		{1, func(i int, f float64) string {
			if near(i, 60) {
				return ""
			}
			return kN(f)
		}, "zeigt die Spitze nicht (verloren von"},
		{200, func(_ int, f float64) string { return kN(f) }, "schneller abtasten"},
		{1, func(_ int, f float64) string { return kN(1.2 * f) }, "durch Zufall wäre nur eine von"},
		{1, func(i int, f float64) string { // a pull before the release
			if i > 500 && i < 2500 {
				f = 0.9 * force[top]
			}
			return kN(f)
		}, "sagt nicht, welches Auffangen"},
		{1, func(_ int, f float64) string { return kN(f) }, "kein Widerspruch; diese Aufzeichnung allein"},
	}
	list := "drop,specimen,material,fall,length,record\n"
	files := fstest.MapFS{}
	for i, c := range cases {
		name := fmt.Sprintf("r%d.csv", i)
		list += fmt.Sprintf("d%d,s%d,polyester,0.9 m,1 m,%s\n", i, i, name)
		files[name] = &fstest.MapFile{Data: []byte(written(c.every, force, c.record))}
	}
	a, ctx, path := newApp(), context.Background(), filepath.Join(t.TempDir(), "hidden.hardcatch")
	s, err := a.Files.Create(ctx, path, store.Campaign{Name: "invented", Question: "which pages speak", Invented: true, Created: today})
	if err := look.Within(s, err, func(store.Store) error { return nil }); err != nil {
		t.Fatal(err)
	}
	if _, err := app.SetRig(ctx, a, path, "rig.yaml", strings.NewReader("name: invented\nmass: 100 kg\nlatitude: 50.9 deg\n")); err != nil {
		t.Fatal(err)
	}
	if _, err := app.Enter(ctx, a, path, "drops.csv", strings.NewReader(list), files, app.EnterOptions{Filter: reduce.DefaultFilter}); err != nil {
		t.Fatal(err)
	}
	srv := start(t, path)
	english := regexp.MustCompile(`<[a-z]+ lang="en"[^>]*>[^<]*`)
	point := regexp.MustCompile(`.{0,40}\d\.\d.{0,40}`)
	tag := regexp.MustCompile(`<[^>]*>`)
	for i, c := range cases {
		for _, lang := range []string{"de", "fr"} {
			_, page := srv.ask(t, "GET", fmt.Sprintf("/drops/d%d", i), "", "Accept-Language: "+lang)
			_, page, _ = strings.Cut(page, "<main")
			page, _, _ = strings.Cut(page, "</main>")
			if m := english.FindString(page); m != "" {
				t.Errorf("%s, d%d: left in English: %s", lang, i, m)
			}
			text := html.UnescapeString(tag.ReplaceAllString(page, " "))
			if m := point.FindString(text); m != "" {
				t.Errorf("%s, d%d: a decimal point in %q", lang, i, m)
			}
			if lang == "de" && !strings.Contains(text, c.shows) {
				t.Errorf("d%d lacks %q:\n%s", i, c.shows, regexp.MustCompile(`\s+`).ReplaceAllString(text, " "))
			}
		}
	}
}
