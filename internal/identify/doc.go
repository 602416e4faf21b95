// Package identify fits the chain of a campaign to its own records: what its textiles, knots and rig are, how much its specimens differ, and what cannot be
// told.
package identify
