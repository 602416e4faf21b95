package cli

import (
	"github.com/hardcatch/hardcatch/internal/quantity"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// readerFlags say what a record leaves unsaid.
type readerFlags struct {
	Rate      quantity.Frequency `placeholder:"RATE" help:"Sample rate of a record without a time column, for example 10 kHz."`
	Channel   string             `help:"Name of the force column, when there are several."`
	ForceUnit string             `help:"Unit of the force column when its header has none: N, kN, kgf, lbf, mV/V, g, ..."`
	FullScale string             `placeholder:"QUANTITY" help:"What a number of 1 means in a record of shares of full scale (WAV), for example 5 V or 50 kN."`
	TimeUnit  string             `help:"Unit of the time column when its header has none: s, ms, us."`
}

func (f readerFlags) reading(mass quantity.Mass) traceio.Reading {
	return traceio.Reading{Rate: f.Rate, Channel: f.Channel, ForceUnit: f.ForceUnit, TimeUnit: f.TimeUnit, FullScale: f.FullScale, Mass: mass}
}
