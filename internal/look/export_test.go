package look

// Ready counts the records that are ready to be drawn.
func (s *Campaign) Ready() (n int) {
	s.looks.mu.Lock()
	defer s.looks.mu.Unlock()
	for _, k := range s.looks.list {
		if k.samples > 0 {
			n++
		}
	}
	return n
}

// ReadingAhead tells that records are still being read ahead, or may be.
func (s *Campaign) ReadingAhead() bool { return !s.ahead.closed || s.ahead.busy }
