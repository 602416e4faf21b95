package app

import (
	"context"
	"fmt"

	"github.com/hardcatch/hardcatch/internal/app/picture"
	"github.com/hardcatch/hardcatch/internal/look"
	"github.com/hardcatch/hardcatch/internal/store"
)

// PhotoInput is a photo of a specimen or a break.
type PhotoInput struct {
	Drop    string
	Name    string // of the file
	Data    []byte
	Caption string
	// KeepPosition keeps the camera's EXIF block, with the position and whatever else it holds.
	KeepPosition bool
	By           string
}

// PhotoResult is what attaching a photo did.
type PhotoResult struct {
	look.Receipt
	store.Photo
	Given       string   `json:"given"`        // format and size of the original
	HadPosition bool     `json:"had_position"` // the original states where it was taken
	Warnings    []string `json:"warnings"`
}

// AttachPhoto keeps a photo of a drop: decoded and checked, upright, its longest side at most picture.Longest, written
// anew as JPEG without any metadata unless that is kept on purpose. The original is not kept; its SHA-256 is.
func AttachPhoto(ctx context.Context, a *look.Access, path string, in PhotoInput) (*PhotoResult, error) {
	k, err := picture.Prepare(in.Name, in.Data, in.KeepPosition)
	if err != nil {
		return nil, err
	}
	p := store.Photo{
		Drop: in.Drop, Name: in.Name, Caption: in.Caption, OriginalSHA256: store.SumHex(in.Data), OriginalBytes: int64(len(in.Data)),
		SHA256: store.SumHex(k.JPEG), Bytes: int64(len(k.JPEG)), Width: k.Width, Height: k.Height, KeptMetadata: k.HasMetadata, By: in.By,
	}
	res := &PhotoResult{Photo: p, Given: k.Given, HadPosition: k.HadPosition, Warnings: []string{}}
	switch {
	case in.KeepPosition && !k.HasMetadata:
		res.Warnings = append(res.Warnings, in.Name+": there is no EXIF block that could be kept; the photo says nothing of where and when it was taken")
	case in.KeepPosition && !k.HadPosition:
		res.Warnings = append(res.Warnings, in.Name+": the EXIF block was kept, but it holds no position")
	}
	s, err := a.Files.Open(ctx, path)
	return res, look.Within(s, err, func(s store.Store) error {
		r, err := s.AddPhoto(ctx, p, k.JPEG)
		res.Receipt = look.ReceiptOf(r)
		return err
	})
}

// MaxPhoto is how many bytes a photo may have.
const MaxPhoto = picture.MaxBytes

// Photo gives the picture of a drop's photo, numbered from 1, without the camera's metadata.
func Photo(ctx context.Context, s *look.Campaign, dropID string, n int) (jpeg []byte, err error) {
	err = s.S.View(ctx, func(r store.Reader) error {
		if _, err := r.Drop(ctx, dropID); err != nil {
			return err
		}
		photos, err := r.DropPhotos(ctx, dropID)
		if err != nil {
			return err
		}
		if n < 1 || n > len(photos) {
			return &store.Problem{Reason: store.ErrNotFound, Place: "drop " + dropID, Fact: fmt.Sprintf("has %d photos, none with the number %d", len(photos), n), WayOut: "look at the drop's page"}
		}
		b, err := r.PhotoBytes(ctx, photos[n-1].Value.SHA256)
		if err != nil {
			return fmt.Errorf("drop %s: %w", dropID, err)
		}
		jpeg = picture.Strip(b)
		return nil
	})
	return jpeg, err
}

// PhotoFile is a photo with its bytes.
type PhotoFile struct {
	store.Photo
	JPEG []byte `json:"-"`
}

// Photos gives back the photos of a drop, oldest first, checked against their SHA-256.
func Photos(ctx context.Context, a *look.Access, path, dropID string) (out []PhotoFile, err error) {
	return out, a.Read(ctx, path, func(r store.Reader) error {
		if _, err := r.Drop(ctx, dropID); err != nil {
			return err
		}
		photos, err := r.DropPhotos(ctx, dropID)
		if err != nil {
			return err
		}
		for _, p := range photos {
			b, err := r.PhotoBytes(ctx, p.Value.SHA256)
			if err != nil {
				return fmt.Errorf("drop %s: %w", dropID, err)
			}
			out = append(out, PhotoFile{Photo: p.Value, JPEG: b})
		}
		return nil
	})
}
