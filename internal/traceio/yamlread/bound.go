package yamlread

import (
	"errors"
	"fmt"
	"io"

	"github.com/goccy/go-yaml/scanner"
	"github.com/goccy/go-yaml/token"
)

// Bounds of a file. The parser takes memory and time that grow with the square of the nesting and of the number of words, so
// that both are measured before it is asked.
const (
	// MaxBytes bounds a file; a larger one is refused.
	MaxBytes = 1 << 20
	// MaxDepth bounds the nesting.
	MaxDepth = 40
	// MaxWords bounds the keys, values and marks such as commas and brackets.
	MaxWords = 30_000
)

// words takes a file apart as far as the bounds allow. An anchor, an alias or a tag is refused here, before anything is
// expanded.
func words(name string, data []byte) (token.Tokens, error) {
	if line := crowded(data); line > 0 {
		return nil, tooMany(name, line)
	}
	var s scanner.Scanner
	s.Init(string(data))
	var all token.Tokens
	var n nesting
	for {
		some, err := s.Scan()
		if errors.Is(err, io.EOF) {
			return all, nil
		}
		for _, t := range some {
			at := func(fact string) error {
				return fmt.Errorf("%s:%d:%d: %s", name, t.Position.Line, t.Position.Column, fact)
			}
			switch t.Type {
			case token.AnchorType, token.AliasType, token.TagType, token.MergeKeyType:
				return nil, at(notUsed)
			}
			if n.add(t) > MaxDepth {
				return nil, at(fmt.Sprintf("nested deeper than %d levels; write it flatter", MaxDepth))
			}
		}
		all.Add(some...)
		if len(all) > MaxWords {
			return nil, tooMany(name, all[len(all)-1].Position.Line)
		}
	}
}

func tooMany(name string, line int) error {
	return fmt.Errorf("%s:%d: more than %d keys, values and marks; the file should hold a few lines", name, line, MaxWords)
}

// crowded is the line by which a file has more marks than its words can need, 0 when it has not: even taking it apart
// would fill the memory.
func crowded(data []byte) (line int) {
	marks := 0
	line = 1
	for _, c := range data {
		switch c {
		case '\n':
			line++
			fallthrough
		case ':', ',', '-', '?', '[', ']', '{', '}', '&', '*', '!', '#', '|', '>', '\'', '"', '%', '@', '`':
			if marks++; marks > 4*MaxWords {
				return line
			}
		}
	}
	return 0
}

const notUsed = "anchors, aliases and tags are not used here; write the value out"

// nesting follows how deep a file is nested: by brackets, and outside them by the columns in which lists and keys begin.
type nesting struct {
	brackets int
	columns  []int
	before   *token.Token
}

// add is the depth at a token.
func (n *nesting) add(t *token.Token) int {
	key := t
	switch t.Type {
	case token.SequenceStartType, token.MappingStartType:
		n.brackets++
	case token.SequenceEndType, token.MappingEndType:
		n.brackets = max(n.brackets-1, 0)
	case token.MappingValueType:
		if n.before != nil {
			key = n.before
		}
		fallthrough
	case token.SequenceEntryType, token.MappingKeyType:
		if n.brackets == 0 {
			n.begin(key.Position.Column)
		}
	}
	n.before = t
	return n.brackets + len(n.columns)
}

func (n *nesting) begin(column int) {
	k := len(n.columns)
	for k > 0 && n.columns[k-1] >= column {
		k--
	}
	n.columns = append(n.columns[:k], column)
}
