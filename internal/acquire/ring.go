package acquire

// Ring keeps the latest samples of all channels, by their numbers.
type Ring struct {
	values [][]float64
	room   int64
	first  int64 // oldest sample held
	next   int64 // one past the newest
}

// NewRing makes a ring for so many samples of each channel.
func NewRing(channels, room int) *Ring {
	r := &Ring{values: make([][]float64, channels), room: int64(max(room, 1))}
	for c := range r.values {
		r.values[c] = make([]float64, r.room)
	}
	return r
}

// First and Next bound what is held.
func (r *Ring) First() int64 { return r.first }

// Next is one past the newest sample.
func (r *Ring) Next() int64 { return r.next }

// Put takes samples from..to of a block of consecutive samples whose first has the number given. What lies
// between the newest sample held and the first one is NaN.
func (r *Ring) Put(first int64, values [][]float64, from, to int) {
	at := first + int64(from)
	if at > r.next {
		r.skip(at)
	}
	if n := int64(to - from); n > r.room {
		from += int(n - r.room)
		at = first + int64(from)
	}
	slot := at % r.room
	for c := range r.values {
		v := values[c][from:to]
		n := copy(r.values[c][slot:], v)
		copy(r.values[c], v[n:])
	}
	r.next = first + int64(to)
	r.first = max(r.first, r.next-r.room)
}

// skip fills up to a sample with NaN.
func (r *Ring) skip(to int64) {
	if r.next == r.first { // empty
		r.first, r.next = to, to
		return
	}
	for i := max(r.next, to-r.room); i < to; i++ {
		for c := range r.values {
			r.values[c][i%r.room] = nan
		}
	}
	r.next = to
	r.first = max(r.first, to-r.room)
}

// Append adds samples from..to of a channel to dst.
func (r *Ring) Append(dst []float64, channel int, from, to int64) []float64 {
	for from < to {
		slot := from % r.room
		n := min(to-from, r.room-slot)
		dst = append(dst, r.values[channel][slot:slot+n]...)
		from += n
	}
	return dst
}
