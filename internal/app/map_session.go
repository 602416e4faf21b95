package app

import (
	"context"
	"fmt"
	"sync"
)

// mostMaps is how many maps a session keeps.
const mostMaps = 12

// maps keeps the maps made last, by what was asked and the head they stand on.
type maps struct {
	mu    sync.Mutex
	order []string
	made  map[string]*Map
}

func (k *maps) get(key string) *Map {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.made[key]
}

func (k *maps) put(key string, m *Map) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.made == nil {
		k.made = map[string]*Map{}
	}
	if k.made[key] == nil {
		k.order = append(k.order, key)
	}
	k.made[key] = m
	if len(k.order) > mostMaps {
		delete(k.made, k.order[0])
		k.order = k.order[1:]
	}
}

// Map computes a map with the drops of the campaign on it, or gives the one made before. It must not be changed.
func (s *Session) Map(ctx context.Context, q MapQuestion) (*Map, error) {
	st, err := s.State(ctx)
	if err != nil {
		return nil, err
	}
	if q, err = q.withDefaults(st.c); err != nil {
		return nil, err
	}
	key := fmt.Sprintf("%s %#v %#v %#v %q ", st.Head.Hash, q.WhatIf, q.Across, q.Up, q.Limits)
	if q.Own != nil {
		key += fmt.Sprintf("%q %v", q.Own.Name, q.Own.Value.SI())
	}
	if m := s.maps.get(key); m != nil {
		return m, nil
	}
	m, err := s.app.mapOf(ctx, q, st.c)
	if err != nil {
		return nil, err
	}
	s.maps.put(key, m)
	return m, nil
}
