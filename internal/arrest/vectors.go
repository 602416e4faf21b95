package arrest

// Vectors tells that runs use the processor's vector instructions with fused multiply-add (AVX2 and FMA on amd64). Without, every
// result is the same to about 1e-13 and has other bits.
func Vectors() bool { return lockstepWorks }
