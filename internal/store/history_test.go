package store

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
)

// The hashes were computed with Python 3.11 from the package comment alone:
//
//	def h(seq, at, kind, subject, payload, prev):
//	    b = b"hardcatch history 1\n" + struct.pack(">Q", seq)
//	    for f in (at, kind, subject, payload):
//	        t = f.encode(); b += struct.pack(">Q", len(t)) + t
//	    return hashlib.sha256(b + prev).hexdigest()
var vector = []Entry{
	{Seq: 1, At: "2026-03-04T08:00:02.5Z", Kind: KindCampaign, Payload: `{"question":"why?"}`,
		Hash: mustHash("4fd42d8eefe918b971d1db0762d67f9f8d8f4d40549b14d95d1724b6c0243d99")},
	{Seq: 2, At: "2026-03-04T08:00:03Z", Kind: KindNote, Subject: "Ω",
		Prev: mustHash("4fd42d8eefe918b971d1db0762d67f9f8d8f4d40549b14d95d1724b6c0243d99"),
		Hash: mustHash("3e8486148bcd38b746230c13fe08b38941cbf131264bb043a5b269ebb9c23347")},
}

func mustHash(text string) (h Hash) {
	if err := h.UnmarshalText([]byte(text)); err != nil {
		panic(err)
	}
	return h
}

func TestHashEntryAgainstPython(t *testing.T) {
	for _, e := range vector {
		if got := HashEntry(e); got != e.Hash {
			t.Errorf("entry %d: %s, want %s", e.Seq, got, e.Hash)
		}
	}
}

// Moving a byte over the border of two fields must change the hash.
func TestHashEntryIsUnambiguous(t *testing.T) {
	seen := map[Hash]Entry{}
	for _, e := range []Entry{
		{At: "ab"}, {At: "a", Kind: "b"}, {Kind: "ab"}, {Kind: "a", Subject: "b"}, {Subject: "ab"}, {Subject: "a", Payload: "b"}, {Payload: "ab"},
		{}, {Seq: 1}, {Payload: "\x00"}, {Subject: "\x00"}, {Prev: Hash{1}}, {Prev: Hash{31: 1}},
	} {
		h := HashEntry(e)
		if other, twice := seen[h]; twice {
			t.Errorf("%+v and %+v have one hash", e, other)
		}
		seen[h] = e
	}
}

func TestWalk(t *testing.T) {
	var w Walk
	for _, e := range vector {
		if b := w.Step(e); b != nil {
			t.Fatal(b)
		}
	}
	if w.Head() != (Head{2, vector[1].Hash}) {
		t.Errorf("head %+v", w.Head())
	}
	for name, change := range map[string]func(*Entry){
		"number":  func(e *Entry) { e.Seq++ },
		"again":   func(e *Entry) { e.Seq-- },
		"time":    func(e *Entry) { e.At = "2026-03-04T08:00:03.0Z" },
		"kind":    func(e *Entry) { e.Kind = KindDrop },
		"subject": func(e *Entry) { e.Subject = "O" },
		"payload": func(e *Entry) { e.Payload = "{}" },
		"before":  func(e *Entry) { e.Prev[0] ^= 1 },
		"hash":    func(e *Entry) { e.Hash[31] ^= 1 },
	} {
		var w Walk
		if b := w.Step(vector[0]); b != nil {
			t.Fatal(b)
		}
		e := vector[1]
		change(&e)
		b := w.Step(e)
		if b == nil || b.Seq != e.Seq || !strings.HasPrefix(b.String(), "logbook entry ") {
			t.Errorf("%s: break is %v", name, b)
		}
		if w.Head().Seq != 1 {
			t.Errorf("%s: the walk went on over the break", name)
		}
	}
}

func TestNext(t *testing.T) {
	zone := time.FixedZone("", -5*3600)
	e := Sealed{Kind: KindCampaign, Payload: []byte(`{"question":"why?"}`)}.Next(Head{}, time.Date(2026, 3, 4, 3, 0, 2, 5e8, zone))
	if e != vector[0] {
		t.Errorf("%+v, want %+v", e, vector[0])
	}
}

func TestHashText(t *testing.T) {
	text, err := json.Marshal(vector[0].Hash)
	if err != nil || string(text) != `"`+vector[0].Hash.String()+`"` {
		t.Errorf("%s, %v", text, err)
	}
	var h Hash
	for _, bad := range []string{"", "00", strings.Repeat("0", 63), strings.Repeat("0", 65), strings.Repeat("g", 64)} {
		if err := h.UnmarshalText([]byte(bad)); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}

func TestCanonical(t *testing.T) {
	type inner struct {
		B float64        `json:"b"`
		A string         `json:"a"`
		M map[string]int `json:"m"`
	}
	got, err := canonical(struct {
		Z inner `json:"z"`
		A []any `json:"A"`
	}{inner{1e21, "<&>\n\u00e9", map[string]int{"b": 1, "a": 2, "": 3}}, []any{1.5, nil, true, 0.1}})
	want := `{"A":[1.5,null,true,0.1],"z":{"a":"<&>\n` + "\u00e9" + `","b":1e+21,"m":{"":3,"a":2,"b":1}}}`
	if err != nil || string(got) != want {
		t.Errorf("%s, %v; want %s", got, err, want)
	}
	for _, bad := range []any{"\xff", []string{"a", "b\xc3"}, map[string]int{"\xfe": 1}} {
		if got, err := canonical(bad); err == nil {
			t.Errorf("%q was taken as %s", bad, got)
		}
	}
}
