package censor

import (
	"errors"
	"fmt"
)

// Kinds of failure, for errors.Is. Each error of this package that wraps one of them is a sentence.
var (
	// ErrValue is a value that cannot be used as it stands.
	ErrValue = errors.New("a value cannot be used")
	// ErrNotIdentified is a likelihood without a single highest point: no estimate exists.
	ErrNotIdentified = errors.New("the data do not determine the estimate")
	// ErrNotConverged is a search that did not settle.
	ErrNotConverged = errors.New("the search did not settle")
	// ErrArgument is a question outside its range, such as a confidence of 95.
	ErrArgument = errors.New("the question lies outside its range")
)

// Failure is a sentence for the user with the kind of failure behind it.
type Failure struct {
	Kind     error // one of the Err values of this package
	Sentence string
}

func (f *Failure) Error() string { return f.Sentence }

func (f *Failure) Unwrap() error { return f.Kind }

func failf(kind error, format string, args ...any) error {
	return &Failure{Kind: kind, Sentence: fmt.Sprintf(format, args...)}
}

func checkConfidence(confidence float64) error {
	if !(confidence > 0 && confidence < 1) {
		return failf(ErrArgument, "confidence %g does not lie between 0 and 1; 0.95 is usual", confidence)
	}
	return nil
}

func checkProbability(p float64) error {
	if !(p > 0 && p < 1) {
		return failf(ErrArgument, "probability %g does not lie between 0 and 1; a 5 %% quantile is 0.05", p)
	}
	return nil
}
