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
	"github.com/hardcatch/hardcatch/internal/plan"
)

func TestStaircaseSaysNextAndRefuses(t *testing.T) {
	a := &look.Access{}
	o := StaircaseOptions{Shape: plan.NormalTolerance, Quantiles: []float64{0.05}, Confidence: 0.95}
	r, err := ReadStaircase(a, "s.csv", strings.NewReader("height [mm],outcome\n400,broke\n"), StaircaseOptions{Step: 0.5, Shape: o.Shape, Confidence: 0.95})
	if err != nil || r.Next.SI() != 0.4 || !strings.Contains(r.NextReason, "would leave no height") || len(r.Quantiles) != 0 || r.NoClassic == "" {
		t.Errorf("%+v %v", r, err)
	}
	if text, err := json.Marshal(r); err != nil || !bytes.Contains(text, []byte(`"mean_m":null`)) {
		t.Errorf("%s %v", text, err)
	}
	for text, want := range map[string]string{
		"height,outcome\n1 m,held\n": "s.csv: the height never changed",
		"height,outcome\n1 m,hled\n": "s.csv:2: column outcome",
	} {
		if _, err := ReadStaircase(a, "s.csv", strings.NewReader(text), o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
	good := "height,outcome\n1 m,held\n1.2 m,broke\n"
	for want, bad := range map[string]StaircaseOptions{
		"quantile 5":      {Shape: o.Shape, Quantiles: []float64{5}, Confidence: 0.95},
		"confidence 95":   {Shape: o.Shape, Confidence: 95},
		`shape "weibull"`: {Shape: "weibull", Confidence: 0.95},
	} {
		if _, err := ReadStaircase(a, "s.csv", strings.NewReader(good), bad); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func TestStaircaseSimulationIsTheSameOnAnyNumberOfCores(t *testing.T) {
	d := plan.UpDownDesign{Start: 1, Step: 0.2, N: 20, Mean: 1.4, SD: 0.3, Quantile: 0.05, Confidence: 0.95}
	var texts [2][]byte
	for i, cores := range []int{1, 4} {
		before := runtime.GOMAXPROCS(cores)
		r, err := SimulateStaircase(context.Background(), &look.Access{}, d, 230, 7)
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
	if _, err := SimulateStaircase(ctx, &look.Access{}, d, 1000, 7); !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "stopped by you") {
		t.Error(err)
	}
	if _, err := SimulateStaircase(context.Background(), &look.Access{}, d, 10, 7); err == nil {
		t.Error("10 runs were made")
	}
}
