package reduce

import (
	"strings"
	"testing"
)

func asJudged(day string, scale, height float64, v Verdict) Dated {
	return Dated{day, &Judgement{Verdict: v, Off: []Off{{OffScale, "", scale, 0.004, v != Agrees}, {OffHeight, "m", height, 0.02, false}}}}
}

// Three drops that agree on the first day and four that read 2.1 % high from the third on: mean 2.1 %, sd 0.0816 %, so that
// u = sqrt(0.0816^2/4 + (0.4/2)^2) = 0.204 %, twice 0.41 %.
func TestOffSinceADay(t *testing.T) {
	list := []Dated{
		asJudged("2026-03-01", 0.001, 0, Agrees), asJudged("2026-03-01", -0.001, 0, Agrees), asJudged("2026-03-01", 0, 0, Agrees), {"2026-03-02", nil},
		asJudged("2026-03-03", 0.020, 0, Disagrees), asJudged("2026-03-03", 0.022, 0, Disagrees), asJudged("2026-03-04", 0.021, 0, Doubtful), asJudged("2026-03-04", 0.021, 0, Agrees),
	}
	says := Together(list)
	if len(says) != 1 || says[0].String() != "all records together: the force reads 2.1 % ± 0.41 % too high, or the mass is entered too low, on the 4 drops since 2026-03-03" {
		t.Errorf("%v", says)
	}
	// The other way round in time: those before are off.
	for i := range list {
		list[i].Day = map[string]string{"2026-03-01": "2026-03-09"}[list[i].Day] + strings.TrimPrefix(list[i].Day, "2026-03-01")
	}
	if says := Together(list); len(says) != 1 || !strings.HasSuffix(says[0].String(), "on the 4 drops before 2026-03-09") {
		t.Errorf("%v", says)
	}
}

func TestOffOnAllAndOnNone(t *testing.T) {
	low := func(n int, v Verdict) (list []Dated) {
		for range n {
			d := asJudged("", 0, -0.2, v)
			d.Judgement.Off[0].Explains, d.Judgement.Off[1].Explains = false, v != Agrees
			list = append(list, d)
		}
		return list
	}
	if says := Together(low(3, Disagrees)); len(says) != 1 || says[0].String() != "all records together: the mass fell 200 mm ± 20 mm less than entered, on all 3 drops that can tell" {
		t.Errorf("%v", says)
	}
	if says := Together(low(2, Disagrees)); says != nil {
		t.Errorf("two drops: %v", says)
	}
	if says := Together(low(5, Agrees)); says != nil {
		t.Errorf("none contradicts: %v", says)
	}
}

// 80 kg hung where 100 kg were entered: the record reads 0.8 times what it should, and nothing else is off.
func TestAHeavyErrorIsNamed(t *testing.T) {
	s := wexlerSettings()
	s.Mass = 100
	r, err := Reduce(traceOf(5000, 0.3, 1.5, wexler.force), s)
	if err != nil {
		t.Fatal(err)
	}
	j := r.Judgement
	if j == nil || j.Verdict != Disagrees || !j.Off[0].Explains {
		t.Fatalf("%+v", j)
	}
	near(t, "by", j.Off[0].By, -0.2, 0, 3*j.Off[0].U)
	// 0.6 m fallen where 0.5 m were entered.
	s = wexlerSettings()
	s.Fall = 0.5
	if r, err = Reduce(traceOf(5000, 0.3, 1.5, wexler.force), s); err != nil {
		t.Fatal(err)
	}
	if j = r.Judgement; j.Verdict != Disagrees || !j.Off[1].Explains {
		t.Fatalf("%+v", j)
	}
	near(t, "by", j.Off[1].By, 0.1, 0, 3*j.Off[1].U)
}
