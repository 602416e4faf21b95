// Package traceio turns record files into traces.
//
// A Format reads one kind of file. A Registry holds formats, asks each how well it knows the first
// bytes of a file, and lets the best one read it, while the original bytes are hashed and handed on
// unchanged. A new format is one file that implements Format and one test that calls
// traceiotest.Run; wavtrace is the model to copy.
package traceio
