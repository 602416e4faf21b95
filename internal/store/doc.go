// Package store says what a campaign's store keeps.
//
// A campaign is a question, the plan, the revisions of the rig, the drops with their traces, the reductions of
// the traces, what persons decided, checklists, photos, and notes. Nothing is ever changed or deleted: a new revision is
// appended and the latest stands.
//
// # History
//
// Every change of state is one entry of the history, written in the same transaction. An entry
// carries the hash of the one before:
//
//	hash = SHA-256( "hardcatch history 1\n"
//	                u64(seq)
//	                u64(len(at)) at  u64(len(kind)) kind  u64(len(subject)) subject  u64(len(payload)) payload
//	                prev )
//
// where u64 is an unsigned 64-bit big-endian number, len counts bytes, texts are UTF-8, at is the
// time in UTC as RFC 3339 with up to nine decimals, payload is the stored text byte for byte, and
// prev is the 32-byte hash of entry seq-1, or 32 zero bytes for entry 1. Every field has a fixed
// width or its length before it, so that two different entries never hash the same bytes. The hash
// of the last entry, the head, therefore stands for the whole campaign; printed in a report it shows
// later whether the file still is what the report was made from.
//
// Payloads are canonical JSON: what encoding/json writes, without white space and without escaped
// HTML characters, the keys of every object sorted by their bytes. Traces, reductions and photos are too
// large to stand in the history; their payload holds the SHA-256 of their bytes instead.
package store
