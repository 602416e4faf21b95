package cli_test

import (
	"net"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"github.com/hardcatch/hardcatch/internal/waittest"
)

// freePort gives each script the number of a port that was free a moment ago, as $PORT.
func freePort(e *testscript.Env) error {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return err
	}
	e.Setenv("PORT", port)
	return l.Close()
}

// expand replaces $PORT in files: expand FILE ...
func expand(ts *testscript.TestScript, _ bool, args []string) {
	for _, name := range args {
		text := strings.ReplaceAll(ts.ReadFile(name), "$PORT", ts.Getenv("PORT"))
		ts.Check(os.WriteFile(ts.MkAbs(name), []byte(text), 0o600))
	}
}

// eventually runs a command again until it succeeds: what it talks to may still be starting.
func eventually(ts *testscript.TestScript, _ bool, args []string) {
	var err error
	if waittest.Holds(func() bool {
		err = ts.Exec(args[0], args[1:]...)
		return err == nil
	}) {
		return
	}
	ts.Fatalf("%s: %v", strings.Join(args, " "), err)
}
