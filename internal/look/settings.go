package look

import (
	"encoding/json"
	"fmt"
	"strconv"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/reduce"
	"github.com/hardcatch/hardcatch/internal/same"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/traceio"
)

// WithHand keeps the events that a person set.
func (k Kept) WithHand(h *reduce.EventsByHand) Kept {
	k.Reduce.Hand = h
	return k
}

// SettingsFor are the settings for a drop on a rig, its record read as h says.
func SettingsFor(rig drop.Rig, d drop.Drop, f reduce.Filter, h traceio.Reading) Kept {
	set := reduce.FromRig(rig, d, f)
	if h.Channel != "" && set.Channel == "" {
		set.Channel = h.Channel
	}
	if _, err := strconv.Atoi(set.Channel); err == nil && h.Channel == "" {
		h.Channel = set.Channel // a number is for who reads the record
	}
	h.Mass = set.Mass
	return Kept{Reader: h, Reduce: set}
}

// Kept is what is stored as the settings of a reduction: enough to repeat it from the original bytes. Reader.By is empty
// where the reduction was made before readers were named.
type Kept struct {
	Reader traceio.Reading `json:"reader"`
	Reduce reduce.Settings `json:"reduce"`
	Made   same.Machine    `json:"made,omitzero"` // on what
}

// ReadKept reads the settings of a stored reduction.
func ReadKept(r store.Reduction) (Kept, error) {
	var k Kept
	if err := json.Unmarshal(r.Settings, &k); err != nil {
		return k, fmt.Errorf("drop %s: its stored settings cannot be read: %w", r.Drop, err)
	}
	return k, nil
}

// ReadReduction reads a stored reduction.
func ReadReduction(r store.Reduction) (*reduce.Reduction, error) {
	var out reduce.Reduction
	if err := json.Unmarshal(r.Result, &out); err != nil {
		return nil, fmt.Errorf("drop %s: its stored reduction cannot be read: %w", r.Drop, err)
	}
	return &out, nil
}
