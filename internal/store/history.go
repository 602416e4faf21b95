package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"time"
)

// Hash is a SHA-256. The zero Hash stands before the first entry.
type Hash [sha256.Size]byte

// String is the hash in lower-case hex.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// MarshalText writes lower-case hex.
func (h Hash) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

// UnmarshalText reads 64 hex digits.
func (h *Hash) UnmarshalText(text []byte) error {
	if len(text) != 2*len(h) {
		return fmt.Errorf("hash %q has %d digits; a SHA-256 has %d", text, len(text), 2*len(h))
	}
	if _, err := hex.Decode(h[:], text); err != nil {
		return fmt.Errorf("hash %q is not hexadecimal: %w", text, err)
	}
	return nil
}

// SumHex is the SHA-256 of data in lower-case hex, as traces are named by it.
func SumHex(data []byte) string {
	return Hash(sha256.Sum256(data)).String()
}

// Kind is what an entry entered.
type Kind string

// The kinds of entries.
const (
	KindCampaign  Kind = "campaign"
	KindRig       Kind = "rig"
	KindDrop      Kind = "drop"
	KindTrace     Kind = "trace"
	KindReduction Kind = "reduction"
	KindDecision  Kind = "decision"
	KindNote      Kind = "note"
	KindChecklist Kind = "checklist"
	KindPhoto     Kind = "photo"
	KindPlan      Kind = "plan"     // the history alone holds it; no table does
	KindQuestion  Kind = "question" // likewise; its subject is the question's name
)

// Entry is one change of state. At, Kind, Subject and Payload are the texts that were hashed.
type Entry struct {
	Seq     int64  `json:"seq"` // 1, 2, 3, ...
	At      string `json:"at"`
	Kind    Kind   `json:"kind"`
	Subject string `json:"subject"` // the drop's id or the question's name, or "" for the campaign and its rig
	Payload string `json:"payload"`
	Prev    Hash   `json:"prev_hash"`
	Hash    Hash   `json:"hash"`
}

// Time is At.
func (e Entry) Time() (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, e.At)
	if err != nil {
		return time.Time{}, fmt.Errorf("logbook entry %d: the time %q is not readable: %w", e.Seq, e.At, err)
	}
	return t, nil
}

// HashEntry is the hash of an entry as the package comment lays down. It does not look at e.Hash.
func HashEntry(e Entry) Hash {
	b := make([]byte, 0, 128+len(e.At)+len(e.Kind)+len(e.Subject)+len(e.Payload))
	b = append(b, "hardcatch history 1\n"...)
	b = binary.BigEndian.AppendUint64(b, uint64(e.Seq))
	for _, field := range []string{e.At, string(e.Kind), e.Subject, e.Payload} {
		b = binary.BigEndian.AppendUint64(b, uint64(len(field)))
		b = append(b, field...)
	}
	b = append(b, e.Prev[:]...)
	return sha256.Sum256(b)
}

// Next makes the entry that follows head.
func (s Sealed) Next(head Head, at time.Time) Entry {
	e := Entry{
		Seq:     head.Seq + 1,
		At:      at.UTC().Format(time.RFC3339Nano),
		Kind:    s.Kind,
		Subject: s.Subject,
		Payload: string(s.Payload),
		Prev:    head.Hash,
	}
	e.Hash = HashEntry(e)
	return e
}

// Walk checks entries one after the other. Its zero value stands before the first.
type Walk struct {
	head Head
}

// Head is the last entry that held.
func (w *Walk) Head() Head { return w.head }

// Step checks that e follows the entries before it and is what was hashed; nil when so.
func (w *Walk) Step(e Entry) *Break {
	broken := Break{Seq: e.Seq, Kind: e.Kind, Subject: e.Subject, Table: "history"}
	switch {
	case e.Seq != w.head.Seq+1:
		broken.Fact = fmt.Sprintf("entry %d is followed by entry %d: entries are missing or were renumbered", w.head.Seq, e.Seq)
	case !bytes.Equal(e.Prev[:], w.head.Hash[:]):
		broken.Fact = fmt.Sprintf("names %s as the hash before it, but the entry before has %s", e.Prev, w.head.Hash)
	case HashEntry(e) != e.Hash:
		broken.Fact = fmt.Sprintf("its content gives the hash %s, but %s was written", HashEntry(e), e.Hash)
	default:
		w.head = Head{Seq: e.Seq, Hash: e.Hash}
		return nil
	}
	broken.WayOut = wayOutChanged
	return &broken
}
