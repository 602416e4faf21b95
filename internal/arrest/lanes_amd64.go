//go:build !purego

package arrest

import "golang.org/x/sys/cpu"

var lockstepWorks = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// wideWorks tells that eight lanes go in one register.
var wideWorks = cpu.X86.HasAVX512F && cpu.X86.HasAVX512DQ

func expandOctet(p *float64, about uint64) uint64 {
	if wideWorks {
		return expandOctet512(p, about)
	}
	return expandOctet256(p, about)
}

func advanceOctet(p *float64, about uint64) uint64 {
	if wideWorks {
		return advanceOctet512(p, about)
	}
	return advanceOctet256(p, about)
}
