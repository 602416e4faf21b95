// Package acquire takes drops from a live stream of samples.
//
// A Source delivers blocks of samples and events; a Session spools every sample to disk, then shows it, watches
// for the trigger, and hands over each drop with what was lost on the way. Samples have numbers: what is missing
// between two of them is known, stands as NaN in the record, and is said. Drivers are packages below this one.
package acquire
