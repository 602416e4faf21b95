package look

import (
	"fmt"
	"testing"

	"github.com/hardcatch/hardcatch/internal/reduce"
)

// Long records push out the oldest; the last one looked at stays, however long it is.
func TestLooksHaveBounds(t *testing.T) {
	var l looks
	add := func(key string, samples int) {
		k := l.find(key)
		k.w = &Look{WholeReduction: &reduce.WholeReduction{Force: make([]float64, samples)}}
		l.fit(k)
	}
	have := func() (keys string) {
		for _, k := range l.list {
			keys += k.key
		}
		return keys
	}
	for i := range 12 {
		add(fmt.Sprint(i%10), 10)
	}
	if have() != "45678901" {
		t.Errorf("small records: %s", have())
	}
	add("a", keptSamples-40)
	if have() != "8901a" {
		t.Errorf("a long record: %s", have())
	}
	add("b", keptSamples+1)
	if have() != "b" {
		t.Errorf("a record longer than the bound: %s", have())
	}
}
