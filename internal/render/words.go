package render

// inventedLine is said wherever a number of an invented campaign stands.
const inventedLine = "Invented scenario: simulated records, no real product."

// reminder stands beside each table of results.
const reminder = "For a rigid mass on this rig; not an injury threshold, not a certification test. See the cautions at the front."

type paragraph struct{ Head, Text string }

// plainWords explains the report to somebody who has never seen a drop test.
func plainWords() []paragraph {
	return []paragraph{
		{"What was done", "A heavy, rigid mass was lifted, let go, and stopped by a sling, lanyard, cord or rope (the specimen). An instrument at the anchor wrote down the pull many thousand times a second. Each such fall is called a drop. Drops under the same conditions make up a cell."},
		{"What the peak force is", "The hardest pull during the stop. It is given in kilonewtons (kN); 1 kN is the weight of about 102 kg. The figure after ± says how far the true value may lie from the printed one: in about 95 of 100 such statements it lies within."},
		{"What held and broke mean", "A specimen that held stopped the mass. Its peak is the force of that stop; its strength is at least that much. A specimen that broke parted before the stop was over. Its peak (marked ≥) is how strong it was, but the full stop would have pulled harder still. That is why broken specimens are not averaged with those that held."},
		{"What an interval and a break probability say", "A few drops show only a little. The interval of a mean and the range of the break probability say what is still possible after so few: if none of 4 broke, up to 60 in 100 could still break."},
		{"What the numbers do not mean", "They do not say what a person would feel or survive: a body is soft, hangs in a harness and is hurt by other things than the peak force. They do not hold for other makes, lengths, knots, ages or heights than those tested. They do not say that a product is safe, or that it is fit for any use."},
		{"What is checked", "Every record is held against things that physics does not allow to be otherwise, such as the weight of the mass hanging at the end. A record that fails is shown, with what may be wrong. A drop is set aside (void) only with a stated reason, and stays in this report."},
	}
}

type term struct{ Word, Meaning string }

// glossary lists the words of the trade as they are used here.
func glossary() []term {
	return []term{
		{"arrest", "from taut to the first time the force returns to zero, or to the break"},
		{"audit", "checks of a record against physics it cannot escape: weight at rest, impulse, flight time, energy, quiet stretch, length of the peak"},
		{"break probability", "share of specimens of this kind that would break in this drop; its range is the exact binomial (Clopper-Pearson) interval"},
		{"campaign", "a planned set of drops that answers a stated question"},
		{"cells", "each one combination of factor levels: same material, length, knot, fall and so on"},
		{"CFC", "channel frequency class: a standard low-pass filter (ISO 6487, SAE J211-1) run forward and backward so that it does not shift the record in time"},
		{"check drop", "a drop on a reference element, repeated over days, to show that the rig has not changed"},
		{"coverage, k", "the share of such statements that should hold, and the factor from standard to expanded uncertainty that gives it"},
		{"drop", "one release of the mass on one specimen"},
		{"elongation", "how far the attachment of the mass has moved since taut; it includes the give of rig and anchor"},
		{"expanded uncertainty (±)", "standard uncertainty times k"},
		{"fall height", "free fall before the specimen comes taut"},
		{"fall factor", "fall height over the specimen's working length"},
		{"held, broke, slipped, void", "how a drop ended: stopped the mass; parted; let go slowly; not valid, with a reason"},
		{"limit", "a rated strength or an arrest-force limit, with its source; never an injury threshold"},
		{"lower bound (≥)", "the true value is at least this: the peak of a specimen that broke is a lower bound of its arrest force"},
		{"peak force", "largest force during the arrest"},
		{"reduction", "the numbered, reproducible way from a record to measures"},
		{"rig", "tower, anchor, load cell, amplifier, logger and mass, with their calibration"},
		{"specimen", "one physical item; it is retired after its drop"},
		{"standard uncertainty (u)", "the standard deviation that describes how well a value is known (JCGM 100:2008)"},
		{"t interval", "mean ± t s/√n: where the mean of many such drops lies, at the stated confidence, if peaks scatter normally"},
		{"taut", "the moment the specimen begins to pull"},
		{"time to peak", "from taut to the peak force"},
	}
}
