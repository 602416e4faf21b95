package plan

// Random is the generator of the run order, kept here so that a seed gives the same order with every version of
// the program on every machine: SplitMix64. Source: Steele, Lea and Flood, Fast splittable pseudorandom number
// generators, OOPSLA 2014.
type Random struct{ state uint64 }

// NewRandom starts from a seed.
func NewRandom(seed uint64) *Random { return &Random{seed} }

// Uint64 is the next number.
func (r *Random) Uint64() uint64 {
	r.state += 0x9e3779b97f4a7c15
	z := r.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Below is a number from 0 to n-1, every one as likely; n > 0.
func (r *Random) Below(n int) int {
	if n <= 0 {
		panic("plan: Below needs a positive number")
	}
	m := uint64(n)
	// Numbers below 2^64 mod n would make the first residues likelier.
	least := -m % m
	for {
		if v := r.Uint64(); v >= least {
			return int(v % m)
		}
	}
}

// shuffle puts s in random order (Fisher and Yates).
func shuffle[T any](r *Random, s []T) {
	for i := len(s) - 1; i > 0; i-- {
		j := r.Below(i + 1)
		s[i], s[j] = s[j], s[i]
	}
}
