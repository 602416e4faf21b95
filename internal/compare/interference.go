package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
)

// Interference is the probability that an arrest force passes a strength, both spread.
type Interference struct {
	Probability float64 `json:"probability"` // by integration
	Drawn       float64 `json:"monte_carlo"` // the same by draws
	DrawnSE     float64 `json:"monte_carlo_se"`
	// Lo and Hi are the 2.5 % and 97.5 % points over the uncertainty of both fits, at 95 % confidence.
	Lo         float64 `json:"lo"`
	Hi         float64 `json:"hi"`
	Confidence float64 `json:"confidence"`
}

// spreadForce is a force whose logarithm is normal with mean mu and standard deviation sigma.
type spreadForce struct{ mu, sigma float64 }

// passes is P(A > S) = integral of phi(z) F_S(exp(mu + sigma z)) dz by the trapezoidal rule over |z| <= 9 (beyond lies
// less than 3e-19), which converges faster than any power for integrands that are smooth and vanish at both ends.
// Load-strength interference; the closed form for two lognormal distributions is Phi((mu_A - mu_S)/hypot(sigma_A, sigma_S)).
func passes(a spreadForce, strengthCDF func(forceN float64) float64) float64 {
	const half, steps = 9.0, 720
	h := 2 * half / steps
	sum := 0.0
	for i := range steps + 1 {
		z := -half + float64(i)*h
		sum += math.Exp(-z*z/2) * strengthCDF(math.Exp(a.mu+a.sigma*z))
	}
	return math.Min(1, sum*h/math.Sqrt(2*math.Pi))
}

// interference integrates, draws, and spreads the answer over the uncertainty of the fits: again gives the
// arrest force and the strength of one draw of the fitted parameters.
func interference(a spreadForce, cdf func(float64) float64, quantile func(float64) float64, again func(*rand.Rand) (spreadForce, func(float64) float64), confidence float64, seed uint64) (Interference, error) {
	const draws, refits = 20000, 1000
	rng := rand.New(rand.NewPCG(seed, 0x5eed))
	out := Interference{Probability: passes(a, cdf), Confidence: confidence}
	hits := 0
	for range draws {
		if math.Exp(a.mu+a.sigma*rng.NormFloat64()) > quantile(1-rng.Float64()) {
			hits++
		}
	}
	out.Drawn = float64(hits) / draws
	// The standard error of the true share, so that no hit at all is no certainty.
	out.DrawnSE = math.Sqrt(math.Max(out.Probability*(1-out.Probability), 0.25/draws) / draws)
	if math.Abs(out.Drawn-out.Probability) > 6*out.DrawnSE {
		return out, fmt.Errorf("integration gives a probability of %.4g and draws give %.4g: the program is wrong here, please report it with the data", out.Probability, out.Drawn)
	}
	p := make([]float64, refits)
	for i := range p {
		b, s := again(rng)
		p[i] = passes(b, s)
	}
	sort.Float64s(p)
	tail := (1 - confidence) / 2
	out.Lo, out.Hi = p[int(tail*refits)], p[min(refits-1, int(math.Ceil((1-tail)*refits)))]
	return out, nil
}
