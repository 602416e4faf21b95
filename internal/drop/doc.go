// Package drop is the vocabulary of a drop test: specimen, drop, trace, rig, outcome. It does no I/O.
package drop
