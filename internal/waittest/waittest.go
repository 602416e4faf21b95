// Package waittest makes tests wait for what they need to be so, never for a time that is hoped to be enough.
package waittest

import (
	"testing"
	"time"
)

// Limit is how long is waited before a condition counts as one that does not come: far longer than a busy machine takes.
const Limit = 60 * time.Second

// Until waits until the condition holds, and fails the test where it does not within Limit. What is named is what was waited for; it is asked
// for when it did not come, so that it may tell the state of things.
func Until(t testing.TB, what func() string, is func() bool) {
	t.Helper()
	if !Holds(is) {
		t.Fatalf("waited %s in vain for %s", Limit, what())
	}
}

// Holds waits until the condition holds and tells whether it came to hold within Limit.
func Holds(is func() bool) bool {
	for end := time.Now().Add(Limit); !is(); {
		if time.Now().After(end) {
			return false
		}
		time.Sleep(2 * time.Millisecond) // Waits for time: between two looks at the condition.
	}
	return true
}

// For is the name of a condition that has nothing to tell but itself.
func For(what string) func() string { return func() string { return what } }
