package storetest

import (
	"bytes"
	"testing"

	"github.com/hardcatch/hardcatch/internal/drop"
	"github.com/hardcatch/hardcatch/internal/store"
)

func checklists(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	for _, id := range []string{"2", "1"} {
		wrote(t, store.Added)(s.AddDrop(ctx, Drop(id)))
	}
	first, second := Checklist("1"), Checklist("1")
	second.By = "ab"
	wrote(t, store.Added)(s.AddChecklist(ctx, first))
	wrote(t, store.Revised)(s.AddChecklist(ctx, second))
	wrote(t, store.Revised)(s.AddChecklist(ctx, second)) // going through it again is an act too
	wrote(t, store.Added)(s.AddChecklist(ctx, Checklist("2")))

	var all, latest []drop.Checklist
	for _, r := range must[[]store.Revision[drop.Checklist]](t)(s.ChecklistHistory(ctx, "1")) {
		all = append(all, r.Value)
	}
	equal(t, all, []drop.Checklist{first, second, second})
	for _, r := range must[[]store.Revision[drop.Checklist]](t)(s.Checklists(ctx)) {
		latest = append(latest, r.Value)
	}
	equal(t, latest, []drop.Checklist{Checklist("2"), second})

	unmoved(t, s, func() {
		_, err := s.AddChecklist(ctx, drop.NewChecklist("1")) // nothing answered
		refused(t, err, store.ErrInvalid)
		_, err = s.AddChecklist(ctx, Checklist("9"))
		refused(t, err, store.ErrNotFound)
	})
	holds(t, s)
}

func photos(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	for _, id := range []string{"1", "2"} {
		wrote(t, store.Added)(s.AddDrop(ctx, Drop(id)))
	}
	kept, other := []byte("kept bytes of a photo"), []byte("of another")
	wrote(t, store.Added)(s.AddPhoto(ctx, Photo("1"), kept))
	wrote(t, store.Added)(s.AddPhoto(ctx, Photo("2"), kept)) // the same picture may show two drops
	captioned := Photo("1")
	captioned.Caption = "from below"
	wrote(t, store.Added)(s.AddPhoto(ctx, captioned, other))
	unmoved(t, s, func() { wrote(t, store.Unchanged)(s.AddPhoto(ctx, Photo("1"), kept)) })

	want := Photo("1")
	want.SHA256, want.Bytes = store.SumHex(kept), int64(len(kept))
	captioned.SHA256, captioned.Bytes = store.SumHex(other), int64(len(other))
	var ofDrop []store.Photo
	for _, r := range must[[]store.Revision[store.Photo]](t)(s.DropPhotos(ctx, "1")) {
		ofDrop = append(ofDrop, r.Value)
	}
	equal(t, ofDrop, []store.Photo{want, captioned})
	equal(t, len(must[[]store.Revision[store.Photo]](t)(s.Photos(ctx))), 3)
	for range 2 { // what a caller does to the bytes stays with the caller
		got := must[[]byte](t)(s.PhotoBytes(ctx, want.SHA256))
		if !bytes.Equal(got, []byte("kept bytes of a photo")) {
			t.Fatalf("the bytes came back as %q", got)
		}
		got[0] ^= 1
	}
	kept[0] ^= 1
	v := holds(t, s)
	equal(t, [2]int64{v.Photos, v.PhotoBytes}, [2]int64{2, int64(len(kept) + len(other))})
}

func photosRefused(t *testing.T, open Maker) {
	ctx, s := newCampaign(t, open)
	wrote(t, store.Added)(s.AddDrop(ctx, Drop("1")))
	unmoved(t, s, func() {
		_, err := s.AddPhoto(ctx, Photo("9"), []byte("x"))
		refused(t, err, store.ErrNotFound)
		_, err = s.AddPhoto(ctx, Photo("1"), nil)
		refused(t, err, store.ErrInvalid)
		sizeless, nameless := Photo("1"), Photo("1")
		sizeless.Width, nameless.OriginalSHA256 = 0, ""
		for _, p := range []store.Photo{sizeless, nameless} {
			_, err = s.AddPhoto(ctx, p, []byte("x"))
			refused(t, err, store.ErrInvalid)
		}
		_, err = s.PhotoBytes(ctx, store.SumHex([]byte("another")))
		refused(t, err, store.ErrNotFound)
	})
}
