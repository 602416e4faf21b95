package waittest

import "testing"

func TestUntilLooksAgain(t *testing.T) {
	looks := 0
	Until(t, For("the third look"), func() bool { looks++; return looks == 3 })
	if looks != 3 {
		t.Errorf("%d looks, want 3", looks)
	}
}
