package day

import "fmt"

// Key is a key by which a person at the tower gives an order; it is the same in the browser and in the terminal.
type Key struct {
	Phase Phase
	Key   string
	Also  string // another key for the same
	Short string // what it does, in a word or two
	Does  string
}

// Keys are the keys of a day, by phase and in the order in which they are shown. Questions and reasons to void are
// taken by their numbers: NumberKeys.
func Keys() []Key {
	return []Key{
		{Preparing, "k", "", "skip", "skip a question, with a reason that is kept"},
		{Preparing, "a", "", "ARM", "arm: wait for the drop; the checklist goes into the logbook"},
		{Preparing, "n", "", "another", "another drop first: leave this one for later"},
		{Preparing, "u", "", "withdraw", "take the last decision back"},
		{Armed, "m", "", "trigger by hand", "trigger by hand"},
		{Armed, "e", "", "end the record", "end the record before its time; it is taken as it is"},
		{Armed, "d", "", "disarm", "disarm: back to the checklist"},
		{Reading, "c", "Enter", "CONFIRM", "confirm the outcome that is proposed"},
		{Reading, "h", "", "held", "held, with a remark"},
		{Reading, "b", "", "broke", "broke, with the place"},
		{Reading, "s", "", "slipped", "slipped, with a remark"},
		{Reading, "v", "", "void", "void, with a reason; nothing is deleted"},
		{Reading, "n", "", "next", "next drop; once decided, Enter does the same"},
		{Reading, "u", "", "withdraw", "take the last decision back"},
	}
}

// NumberKeys are the keys that stand for n things in order.
func NumberKeys(n int) string { return fmt.Sprintf("1-%d", n) }
