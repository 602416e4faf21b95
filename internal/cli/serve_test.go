package cli_test

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/cli"
	"github.com/hardcatch/hardcatch/internal/day"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/sqlstore"
	"github.com/hardcatch/hardcatch/internal/traceio"
	"github.com/hardcatch/hardcatch/internal/traceio/csvtrace"
)

// The first line is the address; what it names answers, until the command is stopped.
func TestServePrintsWhereToOpen(t *testing.T) {
	formats := traceio.NewRegistry()
	formats.Register(csvtrace.Format{})
	formats.Register(csvtrace.First())
	a := &look.Access{Files: sqlstore.Files{}, Formats: formats, Now: time.Now, Version: "test"}
	path := filepath.Join(t.TempDir(), "x.hardcatch")
	st, err := a.Files.Create(context.Background(), path, store.Campaign{Name: "x", Question: "y?"})
	if err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	r, w := io.Pipe()
	var complaints bytes.Buffer
	done := make(chan int, 1)
	go func() { done <- cli.Run(ctx, &day.Bench{Access: a}, []string{"serve", path}, w, &complaints) }()
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil || !strings.HasPrefix(line, "http://127.0.0.1:") {
		t.Fatal(line, err)
	}
	// Another server of the same file takes a free port; the one after it has the address of the first again.
	if second := served(t, a, path); second == line {
		t.Errorf("two servers at %s", line)
	}
	res, err := http.Get(strings.TrimSpace(line))
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil || res.StatusCode != 200 {
		t.Error(res.StatusCode, err)
	}
	stop()
	if code := <-done; code != 0 {
		t.Errorf("exit %d: %s", code, complaints.String())
	}
	if again := served(t, a, path); again != line {
		t.Errorf("started again it answers at %s, before at %s", again, line)
	}
}

// served is the address that serve prints; it is stopped then.
func served(t *testing.T, a *look.Access, path string) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r, w := io.Pipe()
	var complaints bytes.Buffer
	done := make(chan int, 1)
	go func() { done <- cli.Run(ctx, &day.Bench{Access: a}, []string{"serve", path}, w, &complaints) }()
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	stop()
	if code := <-done; code != 0 {
		t.Errorf("exit %d: %s", code, complaints.String())
	}
	return line
}

// Nothing that other machines reach is opened unasked.
func TestServeStaysOnThisMachine(t *testing.T) {
	a := &look.Access{Files: sqlstore.Files{}, Formats: traceio.NewRegistry(), Now: time.Now}
	for _, args := range [][]string{{"--listen", "0.0.0.0:0"}, {"--listen", ":0"}, {"--listen", "[::]:0"}, {"--listen", "192.0.2.1:80"}, {"--listen", "nowhere"}, {"--name", "bench.example"}} {
		var out, complaints bytes.Buffer
		if code := cli.Run(context.Background(), &day.Bench{Access: a}, append([]string{"serve", "x.hardcatch"}, args...), &out, &complaints); code != 2 || out.Len() > 0 {
			t.Errorf("%v: exit %d, %s%s", args, code, out.String(), complaints.String())
		}
	}
}
