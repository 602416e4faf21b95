package joint

import (
	"math"

	"github.com/hardcatch/hardcatch/internal/num/uncert"
)

const logRoot2Pi = 0.9189385332046727418

// logTail is log P(Z > z), Z standard normal; beyond 37 by the first terms of Mills' series.
func logTail(z float64) float64 {
	if z > 35 {
		return -z*z/2 - logRoot2Pi - math.Log(z) - 1/(z*z)
	}
	return math.Log(math.Erfc(z/math.Sqrt2) / 2)
}

// hazard is density over tail.
func hazard(z float64) float64 { return math.Exp(-z*z/2 - logRoot2Pi - logTail(z)) }

// scoreOfHazard is the normal score of a value below which the share 1 - exp(-h) lies, of the nearer tail.
func scoreOfHazard(h float64) float64 {
	h = math.Min(math.Max(h, 1e-300), 690)
	if h < math.Ln2 {
		return uncert.NormalQuantile(-math.Expm1(-h))
	}
	return -uncert.NormalQuantile(math.Exp(-h))
}

// legendre are the positive nodes of Gauss and Legendre's rule of 20 points and their weights (Abramowitz and Stegun, table 25.4).
var legendre = [10][2]float64{
	{0.0765265211334973, 0.1527533871307258}, {0.2277858511416451, 0.1491729864726037}, {0.3737060887154195, 0.1420961093183820}, {0.5108670019508271, 0.1316886384491766},
	{0.6360536807265150, 0.1181945319615184}, {0.7463319064601508, 0.1019301198172404}, {0.8391169718222188, 0.0832767415767048}, {0.9122344282513259, 0.0626720483341091},
	{0.9639719272779138, 0.0406014298003869}, {0.9931285991850949, 0.0176140071391521},
}

// orthant is P(A > a, B > b) of standard normal A and B with the correlation rho: the product of the tails, and the integral of the density over the correlation from 0
// to rho, with the correlation as a sine (Drezner and Wesolowsky, J. Stat. Comput. Simul. 35 (1990) 101-107; recalled). Absolute error below 1e-9 for |rho| up to
// 0.95; never below 1e-300.
func orthant(a, b, rho float64) float64 {
	half := math.Asin(rho) / 2
	sum := 0.0
	for _, l := range legendre {
		for _, side := range []float64{-1, 1} {
			t := half * (1 + side*l[0])
			c := math.Cos(t)
			sum += l[1] * math.Exp(-(a*a+b*b-2*a*b*math.Sin(t))/(2*c*c))
		}
	}
	return math.Max(1e-300, math.Exp(logTail(a)+logTail(b))+half*sum/(2*math.Pi))
}
