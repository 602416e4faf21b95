package web_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"github.com/hardcatch/hardcatch/internal/app"
	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/view"
)

// position is what the camera writes into its EXIF block below: a latitude in degrees, minutes and seconds, as EXIF 2.3
// stores it, three pairs of numbers.
var position = []uint32{48, 1, 51, 1, 4930, 100}

// photograph is a small invented picture with a position in its EXIF block.
func photograph(t testing.TB) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 320, 200))
	for y := range 200 {
		for x := range 320 {
			c := color.RGBA{210, 206, 198, 255}
			if d := y - 100 + (x-160)/6; d*d < 400 && (x < 150 || x > 170) { // two ends of a strand
				c = color.RGBA{60, 80, uint8(120 + x%40), 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	// EXIF 2.3: TIFF head, directory 0 with a pointer to the GPS directory (tag 0x8825), that with latitude (2).
	o := binary.BigEndian
	e := o.AppendUint32([]byte("Exif\x00\x00MM\x00*"), 8)
	entry := func(tag, kind uint16, count, value uint32) {
		e = o.AppendUint32(o.AppendUint32(o.AppendUint16(o.AppendUint16(e, tag), kind), count), value)
	}
	e = o.AppendUint16(e, 1)
	entry(0x8825, 4, 1, 26)
	e = o.AppendUint32(e, 0)
	e = o.AppendUint16(e, 1)
	entry(2, 5, 3, 44)
	e = o.AppendUint32(e, 0)
	for _, v := range position {
		e = o.AppendUint32(e, v)
	}
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1}, o.AppendUint16(nil, uint16(len(e)+2))...)
	return append(append(out, e...), b.Bytes()[2:]...)
}

// sendPhoto posts the form of a drop's page.
func (s started) sendPhoto(t *testing.T, id, name string, data []byte, origin string, fields ...string) (reply, string) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for i := 0; i+1 < len(fields); i += 2 {
		if err := w.WriteField(fields[i], fields[i+1]); err != nil {
			t.Fatal(err)
		}
	}
	if data != nil {
		p, err := w.CreateFormFile("photo", name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	headers := []string{"Content-Type: " + w.FormDataContentType()}
	if origin != "" {
		headers = append(headers, "Origin: "+origin)
	}
	return s.ask(t, "POST", "/drops/"+id+"/photos", b.String(), headers...)
}

// A photo is shown on the drop's page and in the report without the position that the camera wrote, which is said.
func TestPhotoOfADrop(t *testing.T) {
	t.Parallel()
	s := start(t, demonstration(t))
	secret := make([]byte, 0, 24)
	for _, v := range position {
		secret = binary.BigEndian.AppendUint32(secret, v)
	}
	given := photograph(t)
	if !bytes.Contains(given, secret) {
		t.Fatal("the photo states no position")
	}
	res, body := s.sendPhoto(t, "d02", "break.jpg", given, "", "caption", "parted at the <knot>", "by", "ab")
	if res.StatusCode != http.StatusSeeOther || res.Header.Get("Location") != "/drops/d02?done=photo-position#photos" {
		t.Fatalf("%d %s %s", res.StatusCode, res.Header.Get("Location"), body)
	}
	for lang, want := range map[string]string{"en": "without the position", "de": "ohne den Ort", "fr": "sans le lieu"} {
		if _, page := s.ask(t, "GET", "/drops/d02?done=photo-position", "", "Accept-Language: "+lang); !strings.Contains(page, want) || !strings.Contains(page, "/drops/d02/photos/1") || !strings.Contains(page, "parted at the &lt;knot&gt;") {
			t.Errorf("%s: the page lacks %q, the photo or its caption", lang, want)
		}
	}
	res, picture := s.ask(t, "GET", "/drops/d02/photos/1", "")
	if m, err := jpeg.Decode(strings.NewReader(picture)); err != nil || m.Bounds().Dx() != 320 || res.Header.Get("Content-Type") != "image/jpeg" {
		t.Errorf("%v %v", err, res.Header)
	}
	if strings.Contains(picture, string(secret)) || strings.Contains(picture, "Exif") {
		t.Error("the picture on the page states where it was taken")
	}
	if _, page := s.ask(t, "GET", "/report/page", ""); !strings.Contains(page, "data:image/jpeg;base64,") || !strings.Contains(page, "parted at the &lt;knot&gt;") {
		t.Error("the report lacks the photo")
	}
	if _, page := s.ask(t, "GET", "/logbook", ""); !strings.Contains(page, "photo attached") {
		t.Error("the logbook does not say that a photo was attached")
	}
	// Even metadata kept on purpose stay in the campaign.
	if _, err := app.AttachPhoto(context.Background(), s.app, s.path, app.PhotoInput{Drop: "d02", Name: "kept.jpg", Data: given, KeepPosition: true}); err != nil {
		t.Fatal(err)
	}
	if _, picture := s.ask(t, "GET", "/drops/d02/photos/2", ""); len(picture) == 0 || strings.Contains(picture, string(secret)) {
		t.Error("the page gives away the position of a photo kept with it")
	}
	if res, _ := s.sendPhoto(t, "d03", "break.jpg", given, "", "back", "live"); res.Header.Get("Location") != "/live?done=photo-position" {
		t.Error(res.Header.Get("Location"))
	}
}

// What is no photo, too large, for no drop, or sent by another site's page is refused, and nothing is kept.
func TestPhotoIsRefused(t *testing.T) {
	t.Parallel()
	s := shared(t)
	huge := append(photograph(t), make([]byte, app.MaxPhoto)...)
	for _, c := range []struct {
		what, id, origin string
		data             []byte
		status           int
	}{
		{"text", "d02", "", []byte("no picture"), http.StatusUnprocessableEntity}, {"nothing", "d02", "", nil, http.StatusUnprocessableEntity},
		{"too large", "d02", "", huge, http.StatusRequestEntityTooLarge}, {"another site", "d02", "http://elsewhere.example", photograph(t), http.StatusForbidden},
		{"no such drop", "d99", "", photograph(t), http.StatusNotFound},
	} {
		if res, body := s.sendPhoto(t, c.id, "x.jpg", c.data, c.origin); res.StatusCode != c.status {
			t.Errorf("%s: %d, want %d: %.200s", c.what, res.StatusCode, c.status, body)
		}
	}
	if res, _ := s.ask(t, "POST", "/drops/d02/photos", "photo=x", form); res.StatusCode != http.StatusUnsupportedMediaType {
		t.Errorf("not a form of files: %d", res.StatusCode)
	}
	// The other forms stay small.
	if res, _ := s.ask(t, "POST", "/drops/d02/decide", "outcome=held&reason="+strings.Repeat("x", 100<<10), form); res.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("a decision of 100 kB: %d", res.StatusCode)
	}
	v, err := view.DropIn(context.Background(), s.app, s.path, "d02")
	if err != nil || len(v.Photos) != 0 || v.Decisions[len(v.Decisions)-1].Outcome == drop.Outcome("") {
		t.Errorf("%+v %v", v.Photos, err)
	}
	for path, want := range map[string]int{"/drops/d02/photos/1": 404, "/drops/d02/photos/x": 404, "/drops/d99/photos/1": 404} {
		if res, _ := s.ask(t, "GET", path, ""); res.StatusCode != want {
			t.Errorf("%s: %d", path, res.StatusCode)
		}
	}
}
