package picture

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// Tags of the first directory, EXIF 2.3 (CIPA DC-008-2012), tables 4 and 13.
const (
	tagOrientation = 0x0112
	tagGPS         = 0x8825
)

const (
	exifMark = "Exif\x00\x00"
	pngMark  = "\x89PNG\r\n\x1a\n"
)

// exifOf is the TIFF structure that a JPEG (segment APP1) or PNG (chunk eXIf) carries, nil when there is none. A
// damaged file ends the search.
func exifOf(data []byte) []byte {
	if bytes.HasPrefix(data, []byte(pngMark)) {
		return pngEXIF(data[len(pngMark):])
	}
	var block []byte
	segments(data, func(marker byte, payload []byte, _, _ int) bool {
		if marker == 0xe1 && bytes.HasPrefix(payload, []byte(exifMark)) {
			block = payload[len(exifMark):]
		}
		return block == nil
	})
	return block
}

// segments walks over the marker segments of a JPEG before its picture, until fn says no. from and to are where the
// whole segment stands.
func segments(data []byte, fn func(marker byte, payload []byte, from, to int) bool) {
	if len(data) < 2 || data[0] != 0xff || data[1] != 0xd8 {
		return
	}
	for at := 2; at+4 <= len(data) && data[at] == 0xff; {
		marker := data[at+1]
		if marker == 0xff { // fill byte
			at++
			continue
		}
		if marker == 0xda { // start of scan
			return
		}
		n := int(binary.BigEndian.Uint16(data[at+2:]))
		to := at + 2 + n
		if n < 2 || to > len(data) || !fn(marker, data[at+4:to], at, to) {
			return
		}
		at = to
	}
}

func pngEXIF(rest []byte) []byte {
	for len(rest) >= 12 {
		n := int(binary.BigEndian.Uint32(rest))
		if n < 0 || n > len(rest)-12 {
			return nil
		}
		if string(rest[4:8]) == "eXIf" {
			return rest[8 : 8+n]
		}
		rest = rest[12+n:]
	}
	return nil
}

// entry finds a tag of the first directory: the place of its 12 bytes in the block, 0 when it is not there.
func entry(block []byte, tag uint16) (at int, order binary.ByteOrder) {
	if len(block) < 8 {
		return 0, nil
	}
	switch string(block[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return 0, nil
	}
	first := int64(order.Uint32(block[4:]))
	if first < 8 || first+2 > int64(len(block)) {
		return 0, nil
	}
	count := int(order.Uint16(block[first:]))
	for i := range count {
		p := int(first) + 2 + 12*i
		if p+12 > len(block) {
			return 0, nil
		}
		if order.Uint16(block[p:]) == tag {
			return p, order
		}
	}
	return 0, nil
}

// orientation is 1 to 8, 1 when it is not stated, and the place of its value in the block, 0 when there is none.
func orientation(block []byte) (turn, at int) {
	p, order := entry(block, tagOrientation)
	if p == 0 || order.Uint16(block[p+2:]) != 3 || order.Uint32(block[p+4:]) != 1 { // one SHORT
		return 1, 0
	}
	v := int(order.Uint16(block[p+8:]))
	if v < 1 || v > 8 {
		return 1, p + 8
	}
	return v, p + 8
}

func hasPosition(block []byte) bool {
	p, _ := entry(block, tagGPS)
	return p != 0
}

// withOrientation is a copy of the block that says upright.
func withOrientation(block []byte, at int) []byte {
	out := bytes.Clone(block)
	_, order := entry(block, tagOrientation)
	order.PutUint16(out[at:], 1)
	return out
}

// withEXIF puts the block right behind the start of a JPEG.
func withEXIF(picture, block []byte) ([]byte, error) {
	n := 2 + len(exifMark) + len(block)
	if n > 0xffff {
		return nil, fmt.Errorf("its EXIF block of %d bytes does not fit into a JPEG; attach it without keeping the position", len(block))
	}
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1, byte(n >> 8), byte(n)}, exifMark...)
	out = append(out, block...)
	return append(out, picture[2:]...), nil
}

// Strip is a JPEG without its application segments and comments: what may be handed on of a picture whose metadata was
// kept.
func Strip(picture []byte) []byte {
	var out []byte
	done := 0
	segments(picture, func(marker byte, _ []byte, from, to int) bool {
		if marker >= 0xe1 && marker <= 0xef || marker == 0xfe {
			out = append(out, picture[done:from]...)
			done = to
		}
		return true
	})
	return append(out, picture[done:]...)
}
