package cli_test

import (
	"bytes"
	"encoding/json"
	"image"
	"image/jpeg"
	"os"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// exits runs a command and wants its exit status: exits 2 hardcatch bogus. Output is kept in the files
// out and err.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS COMMAND [ARG ...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if err != nil {
		text := err.Error()
		n, perr := strconv.Atoi(strings.TrimPrefix(text, "exit status "))
		if perr != nil {
			ts.Fatalf("%s: %v", strings.Join(args[1:], " "), err)
		}
		got = n
	}
	if got != want {
		ts.Fatalf("%s: exit status %d, want %d", strings.Join(args[1:], " "), got, want)
	}
}

// fields wants the last command's stdout to be one JSON object, or a list of them, with the fields named; a dot
// goes into an object or the first element of a list.
func fields(ts *testscript.TestScript, neg bool, args []string) {
	var v any
	d := json.NewDecoder(strings.NewReader(ts.ReadFile("stdout")))
	ts.Check(d.Decode(&v))
	if d.More() {
		ts.Fatalf("more than one JSON value on stdout")
	}
	for _, path := range args {
		at := v
		for _, key := range strings.Split(path, ".") {
			if list, ok := at.([]any); ok {
				if len(list) == 0 {
					ts.Fatalf("%s: empty list", path)
				}
				at = list[0]
			}
			obj, ok := at.(map[string]any)
			if !ok {
				ts.Fatalf("%s: no object at %s", path, key)
			}
			next, ok := obj[key]
			if ok == neg {
				ts.Fatalf("%s: field %s present: %v", path, key, ok)
			}
			at = next
		}
	}
}

// picture writes a grey JPEG with an EXIF block of one tag, the camera's maker: picture NAME WIDTH HEIGHT.
func picture(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: picture NAME WIDTH HEIGHT")
	}
	w, err := strconv.Atoi(args[1])
	ts.Check(err)
	h, err := strconv.Atoi(args[2])
	ts.Check(err)
	var b bytes.Buffer
	ts.Check(jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, w, h)), nil))
	block := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x0f\x00\x02\x00\x00\x00\x04ACME\x00\x00\x00\x00"
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(2 + len(block))}, block...)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), append(out, b.Bytes()[2:]...), 0o666))
}
