package acquire

// recentSamples says which of the latest samples could still become the beginning of a drop. The samples themselves are in the
// spool.
type recentSamples struct {
	room        int64
	first, next int64 // oldest held, and one past the newest
	gaps        []gap // within it, in order
}

// gap is samples that did not come.
type gap struct{ from, to int64 }

// put takes note of samples from..to. What lies between the newest held and them did not come.
func (h *recentSamples) put(from, to int64) {
	switch {
	case h.next == h.first:
		h.first = from
	case from > h.next:
		h.gaps = append(h.gaps, gap{h.next, from})
	}
	h.next = to
	h.first = max(h.first, h.next-h.room)
	cut := 0
	for cut < len(h.gaps) && h.gaps[cut].to <= h.first {
		cut++
	}
	h.gaps = h.gaps[cut:]
}

// absent counts the samples from..to that did not come.
func (h *recentSamples) absent(from, to int64) int64 {
	n := max(0, to-max(from, h.next))
	for _, g := range h.gaps {
		n += max(0, min(to, g.to)-max(from, g.from))
	}
	return n
}
