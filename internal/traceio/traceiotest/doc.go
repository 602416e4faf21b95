// Package traceiotest is the suite that every record format passes.
package traceiotest
