package droplist

import (
	"bytes"
	"strings"
	"testing"
)

// FuzzRead: whatever the bytes, there is an error that begins with the place, or drops that are valid and are written so that they are
// read again.
func FuzzRead(f *testing.F) {
	const head = "drop,specimen,fall,record\n"
	for _, s := range []string{
		head + "d1,s1,0.9 m,r.csv\n", "\xef\xbb\xbf# remark\ndrop;specimen;fall [mm];record;factor wax\r\nd1;s1;900;r.csv;yes\r\n", head + "\"d1,s1", head + "d1,s1,1e400 m,r.csv",
		"drop,specimen,fall,record,outcome,place,taken,order\nd1,s1,1 m,r.csv,broke,knot,2026-03-02,1\nd2,s2,1 m,,,,,\n", "drop\tspecimen\tfall\trecord\nd1\ts1\t1,5 m\tr.csv\n", head + "d1,s1,inf,r.csv",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := Read("l.csv", strings.NewReader(text))
		if err != nil {
			if l != nil || !strings.HasPrefix(err.Error(), "l.csv") {
				t.Fatalf("%v %v", l, err)
			}
			return
		}
		for _, d := range l.Drops {
			if err := d.Validate(); err != nil {
				t.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := Write(&b, l.Drops); err != nil {
			t.Fatal(err)
		}
		again, err := Read("l.csv", &b)
		if err != nil || len(again.Drops) != len(l.Drops) {
			t.Fatalf("%q is written as\n%s\nand read as %v", text, b.String(), err)
		}
	})
}
