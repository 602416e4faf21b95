package lsq

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// strd is a set of NIST's Statistical Reference Datasets.
type strd struct {
	level   string
	starts  [2][]float64
	b, sd   []float64 // certified
	rss     float64
	y       []float64
	x       [][]float64
	entries int
}

func numbers(t *testing.T, fields []string) []float64 {
	t.Helper()
	var out []float64
	for _, f := range fields {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, v)
	}
	return out
}

func readStRD(t *testing.T, path string) (s strd) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	inData := false
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		switch {
		case len(f) == 0:
		case strings.Contains(line, "Level of Difficulty"):
			s.level = f[0]
		case len(f) == 6 && f[0][0] == 'b' && f[1] == "=":
			v := numbers(t, f[2:])
			s.starts[0], s.starts[1] = append(s.starts[0], v[0]), append(s.starts[1], v[1])
			s.b, s.sd = append(s.b, v[2]), append(s.sd, v[3])
		case strings.HasPrefix(line, "Residual Sum of Squares:"):
			s.rss = numbers(t, f[4:])[0]
		case strings.HasPrefix(line, "Number of Observations:"):
			s.entries = int(numbers(t, f[3:])[0])
		case f[0] == "Data:" && len(s.b) > 0:
			inData = true
		case inData:
			v := numbers(t, f)
			s.y, s.x = append(s.y, v[0]), append(s.x, v[1:])
		}
	}
	if len(s.y) != s.entries || s.entries == 0 {
		t.Fatalf("%s: %d rows read, %d stated", path, len(s.y), s.entries)
	}
	return s
}

func exponentials(b []float64, x float64) float64 {
	return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-b[3]*x) + b[4]*math.Exp(-b[5]*x)
}

func gaussians(b []float64, x float64) float64 {
	p, q := (x-b[3])/b[4], (x-b[6])/b[7]
	return b[0]*math.Exp(-b[1]*x) + b[2]*math.Exp(-p*p) + b[5]*math.Exp(-q*q)
}

func decay(b []float64, x float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) }

// models of the sets, as their files state them.
var models = map[string]func(b []float64, x float64) float64{
	"BoxBOD":   func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Misra1a":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Misra1b":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Pow(1+b[1]*x/2, -2)) },
	"Misra1c":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Pow(1+2*b[1]*x, -0.5)) },
	"Misra1d":  func(b []float64, x float64) float64 { return b[0] * b[1] * x / (1 + b[1]*x) },
	"Chwirut1": decay, "Chwirut2": decay,
	"DanWood": func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
	"ENSO": func(b []float64, x float64) float64 {
		w := 2 * math.Pi * x
		return b[0] + b[1]*math.Cos(w/12) + b[2]*math.Sin(w/12) + b[4]*math.Cos(w/b[3]) + b[5]*math.Sin(w/b[3]) + b[7]*math.Cos(w/b[6]) + b[8]*math.Sin(w/b[6])
	},
	"Gauss1": gaussians, "Gauss2": gaussians, "Gauss3": gaussians,
	"Kirby2":   func(b []float64, x float64) float64 { return (b[0] + x*(b[1]+x*b[2])) / (1 + x*(b[3]+x*b[4])) },
	"Lanczos1": exponentials, "Lanczos2": exponentials, "Lanczos3": exponentials,
	"MGH09":    func(b []float64, x float64) float64 { return b[0] * x * (x + b[1]) / (x*(x+b[2]) + b[3]) },
	"MGH17":    func(b []float64, x float64) float64 { return b[0] + b[1]*math.Exp(-x*b[3]) + b[2]*math.Exp(-x*b[4]) },
	"Rat43":    func(b []float64, x float64) float64 { return b[0] / math.Pow(1+math.Exp(b[1]-b[2]*x), 1/b[3]) },
	"Roszman1": func(b []float64, x float64) float64 { return b[0] - b[1]*x - math.Atan(b[2]/(x-b[3]))/math.Pi },
	"Thurber": func(b []float64, x float64) float64 {
		return (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / (1 + x*(b[4]+x*(b[5]+x*b[6])))
	},
}

// problem is the set as a problem with differences for slopes.
func (s *strd) problem(name string) *Problem {
	return &Problem{M: len(s.y), N: len(s.b), Residuals: func(b, r []float64) {
		for i, y := range s.y {
			if name == "Nelson" {
				r[i] = math.Log(y) - (b[0] - b[1]*s.x[i][0]*math.Exp(-b[2]*s.x[i][1]))
			} else {
				r[i] = y - models[name](b, s.x[i][0])
			}
		}
	}}
}

// NIST StRD, nonlinear regression: from both starts, six digits of every parameter and of its standard deviation, and of the residual sum
// of squares where that is not of the size of what rounding leaves (Lanczos1: certified 1.43e-25).
func TestStRD(t *testing.T) {
	files, err := filepath.Glob("testdata/strd/*.dat")
	if err != nil || len(files) != 22 {
		t.Fatalf("%d sets, %v", len(files), err)
	}
	levels := map[string]int{}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".dat")
		s := readStRD(t, file)
		levels[s.level]++
		for k, start := range s.starts {
			f, err := NewSolver(s.problem(name)).Solve(start)
			if err != nil {
				t.Errorf("%s from start %d: %v", name, k+1, err)
				continue
			}
			worst := 16.0
			for j, b := range s.b {
				worst = math.Min(worst, digits(f.X[j], b))
			}
			spread := 16.0
			for j, sd := range s.sd {
				spread = math.Min(spread, digits(f.SD(j, f.ResidualSD()), sd))
			}
			rss := digits(f.RSS, s.rss)
			t.Logf("%-9s %-7s start %d: parameters %.1f, standard deviations %.1f, sum of squares %.1f digits, %d steps", name, s.level, k+1, worst, spread, rss, f.Steps)
			if s.rss < 1e-20 {
				spread, rss = 6, 6
			}
			if worst < 6 || spread < 6 || rss < 6 || !f.Converged {
				t.Errorf("%s from start %d: %.1f digits of the parameters, %.1f of their standard deviations, %.1f of the sum of squares; converged %v, %v", name, k+1, worst, spread, rss, f.Converged, f.X)
			}
		}
	}
	if levels["Lower"] == 0 || levels["Average"] == 0 || levels["Higher"] == 0 {
		t.Errorf("levels %v", levels)
	}
}
