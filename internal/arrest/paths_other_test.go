//go:build !amd64 || purego

package arrest

// wideWorks: there are no lanes here.
const wideWorks = false

// withVectors runs f; there is one way only.
func withVectors(_, _ bool, f func()) { f() }
