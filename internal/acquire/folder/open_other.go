//go:build !linux && !windows

package folder

import "os"

// complete reads a file. This system does not tell who has it open; the quiet time must do.
func complete(path string) ([]byte, error) { return os.ReadFile(path) }
