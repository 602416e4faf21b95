package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// Sealed is a checked value in the form in which the history holds it.
type Sealed struct {
	Kind    Kind
	Subject string
	Payload []byte // canonical JSON
}

// SealCampaign checks and seals a campaign. Created must be set.
func SealCampaign(c Campaign) (Sealed, error) {
	if strings.TrimSpace(c.Question) == "" {
		return Sealed{}, refuse("campaign", "has no question", "say what the drops are to answer", nil)
	}
	if c.Created.IsZero() {
		return Sealed{}, refuse("campaign", "has no time of creation", "set Created", nil)
	}
	c.Created = c.Created.UTC()
	return seal(KindCampaign, "", "campaign", c)
}

// SealRig checks and seals a rig.
func SealRig(r drop.Rig) (Sealed, error) {
	if err := r.Validate(); err != nil {
		return Sealed{}, refused(err)
	}
	return seal(KindRig, "", "rig", r)
}

// SealDrop checks and seals a drop.
func SealDrop(d drop.Drop) (Sealed, error) {
	if err := d.Validate(); err != nil {
		return Sealed{}, refused(err)
	}
	return seal(KindDrop, d.ID, "drop "+d.ID, d)
}

// SealTrace checks and seals what is known about an original.
func SealTrace(dropID, name string, original Original) (Trace, Sealed, error) {
	sum, err := Sum(original)
	if err != nil {
		return Trace{}, Sealed{}, err
	}
	t := Trace{Drop: dropID, Name: name, SHA256: sum.SHA256, Bytes: sum.Bytes}
	if t.Bytes == 0 {
		return Trace{}, Sealed{}, refuse("drop "+dropID, fmt.Sprintf("its record %s is empty", name), "check that the logger's file was copied whole", nil)
	}
	s, err := ResealTrace(t)
	return t, s, err
}

// ResealTrace seals a trace from what is stored about it.
func ResealTrace(t Trace) (Sealed, error) {
	return seal(KindTrace, t.Drop, "trace of drop "+t.Drop, t)
}

// SealReduction checks and seals a reduction. The payload names settings and result by the SHA-256
// of their bytes.
func SealReduction(r Reduction) (Sealed, error) {
	place := "reduction of drop " + r.Drop
	switch {
	case strings.TrimSpace(r.Version) == "":
		return Sealed{}, refuse(place, "has no version", "name the version of the reduction", nil)
	case !json.Valid(r.Settings):
		return Sealed{}, refuse(place, "its settings are not JSON", "encode them before storing", nil)
	case !json.Valid(r.Result):
		return Sealed{}, refuse(place, "its result is not JSON", "encode it before storing; a value that is not a number has no JSON form", nil)
	}
	return ResealReduction(r)
}

// ResealReduction seals a reduction as stored, without judging it.
func ResealReduction(r Reduction) (Sealed, error) {
	return seal(KindReduction, r.Drop, "reduction of drop "+r.Drop, struct {
		Drop           string `json:"drop"`
		TraceSHA256    string `json:"trace_sha256"`
		Version        string `json:"version"`
		SettingsSHA256 string `json:"settings_sha256"`
		ResultSHA256   string `json:"result_sha256"`
	}{r.Drop, r.TraceSHA256, r.Version, SumHex(r.Settings), SumHex(r.Result)})
}

// SealDecision checks and seals a decision.
func SealDecision(d drop.Decision) (Sealed, error) {
	if err := d.Check(); err != nil {
		return Sealed{}, refused(err)
	}
	return seal(KindDecision, d.Drop, "decision on "+d.Drop, d)
}

// SealNote checks and seals a note.
func SealNote(n Note) (Sealed, error) {
	if strings.TrimSpace(n.Text) == "" {
		return Sealed{}, refuse("note", "has no text", "write what is to be remembered", nil)
	}
	return seal(KindNote, n.Drop, "note", n)
}

// SealChecklist checks and seals a checklist.
func SealChecklist(c drop.Checklist) (Sealed, error) {
	if err := c.Check(); err != nil {
		return Sealed{}, refused(err)
	}
	return seal(KindChecklist, c.Drop, "checklist of drop "+c.Drop, c)
}

// SealPhoto checks and seals what is known about a photo, with the hash and size of the bytes kept.
func SealPhoto(p Photo, kept []byte) (Photo, Sealed, error) {
	place := "photo of drop " + p.Drop
	switch {
	case len(kept) == 0:
		return Photo{}, Sealed{}, refuse(place, fmt.Sprintf("%s has no bytes", p.Name), "check that the picture was copied whole", nil)
	case len(p.OriginalSHA256) != 2*len(Hash{}) || p.OriginalBytes <= 0:
		return Photo{}, Sealed{}, refuse(place, "the original's hash and size are missing", "set OriginalSHA256 and OriginalBytes", nil)
	case p.Width <= 0 || p.Height <= 0:
		return Photo{}, Sealed{}, refuse(place, "its width and height are missing", "set Width and Height in pixels", nil)
	}
	p.SHA256, p.Bytes = SumHex(kept), int64(len(kept))
	s, err := ResealPhoto(p)
	return p, s, err
}

// ResealPhoto seals a photo from what is stored about it.
func ResealPhoto(p Photo) (Sealed, error) {
	return seal(KindPhoto, p.Drop, "photo of drop "+p.Drop, p)
}

// SealPlan checks and seals a plan: any JSON object.
func SealPlan(p json.RawMessage) (Sealed, error) {
	var object map[string]json.RawMessage
	if err := json.Unmarshal(p, &object); err != nil || object == nil {
		return Sealed{}, refuse("plan", "is not a JSON object", "encode it before storing", err)
	}
	return seal(KindPlan, "", "plan", p)
}

// SealQuestion checks and seals a question.
func SealQuestion(q drop.Question) (Sealed, error) {
	if err := q.Validate(); err != nil {
		return Sealed{}, refused(err)
	}
	return seal(KindQuestion, q.ID, "question "+q.ID, q)
}

func seal(kind Kind, subject, place string, v any) (Sealed, error) {
	payload, err := canonical(v)
	if err != nil {
		return Sealed{}, refuse(place, "cannot be stored: "+err.Error(), "correct the value", err)
	}
	return Sealed{Kind: kind, Subject: subject, Payload: payload}, nil
}

// canonical is the JSON form that the package comment lays down. Numbers stay as encoding/json
// wrote them: the shortest text that reads back to the same value.
func canonical(v any) ([]byte, error) {
	plain, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	if replacesText(plain) {
		return nil, fmt.Errorf("a text in it is not UTF-8 and would be altered")
	}
	dec := json.NewDecoder(bytes.NewReader(plain))
	dec.UseNumber()
	var tree any
	if err := dec.Decode(&tree); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(tree); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
}

// replacesText tells whether encoding/json put the escape \ufffd where bytes were not UTF-8. A
// replacement character of the text itself is written as its UTF-8 bytes.
func replacesText(encoded []byte) bool {
	for i := 0; i+1 < len(encoded); i++ {
		if encoded[i] != '\\' {
			continue
		}
		if bytes.HasPrefix(encoded[i:], []byte(`\ufffd`)) {
			return true
		}
		i++
	}
	return false
}

func refuse(place, fact, wayOut string, cause error) error {
	return &Problem{Reason: ErrInvalid, Place: place, Fact: fact, WayOut: wayOut, Cause: cause}
}

func refused(cause error) error {
	return &Problem{Reason: ErrInvalid, Fact: cause.Error(), Cause: cause}
}
