package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"
)

// Latitude and longitude as three RATIONALs each, EXIF 2.3 section 4.6.6: 48 deg 51 min 29.6 s and 2 deg 17 min 40.2 s
// (numbers made up for the test, and easy to find again).
var (
	latitude  = []uint32{48, 1, 51, 1, 296, 10}
	longitude = []uint32{2, 1, 17, 1, 402, 10}
)

// exifBlock builds a TIFF structure by EXIF 2.3: directory 0 with a maker, an orientation and a pointer to the
// GPS directory, which holds four tags.
func exifBlock(order binary.AppendByteOrder, head string, turn uint16) []byte {
	const (
		ascii, short, long, rational = 2, 3, 4, 5
		ifd0                         = 8
		gps                          = ifd0 + 2 + 3*12 + 4
		values                       = gps + 2 + 4*12 + 4
	)
	b := order.AppendUint32([]byte(head), ifd0)
	tag := func(id, kind uint16, count uint32, value []byte) {
		b = order.AppendUint32(order.AppendUint16(order.AppendUint16(b, id), kind), count)
		b = append(b, append(bytes.Clone(value), 0, 0, 0, 0)[:4]...)
	}
	u32 := func(v uint32) []byte { return order.AppendUint32(nil, v) }
	b = order.AppendUint16(b, 3)
	tag(0x010f, ascii, 4, []byte("ACME")[:4])
	tag(tagOrientation, short, 1, order.AppendUint16(nil, turn))
	tag(tagGPS, long, 1, u32(gps))
	b = append(b, 0, 0, 0, 0)
	b = order.AppendUint16(b, 4)
	tag(1, ascii, 2, []byte("N\x00"))
	tag(2, rational, 3, u32(values))
	tag(3, ascii, 2, []byte("E\x00"))
	tag(4, rational, 3, u32(values+24))
	b = append(b, 0, 0, 0, 0)
	for _, v := range append(append([]uint32{}, latitude...), longitude...) {
		b = order.AppendUint32(b, v)
	}
	return b
}

func inBytes(order binary.AppendByteOrder, list []uint32) []byte {
	var b []byte
	for _, v := range list {
		b = order.AppendUint32(b, v)
	}
	return b
}

// corners is an image of w x h with the corner blocks red (row 0, column 0) and blue (row 0, last column).
func corners(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{255, 255, 255, 255}
			switch {
			case y < h/2 && x < w/2:
				c = color.RGBA{255, 0, 0, 255}
			case y < h/2 && x >= w/2:
				c = color.RGBA{0, 0, 255, 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

func asJPEG(t *testing.T, m image.Image, block []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	if block == nil {
		return b.Bytes()
	}
	out, err := withEXIF(b.Bytes(), block)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func decoded(t *testing.T, data []byte) image.Image {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// EXIF 2.3, tag Orientation: the visual sides of row 0 and of column 0.
var sides = map[uint16][2]string{
	1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"},
	5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"},
}

func TestOrientation(t *testing.T) {
	opposite := map[string]string{"top": "bottom", "bottom": "top", "left": "right", "right": "left"}
	for turn, s := range sides {
		for _, order := range []struct {
			binary.AppendByteOrder
			head string
		}{{binary.LittleEndian, "II*\x00"}, {binary.BigEndian, "MM\x00*"}} {
			k, err := Prepare("x.jpg", asJPEG(t, corners(64, 32), exifBlock(order, order.head, turn)), false)
			if err != nil {
				t.Fatal(err)
			}
			w, h := 64, 32
			if s[0] == "left" || s[0] == "right" {
				w, h = h, w
			}
			if k.Width != w || k.Height != h || !k.HadPosition {
				t.Errorf("%d: %+v", turn, k)
			}
			m := decoded(t, k.JPEG)
			at := func(a, b string) (r, g, bl uint32) {
				x, y := w/2, h/2
				for _, side := range []string{a, b} {
					switch side {
					case "top":
						y = h / 8
					case "bottom":
						y = h - 1 - h/8
					case "left":
						x = w / 8
					case "right":
						x = w - 1 - w/8
					}
				}
				r, g, bl, _ = m.At(x, y).RGBA()
				return r >> 8, g >> 8, bl >> 8
			}
			if r, g, b := at(s[0], s[1]); r < 200 || g > 60 || b > 60 {
				t.Errorf("%d: row 0, column 0 is %d %d %d, want red", turn, r, g, b)
			}
			if r, g, b := at(s[0], opposite[s[1]]); r > 60 || g > 60 || b < 200 {
				t.Errorf("%d: row 0, last column is %d %d %d, want blue", turn, r, g, b)
			}
		}
	}
}

func TestNoPositionRemains(t *testing.T) {
	order := binary.BigEndian
	block := exifBlock(order, "MM\x00*", 6)
	given := asJPEG(t, corners(64, 32), block)
	// Written once more as another program's packet, and behind the end of the picture.
	packet := "http://ns.adobe.com/xap/1.0/\x00<exif:GPSLatitude>48,51.493N</exif:GPSLatitude>"
	given = append(given[:2:2], append(append([]byte{0xff, 0xe1, 0, byte(2 + len(packet))}, packet...), given[2:]...)...)
	given = append(given, inBytes(order, latitude)...)
	for _, secret := range [][]byte{inBytes(order, latitude), inBytes(order, longitude), []byte("GPSLatitude"), []byte("ACME")} {
		if !bytes.Contains(given, secret) {
			t.Fatalf("the original does not hold %q", secret)
		}
	}
	bare, err := Prepare("x.jpg", given, false)
	if err != nil {
		t.Fatal(err)
	}
	for _, secret := range [][]byte{inBytes(order, latitude), inBytes(order, longitude), []byte("GPS"), []byte("ACME"), []byte("Exif")} {
		if bytes.Contains(bare.JPEG, secret) {
			t.Errorf("%q is still there", secret)
		}
	}
	if bare.HasMetadata || !bare.HadPosition {
		t.Errorf("%+v", bare)
	}
	// Kept on purpose: the block as it was but upright, and no more than the block.
	kept, err := Prepare("x.jpg", given, true)
	if err != nil {
		t.Fatal(err)
	}
	if !kept.HasMetadata || !bytes.Equal(exifOf(kept.JPEG), exifBlock(order, "MM\x00*", 1)) || bytes.Contains(kept.JPEG, []byte("GPSLatitude")) {
		t.Errorf("the block became %q", exifOf(kept.JPEG))
	}
	if m := decoded(t, kept.JPEG); m.Bounds().Dx() != 32 || m.Bounds().Dy() != 64 {
		t.Errorf("%v", m.Bounds())
	}
	// Handed on: nothing of it.
	if s := Strip(kept.JPEG); !bytes.Equal(s, bare.JPEG) {
		t.Error("Strip leaves another file than one that never had metadata")
	}
}

func TestResize(t *testing.T) {
	for _, c := range []struct{ w, h, toW, toH int }{{3200, 1000, 1600, 500}, {900, 4000, 360, 1600}, {1600, 10, 1600, 10}, {20, 10, 20, 10}, {5000, 1, 1600, 1}} {
		k, err := Prepare("x.jpg", asJPEG(t, image.NewGray(image.Rect(0, 0, c.w, c.h)), nil), true)
		if err != nil {
			t.Fatal(err)
		}
		if m := decoded(t, k.JPEG); k.Width != c.toW || k.Height != c.toH || m.Bounds() != image.Rect(0, 0, c.toW, c.toH) || k.HasMetadata {
			t.Errorf("%v became %d x %d, %v", c, k.Width, k.Height, m.Bounds())
		}
	}
}

// chunk is a chunk of a PNG with its checksum.
func chunk(kind string, data []byte) []byte {
	body := append([]byte(kind), data...)
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	return binary.BigEndian.AppendUint32(append(b, body...), crc32.ChecksumIEEE(body))
}

func TestPNG(t *testing.T) {
	clear := image.NewNRGBA(image.Rect(0, 0, 8, 4)) // wholly transparent
	var b bytes.Buffer
	if err := png.Encode(&b, clear); err != nil {
		t.Fatal(err)
	}
	const head = 8 + 25 // signature and IHDR
	data := append(bytes.Clone(b.Bytes()[:head]), chunk("eXIf", exifBlock(binary.LittleEndian, "II*\x00", 6))...)
	data = append(data, b.Bytes()[head:]...)
	k, err := Prepare("x.png", data, false)
	if err != nil {
		t.Fatal(err)
	}
	if k.Width != 4 || k.Height != 8 || !k.HadPosition || !strings.HasPrefix(k.Given, "PNG, 8 x 4") {
		t.Errorf("%+v", k)
	}
	if r, g, bl, _ := decoded(t, k.JPEG).At(1, 1).RGBA(); r>>8 < 250 || g>>8 < 250 || bl>>8 < 250 {
		t.Errorf("what is transparent became %d %d %d, want white", r>>8, g>>8, bl>>8)
	}
}

func TestRefusals(t *testing.T) {
	// A PNG of 60 bytes that claims 50000 x 50000 pixels, as a decompression bomb does.
	ihdr := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, 50000), 50000)
	bomb := append([]byte(pngMark), chunk("IHDR", append(ihdr, 8, 2, 0, 0, 0))...)
	bomb = append(append(bomb, chunk("IDAT", []byte{0})...), chunk("IEND", nil)...)
	whole := asJPEG(t, corners(64, 64), nil)
	for want, data := range map[string][]byte{
		"50000 x 50000 pixels are too many": bomb,
		"no JPEG or PNG":                    []byte("GIF89a"),
		"damaged or cut short":              whole[:len(whole)-20],
		"65 MB are too much":                make([]byte, MaxBytes+1<<20),
	} {
		if _, err := Prepare("x", data, false); err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x: ") {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func FuzzPrepare(f *testing.F) {
	f.Add([]byte("\xff\xd8\xff\xe1\x00\x0aExif\x00\x00II"))
	f.Add(append([]byte(pngMark), chunk("eXIf", exifBlock(binary.LittleEndian, "II*\x00", 6))...))
	f.Fuzz(func(t *testing.T, data []byte) {
		block := exifOf(data)
		turn, at := orientation(block)
		if turn < 1 || turn > 8 || at > len(block) {
			t.Errorf("orientation %d at %d", turn, at)
		}
		hasPosition(block)
		Strip(data)
		if at > 0 {
			withOrientation(block, at)
		}
	})
}
