package sqlstore

import (
	"context"
	"fmt"
)

// reportOpening opens args[0] for writing, then for reading, and says on standard output what came
// of it, one line each.
func reportOpening(args []string) error {
	ctx := context.Background()
	s, err := Open(ctx, args[0], Options{})
	if err == nil {
		err = s.Close()
	}
	fmt.Println("write:", err)
	s, err = OpenReadOnly(ctx, args[0])
	if err != nil {
		fmt.Println("read:", err)
		return nil
	}
	if err := verified(ctx, s); err != nil {
		fmt.Println("read:", err)
		return s.Close()
	}
	h, err := s.Head(ctx)
	fmt.Println("read:", h.Seq, err)
	return s.Close()
}
