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

// Keys are the keys of a day, by phase and in the order in which they are shown; none means one thing before the drop and
// another after it. Questions are answered by their numbers: NumberKeys.
func Keys() []Key {
	return []Key{
		{Preparing, "k", "", "skip", "skip a question, with a reason that is kept"},
		{Preparing, "a", "", "ARM", "arm: wait for the drop; the checklist goes into the logbook"},
		{Preparing, "l", "", "later", "leave this drop for later: another one first"},
		{Preparing, "u", "", "withdraw", "take the last decision back, with a reason"},
		{Armed, "m", "", "trigger by hand", "trigger by hand"},
		{Armed, "e", "", "end the record", "end the record before its time; it is taken as it is"},
		{Armed, "d", "", "disarm", "disarm: back to the checklist"},
		{Reading, "c", "Enter", "CONFIRM", "confirm the outcome that is proposed"},
		{Reading, "h", "", "held", "held, with a remark"},
		{Reading, "b", "", "broke", "broke, with the place"},
		{Reading, "s", "", "slipped", "slipped, with a remark"},
		{Reading, "v", "", "void", "void: asks for the reason; nothing is deleted"},
		{Reading, "n", "", "next", "next drop"},
		{Reading, "u", "", "withdraw", "take the last decision back, with a reason"},
	}
}

// NumberKeys are the keys that stand for n things in order.
func NumberKeys(n int) string { return fmt.Sprintf("1-%d", n) }
