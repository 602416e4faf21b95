//go:build !amd64 || purego

package arrest

// Without vector instructions one drop after another is quicker.
const lockstepWorks = false

func expandLanes(*float64)  { panic("arrest: no lanes here") }
func advanceLanes(*float64) { panic("arrest: no lanes here") }

func expandOctet(*float64, uint64) uint64  { panic("arrest: no lanes here") }
func advanceOctet(*float64, uint64) uint64 { panic("arrest: no lanes here") }

func eightValuesVector(*float64, int, *float64, *float64) { panic("arrest: no lanes here") }
func eightSlopesVector(*float64, int, *float64, *float64) { panic("arrest: no lanes here") }

func dotVector(*float64, *float64, int) float64    { panic("arrest: no lanes here") }
func spreadVector(*float64, *float64, int) float64 { panic("arrest: no lanes here") }
