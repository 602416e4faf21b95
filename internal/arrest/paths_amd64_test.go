//go:build !purego

package arrest

// withVectors runs f as on a processor with or without vector instructions, and with or without registers of eight.
func withVectors(on, wide bool, f func()) {
	lockstep, had := lockstepWorks, wideWorks
	defer func() { lockstepWorks, wideWorks = lockstep, had }()
	lockstepWorks, wideWorks = lockstep && on, had && wide
	f()
}
