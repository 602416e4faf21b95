package csvtrace

import (
	"bytes"
	"errors"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

var (
	utf8Mark    = []byte("\xef\xbb\xbf")
	utf16Little = []byte("\xff\xfe")
	utf16Big    = []byte("\xfe\xff")
)

// wide reads UTF-16 as UTF-8.
type wide struct {
	r    io.Reader
	big  bool
	in   []byte
	have int
	out  []byte
	err  error
	buf  []byte
	half rune // first half of a pair, 0 = none
}

func newWide(r io.Reader, big bool) *wide { return &wide{r: r, big: big, in: make([]byte, 64<<10)} }

func (w *wide) Read(p []byte) (int, error) {
	for len(w.out) == 0 {
		if w.err != nil {
			return 0, w.err
		}
		n, err := w.r.Read(w.in[w.have:])
		w.have += n
		w.err = err
		w.convert()
	}
	n := copy(p, w.out)
	w.out = w.out[n:]
	return n, nil
}

func (w *wide) convert() {
	w.buf = w.buf[:0]
	i := 0
	for ; i+1 < w.have; i += 2 {
		c := rune(w.in[i]) | rune(w.in[i+1])<<8
		if w.big {
			c = rune(w.in[i+1]) | rune(w.in[i])<<8
		}
		switch {
		case w.half != 0:
			w.buf = utf8.AppendRune(w.buf, utf16.DecodeRune(w.half, c))
			w.half = 0
		case utf16.IsSurrogate(c):
			w.half = c
		default:
			w.buf = utf8.AppendRune(w.buf, c)
		}
	}
	w.have = copy(w.in, w.in[i:w.have])
	w.out = w.buf
}

// returns reads text whose lines end in CR alone with LF instead.
type returns struct{ r io.Reader }

func (c returns) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	toFeeds(p[:n])
	return n, err
}

func toFeeds(p []byte) {
	for i := bytes.IndexByte(p, '\r'); i >= 0 && i < len(p); {
		p[i] = '\n'
		k := bytes.IndexByte(p[i:], '\r')
		if k < 0 {
			return
		}
		i += k
	}
}

// returnsOnly tells that the lines of a head end in CR alone.
func returnsOnly(head []byte) bool {
	return bytes.IndexByte(head, '\n') < 0 && bytes.IndexByte(head, '\r') >= 0
}

// isText tells that no byte of a head is one that text does not hold.
func isText(head []byte) bool {
	odd := 0
	for _, c := range head {
		if c == 0 {
			return false
		}
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' && c != '\f' && c != '\v' && c != 0x1a {
			odd++
		}
	}
	return odd*100 <= len(head)
}

// fill reads into buf until it is full or the text ends.
func fill(r io.Reader, buf []byte) (n int, ended bool, err error) {
	for n < len(buf) {
		k, err := r.Read(buf[n:])
		n += k
		if errors.Is(err, io.EOF) {
			return n, true, nil
		}
		if err != nil {
			return n, false, err
		}
	}
	return n, false, nil
}
