// Package frozen holds simulated falls with what the mechanical model made of them, to the last bit. All of them are invented.
package frozen

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/arrest"
	"github.com/hardcatch/hardcatch/internal/same"
)

//go:embed falls.json
var kept []byte

// Fall is one case with the result that was kept.
type Fall struct {
	Name   string          `json:"name"`
	Method arrest.Method   `json:"method,omitempty"` // forced; empty = chosen by the stiffness
	Case   arrest.Case     `json:"case"`
	Result json.RawMessage `json:"result"`
}

// Falls are the frozen ones.
func Falls() ([]Fall, error) {
	var all []Fall
	if err := json.Unmarshal(kept, &all); err != nil {
		return nil, fmt.Errorf("frozen falls: %w", err)
	}
	return all, nil
}

// Run makes the result of the fall again, as JSON.
func (f Fall) Run(ctx context.Context) ([]byte, error) {
	c := f.Case
	r, err := arrest.Run(ctx, &c, arrest.Options{Method: f.Method})
	if err != nil {
		return nil, fmt.Errorf("frozen fall %q: %w", f.Name, err)
	}
	b, err := json.Marshal(r)
	if err != nil {
		return nil, fmt.Errorf("frozen fall %q: %w", f.Name, err)
	}
	return b, nil
}

// Tolerance is how far, relative, a number may lie off on this machine: 0 where it has the vector instructions with which the
// results were kept, else 1e-7.
func Tolerance() float64 {
	if arrest.Vectors() {
		return same.Tolerance()
	}
	return 1e-7
}

// Check runs the fall again and compares every number and text with what was kept, but for the count of steps where
// numbers may lie off.
func (f Fall) Check(ctx context.Context) (same.Report, error) {
	found, err := f.Run(ctx)
	if err != nil {
		return same.Report{}, err
	}
	return same.JSON(f.Result, found, Tolerance())
}
