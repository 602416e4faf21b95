package foresee

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"runtime"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/look"
)

var usual = SampleSizeOptions{Ratio: 1.2, CV: 0.08, Power: 0.8, Alpha: 0.05, N: 3, Break: 0.3, Runs: 450, Seed: 5}

func TestSampleSizeIsTheSameOnAnyNumberOfCores(t *testing.T) {
	var texts [2][]byte
	for i, cores := range []int{1, 4} {
		before := runtime.GOMAXPROCS(cores)
		r, err := SampleSizeFor(context.Background(), &look.Access{}, usual)
		runtime.GOMAXPROCS(before)
		if err != nil {
			t.Fatal(err)
		}
		if texts[i], err = json.Marshal(r); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(texts[0], texts[1]) {
		t.Errorf("%s\n%s", texts[0], texts[1])
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := SampleSizeFor(ctx, &look.Access{}, usual); !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "stopped by you") {
		t.Error(err)
	}
}

// 5 a group are R's 4.2266 rounded up; with breaks it cannot be fewer than with none, here it is more.
func TestSampleSizeWithBreaksAsksForMore(t *testing.T) {
	o := usual
	o.Counts = &[2]float64{0.5, 0.51}
	r, err := SampleSizeFor(context.Background(), &look.Access{}, o)
	if err != nil {
		t.Fatal(err)
	}
	if r.Peaks.N != 5 || r.Censored == nil || r.Censored.N == nil || *r.Censored.N < 5 || *r.Censored.N > 10 || r.Censored.AtN < 0.8 || r.Censored.Power > r.Peaks.Power {
		t.Errorf("%+v %+v", r.Peaks, r.Censored)
	}
	if r.Counts == nil || r.Counts.N != nil || !strings.Contains(r.Counts.Why, "measure forces") {
		t.Errorf("%+v", r.Counts)
	}
	if len(r.Warnings) == 0 || !strings.Contains(r.Warnings[0], "large-sample limit") {
		t.Error(r.Warnings)
	}
	// A difference that is too small for what is searched is said, and no number is given.
	o.Ratio, o.CV, o.Runs, o.Counts = 1.01, 0.5, 200, nil
	if r, err = SampleSizeFor(context.Background(), &look.Access{}, o); err != nil || r.Censored.N != nil || !strings.Contains(r.Censored.Statement, "Even 200 a group are not enough") {
		t.Errorf("%+v %v", r, err)
	}
}

func TestSampleSizeRefusals(t *testing.T) {
	for want, change := range map[string]func(*SampleSizeOptions){
		"a ratio of 1:": func(o *SampleSizeOptions) { o.Ratio = 1 }, "a ratio of -1": func(o *SampleSizeOptions) { o.Ratio = -1 },
		"a power of 80": func(o *SampleSizeOptions) { o.Power = 80 }, "alpha 0 ": func(o *SampleSizeOptions) { o.Alpha = 0 },
		"1 specimens": func(o *SampleSizeOptions) { o.N = 1 }, "a scatter of 8": func(o *SampleSizeOptions) { o.CV = 8 },
		"a break probability of 1 ": func(o *SampleSizeOptions) { o.Break = 1 }, "10 runs": func(o *SampleSizeOptions) { o.Runs = 10 },
		"up to 250":         func(o *SampleSizeOptions) { o.N, o.Counts = 251, &[2]float64{0.1, 0.2} },
		"are no difference": func(o *SampleSizeOptions) { o.Counts = &[2]float64{0.1, 0.1} },
	} {
		o := usual
		change(&o)
		if _, err := SampleSizeFor(context.Background(), &look.Access{}, o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
