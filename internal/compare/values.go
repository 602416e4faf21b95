package compare

import (
	"github.com/hardcatch/hardcatch/internal/num/censor"
)

// Counts tells that a drop is one of those that statistics are made of: a trial that was made, has a valid outcome, and is the first that counts of its
// specimen. MarkAgain has to have been called.
func (e Entry) Counts() bool { return e.counted() && !e.Again }

// Strength is the drop's strength in N: seen where the specimen broke, at least the peak where it did not. ok is false where the drop shows neither.
func (e Entry) Strength() (v censor.Value, ok bool) { return e.Row().strength() }

// Arrest is the drop's arrest force in N: seen where it held, between two bounds where the top was rebuilt, at least the peak where it did not hold or the
// record does not show its peak. ok is false where the drop shows nothing.
func (e Entry) Arrest() (v censor.Value, ok bool) { return e.Row().arrest() }

// OfTheFall tells that a factor belongs to the fall and not to the specimen, so that the strength is taken not to depend on it.
func OfTheFall(factor string) bool { return ofTheFall[factor] }
