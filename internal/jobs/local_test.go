package jobs

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
)

func TestLocalRunsEveryPartOnce(t *testing.T) {
	seen := make([]atomic.Int32, 1000)
	told := 0
	err := Local(context.Background(), len(seen), func() func(context.Context, int) error {
		return func(_ context.Context, part int) error {
			seen[part].Add(1)
			return nil
		}
	}, func(int) bool {
		told++
		return true
	})
	if err != nil || told != len(seen) {
		t.Fatal(err, told)
	}
	for i := range seen {
		if seen[i].Load() != 1 {
			t.Errorf("part %d ran %d times", i, seen[i].Load())
		}
	}
}

func TestLocalEnds(t *testing.T) {
	boom := errors.New("boom")
	run := func(ctx context.Context, failAt, stopAt int) (int, error) {
		n := 0
		err := Local(ctx, 100000, func() func(context.Context, int) error {
			return func(_ context.Context, part int) error {
				if part == failAt {
					return boom
				}
				return nil
			}
		}, func(part int) bool {
			n++
			return part != stopAt
		})
		return n, err
	}
	if n, err := run(context.Background(), 50, -1); !errors.Is(err, boom) || n > 1000 {
		t.Errorf("%d parts after an error: %v", n, err)
	}
	if n, err := run(context.Background(), -1, 50); err != nil || n > 1000 || n < 50 {
		t.Errorf("%d parts after a stop: %v", n, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if n, err := run(ctx, -1, -1); !errors.Is(err, context.Canceled) || n != 0 {
		t.Errorf("%d parts after a cancel: %v", n, err)
	}
	if err := Local(context.Background(), 0, nil, nil); err != nil {
		t.Error(err)
	}
}
