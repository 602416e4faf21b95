// Package picture makes photos fit to be kept: upright, of moderate size, and without what the camera wrote beside
// them.
package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // registers the decoder
	"strings"

	"golang.org/x/image/draw"
)

// Bounds of what is taken. A picture is measured before it is decoded: a file of a few kilobytes can claim an image
// that fills the memory.
const (
	MaxBytes  = 64 << 20
	MaxPixels = 64e6
	MaxSide   = 30000
	// smallFile is a file, in bytes, that is not given more than smallRoom, in bytes, for the picture it claims to hold: a
	// photo of that size has no more.
	smallFile = 1 << 20
	smallRoom = 48 << 20
	// Longest is the longest side of what is kept, in pixels.
	Longest = 1600
	quality = 85
)

// Kept is a picture as it is kept.
type Kept struct {
	JPEG          []byte
	Width, Height int
	Given         string // format and size of the original, "jpeg, 4000 x 3000"
	HadPosition   bool   // the original states where it was taken
	HasMetadata   bool   // the original's EXIF block is in JPEG
}

// Prepare decodes a JPEG or PNG, turns it upright, brings its longest side to at most Longest and writes it anew as a
// JPEG, which leaves everything but the pixels behind. With keep the original's EXIF block goes into the new file as it
// is, but for its orientation, which has been applied.
func Prepare(name string, data []byte, keep bool) (*Kept, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%s: %d MB are too much for a photo (at most %d MB); export it smaller", name, len(data)>>20, MaxBytes>>20)
	}
	size, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s: it is no JPEG or PNG that can be read (%w); export the photo as JPEG", name, err)
	}
	if size.Width < 1 || size.Height < 1 || size.Width > MaxSide || size.Height > MaxSide || float64(size.Width)*float64(size.Height) > MaxPixels {
		return nil, fmt.Errorf("%s: %d x %d pixels are too many (at most %.0f million and %d on a side); export it smaller", name, size.Width, size.Height, MaxPixels/1e6, MaxSide)
	}
	if room := roomOf(data, size); len(data) < smallFile && room > smallRoom {
		return nil, fmt.Errorf("%s: %d x %d pixels in %d kB are no photo (they would take %d MB); copy it from the camera again, or export it smaller", name, size.Width, size.Height, (len(data)+999)/1000, room>>20)
	}
	src, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s: the picture is damaged or cut short (%w); copy it from the camera again", name, err)
	}
	block := exifOf(data)
	turn, at := orientation(block)
	img := upright(shrink(src), turn)
	k := &Kept{Width: img.Bounds().Dx(), Height: img.Bounds().Dy(), Given: fmt.Sprintf("%s, %d x %d", strings.ToUpper(format), size.Width, size.Height), HadPosition: hasPosition(block)}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	k.JPEG = out.Bytes()
	if !keep || len(block) == 0 {
		return k, nil
	}
	if at > 0 {
		block = withOrientation(block, at)
	}
	if k.JPEG, err = withEXIF(k.JPEG, block); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	k.HasMetadata = true
	return k, nil
}

// roomOf is what decoding a picture takes, in bytes: its samples and, for a progressive JPEG, four more for each as
// the coefficients of the transform.
func roomOf(data []byte, size image.Config) int {
	each := 4
	switch size.ColorModel {
	case color.GrayModel:
		each = 1
	case color.Gray16Model:
		each = 2
	case color.YCbCrModel:
		each = 3
	case color.RGBA64Model, color.NRGBA64Model:
		each = 8
	}
	segments(data, func(marker byte, _ []byte, _, _ int) bool {
		if marker == 0xc2 { // ISO/IEC 10918-1, table B.1: progressive
			each *= 5
			return false
		}
		return true
	})
	return each * size.Width * size.Height
}

// shrink draws the picture on white with its longest side at most Longest.
func shrink(src image.Image) *image.RGBA {
	b := src.Bounds()
	w, h := b.Dx(), b.Dy()
	if longest := max(w, h); longest > Longest {
		w, h = max(1, (w*Longest+longest/2)/longest), max(1, (h*Longest+longest/2)/longest)
	}
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(dst, dst.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.CatmullRom.Scale(dst, dst.Bounds(), src, b, draw.Over, nil)
	return dst
}

// upright undoes the orientation of EXIF 2.3, tag 0x0112: the visual side on which the stored row 0 and column 0 lie.
func upright(src *image.RGBA, turn int) *image.RGBA {
	w, h := src.Bounds().Dx(), src.Bounds().Dy()
	from := map[int]func(x, y int) (int, int){
		2: func(x, y int) (int, int) { return w - 1 - x, y },
		3: func(x, y int) (int, int) { return w - 1 - x, h - 1 - y },
		4: func(x, y int) (int, int) { return x, h - 1 - y },
		5: func(x, y int) (int, int) { return y, x },
		6: func(x, y int) (int, int) { return y, h - 1 - x },
		7: func(x, y int) (int, int) { return w - 1 - y, h - 1 - x },
		8: func(x, y int) (int, int) { return w - 1 - y, x },
	}[turn]
	if from == nil {
		return src
	}
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	if turn >= 5 {
		dst = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range dst.Bounds().Dy() {
		for x := range dst.Bounds().Dx() {
			sx, sy := from(x, y)
			copy(dst.Pix[dst.PixOffset(x, y):][:4], src.Pix[src.PixOffset(sx, sy):][:4])
		}
	}
	return dst
}
