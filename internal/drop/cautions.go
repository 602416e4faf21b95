package drop

// Cautions are what every page, command and report says wherever a number could be acted on.
func Cautions() []string {
	return []string{
		"The result is for a rigid mass on this rig. A person's load, posture and injury differ.",
		"Limits shown are product and standard limits, not injury thresholds.",
		"New dry specimens of the named batch, unless stated. Wet, sunlight, age, edges, knots, hitches and earlier drops change the result. Extrapolation is marked.",
		"Strength is a distribution: number, interval and break probability are shown, not a yes or no.",
		"Sample rate, filter, rig frequency and speed method are stated with each peak.",
		"This is not a certification test. Keep people out of the recoil path and from under the mass; never use a person as test mass; retire every dropped specimen. Local codes, the maker's instructions and competent, licensed practice come first.",
	}
}
