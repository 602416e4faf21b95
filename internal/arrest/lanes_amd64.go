//go:build !purego

package arrest

import "golang.org/x/sys/cpu"

var lockstepWorks = cpu.X86.HasAVX2 && cpu.X86.HasFMA
