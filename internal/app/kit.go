package app

import (
	"embed"
	"io/fs"
)

//go:embed kit
var kit embed.FS

// Kit is the files that a new campaign starts from, each with comments on what to put in its place. The plan is a whole one and can be laid out as
// it stands; its rig is marked as invented.
func Kit() fs.FS {
	sub, err := fs.Sub(kit, "kit")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	return sub
}
