package drop

import (
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
)

// What stands first stays; equal neighbours are one stretch; the list is in order and without overlap.
func TestMaskByHand(t *testing.T) {
	var m Mask
	m = m.With(Stretch{10, 20, Lost, "gap"})
	m = m.With(Stretch{20, 22, Lost, "gap"})
	m = m.With(Stretch{5, 25, Saturated, ""})
	m = m.With(Stretch{40, 40, Lost, ""})
	m = m.With(Stretch{40, 44, Measured, ""})
	want := Mask{{5, 10, Saturated, ""}, {10, 22, Lost, "gap"}, {22, 25, Saturated, ""}}
	if len(m) != len(want) {
		t.Fatalf("%v, want %v", m, want)
	}
	for i := range want {
		if m[i] != want[i] {
			t.Errorf("%v, want %v", m[i], want[i])
		}
	}
	if c := m.Count(8, 24); c != (EvidenceCounts{Saturated: 4, Lost: 12}) {
		t.Errorf("%+v", c)
	}
	if c := m.Count(0, 30); c.Measured != 10 || c.Whole() {
		t.Errorf("%+v", c)
	}
	if m.At(4) != Measured || m.At(5) != Saturated || m.At(21) != Lost || m.At(22) != Saturated || m.At(25) != Measured {
		t.Error("a sample is not what its stretch says")
	}
	b, err := json.Marshal(Stretch{1, 2, OutOfRange, "says OVER"})
	if err != nil || string(b) != `{"from":1,"to":2,"is":"out of range","why":"says OVER"}` {
		t.Errorf("%s %v", b, err)
	}
	var s Stretch
	if err := json.Unmarshal(b, &s); err != nil || s != (Stretch{1, 2, OutOfRange, "says OVER"}) {
		t.Errorf("%+v %v", s, err)
	}
	if json.Unmarshal([]byte(`{"is":"guessed"}`), &s) == nil {
		t.Error("a kind that is none was read")
	}
}

// Held against a plain array in which each sample keeps what it was called first.
func TestMaskAgainstAnArray(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var plain [60]Evidence
		var m Mask
		for range rapid.IntRange(0, 12).Draw(t, "stretches") {
			s := Stretch{From: rapid.IntRange(0, 59).Draw(t, "from"), Is: Evidence(rapid.IntRange(0, 4).Draw(t, "is"))}
			s.To = rapid.IntRange(0, 60).Draw(t, "to")
			m = m.With(s)
			for i := s.From; i < s.To; i++ {
				if plain[i] == Measured {
					plain[i] = s.Is
				}
			}
		}
		last := 0
		for i, s := range m {
			if s.From < last || s.To <= s.From || i > 0 && s.From == last && s.Is == m[i-1].Is {
				t.Fatalf("not in order, or not joined: %v", m)
			}
			last = s.To
		}
		var c EvidenceCounts
		for i, e := range plain {
			if m.At(i) != e {
				t.Fatalf("sample %d is %v, want %v in %v", i, m.At(i), e, m)
			}
			switch e {
			case Measured:
				c.Measured++
			case Bridged:
				c.Bridged++
			case Saturated:
				c.Saturated++
			case Lost:
				c.Lost++
			case OutOfRange:
				c.OutOfRange++
			}
		}
		if got := m.Count(0, 60); got != c {
			t.Fatalf("%+v, want %+v", got, c)
		}
	})
}
