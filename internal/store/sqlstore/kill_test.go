package sqlstore

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
	"github.com/hardcatch/hardcatch/internal/store/storetest"
)

// writeUntilKilled writes to the campaign args[0] and acknowledges each commit on standard output
// with the number and hash of its last entry. args[1] keeps names apart.
func writeUntilKilled(args []string) error {
	ctx := context.Background()
	s, err := Open(ctx, args[0], Options{})
	if err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(uint64(len(args[1])), uint64(os.Getpid())))
	for i := 0; ; i++ {
		id := fmt.Sprintf("%s-%d", args[1], i)
		receipt, err := s.AddDrop(ctx, storetest.Drop(id))
		if err != nil {
			return err
		}
		acknowledge(receipt)
		original := make([]byte, 1+r.IntN(12e3))
		for j := range original {
			original[j] = byte(r.Uint32N(40)) // compresses a little
		}
		if receipt, err = s.AddTrace(ctx, id, id+".csv", store.Bytes(original)); err != nil {
			return err
		}
		acknowledge(receipt)
		if err := s.Update(ctx, func(tx store.Tx) error {
			receipt, err = batch(ctx, tx, id, store.SumHex(original))
			return err
		}); err != nil {
			return err
		}
		acknowledge(receipt)
	}
}

func batch(ctx context.Context, tx store.Tx, id, sum string) (store.Receipt, error) {
	if _, err := tx.AddReduction(ctx, store.Reduction{Drop: id, TraceSHA256: sum, Version: "v", Settings: []byte("{}"), Result: []byte(`{"peak_N":1}`)}); err != nil {
		return store.Receipt{}, err
	}
	if _, err := tx.AddNote(ctx, store.Note{Drop: id, Text: "seen"}); err != nil {
		return store.Receipt{}, err
	}
	return tx.Decide(ctx, drop.Decision{Drop: id, Outcome: drop.Held, Reason: "tail"})
}

func acknowledge(r store.Receipt) {
	fmt.Println(r.Seq, r.Hash)
}

// acks reads acknowledgements and closes enough after so many; a line that the kill cut in two does
// not count.
func acks(t *testing.T, out io.Reader, wanted int, enough chan<- struct{}) map[int64]string {
	got := map[int64]string{}
	in := bufio.NewReader(out)
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			return got
		}
		number, hash, _ := strings.Cut(strings.TrimSpace(line), " ")
		seq, err := strconv.ParseInt(number, 10, 64)
		if err != nil {
			t.Errorf("acknowledgement %q: %v", line, err)
			return got
		}
		got[seq] = hash
		if len(got) == wanted {
			close(enough)
		}
	}
}

// live starts a writer, kills it a while after it has acknowledged so many commits, and returns what
// it acknowledged.
func live(t *testing.T, path, name string, commits int, while time.Duration) map[int64]string {
	t.Helper()
	cmd := child(t, self(t), "write", path, name)
	stdout, err := cmd.StdoutPipe()
	mustDo(t, err)
	mustDo(t, cmd.Start())
	enough, done := make(chan struct{}), make(chan map[int64]string, 1)
	go func() { done <- acks(t, stdout, commits, enough) }()
	select {
	case <-enough:
	case got := <-done:
		t.Fatalf("the writer ended by itself after %d acknowledgements: %v", len(got), cmd.Wait())
	}
	time.Sleep(while) // Waits for time: the moment of the kill.
	mustDo(t, cmd.Process.Kill())
	got := <-done
	var exit *exec.ExitError
	if err := cmd.Wait(); !errors.As(err, &exit) || exit.Success() {
		t.Fatalf("the writer ended with %v, want that it was killed", err)
	}
	return got
}

// TestKill kills a writing process again and again. Each life goes on with the file that the life
// before left; every tenth starts a new one, so that Verify stays short.
func TestKill(t *testing.T) {
	const lives, perFile = 200, 10
	var mu sync.Mutex
	total, entries := 0, int64(0)
	t.Run("files", func(t *testing.T) {
		for file := range lives / perFile {
			t.Run(fmt.Sprint(file), func(t *testing.T) {
				t.Parallel()
				r := rand.New(rand.NewPCG(7, uint64(file)))
				path := newPath(t)
				atRest(t, path)
				known := map[int64]string{}
				for life := range perFile {
					got := live(t, path, fmt.Sprint(life), 1+r.IntN(15), time.Duration(r.Int64N(int64(10*time.Millisecond))))
					for seq, hash := range got {
						known[seq] = hash
					}
					n := survived(t, path, known)
					mu.Lock()
					total += len(got)
					entries = max(entries, n)
					mu.Unlock()
				}
			})
		}
	})
	t.Logf("%d acknowledged commits over %d kills; up to %d entries in a file", total, lives, entries)
	if total < 5*lives { // 8 a life at least on the average, by the draw
		t.Errorf("%d acknowledged commits over %d kills are too few to say anything", total, lives)
	}
}

// survived reopens the file as the next user would and looks for everything acknowledged.
func survived(t *testing.T, path string, known map[int64]string) int64 {
	t.Helper()
	s, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatalf("after a kill: %v", err)
	}
	defer func() { mustDo(t, s.Close()) }()
	v, err := s.Verify(t.Context())
	if err != nil || v.Break != nil {
		t.Fatalf("after a kill: %v, %v", v.Break, err)
	}
	history, err := s.History(t.Context())
	mustDo(t, err)
	for seq, hash := range known {
		if seq > int64(len(history)) || history[seq-1].Hash.String() != hash {
			t.Fatalf("entry %d was acknowledged as %s and is lost; the history has %d entries", seq, hash, len(history))
		}
	}
	return v.Entries
}

// createUntilKilled makes campaigns args[0]-0, args[0]-1, ... and acknowledges each.
func createUntilKilled(args []string) error {
	for i := 0; ; i++ {
		s, err := Create(context.Background(), fmt.Sprintf("%s-%d", args[0], i), storetest.Question(), Options{})
		if err != nil {
			return err
		}
		fmt.Println(i)
		if err := s.Close(); err != nil {
			return err
		}
	}
}

// TestKillWhileCreating looks at what a kill during Create leaves: a campaign, or an empty file that
// says so, and never anything else under the name.
func TestKillWhileCreating(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	empty := 0
	for range 20 {
		folder := t.TempDir()
		cmd := child(t, self(t), "create", filepath.Join(folder, "trial"))
		stdout, err := cmd.StdoutPipe()
		mustDo(t, err)
		mustDo(t, cmd.Start())
		in := bufio.NewReader(stdout)
		if _, err := in.ReadString('\n'); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(r.Int64N(int64(25 * time.Millisecond)))) // Waits for time: the moment of the kill.
		mustDo(t, cmd.Process.Kill())
		rest, err := io.ReadAll(in)
		mustDo(t, err)
		if err := cmd.Wait(); err == nil {
			t.Fatal("the killed process ended well")
		}
		acknowledged := 1 + strings.Count(string(rest), "\n")
		for i := 0; ; i++ {
			s, err := Open(t.Context(), filepath.Join(folder, fmt.Sprintf("trial-%d", i)), Options{})
			if errors.Is(err, store.ErrMissing) && i >= acknowledged {
				break
			}
			if errors.Is(err, store.ErrEmpty) && i >= acknowledged {
				empty++
				continue
			}
			if err != nil {
				t.Fatalf("campaign %d of %d acknowledged: %v", i, acknowledged, err)
			}
			if err := verified(t.Context(), s); err != nil {
				t.Error(err)
			}
			mustDo(t, s.Close())
		}
	}
	t.Logf("%d of 20 kills left an empty reservation", empty)
}
