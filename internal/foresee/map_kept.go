package foresee

import (
	"context"
	"fmt"
	"sync"

	"github.com/hardcatch/hardcatch/internal/look"
)

// mostMaps is how many maps are kept, and how many surfaces.
const mostMaps = 12

// latest keeps what was made last, by what was asked.
type latest[V any] struct {
	mu    sync.Mutex
	order []string
	made  map[string]V
}

func (k *latest[V]) get(key string) (V, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	v, ok := k.made[key]
	return v, ok
}

func (k *latest[V]) put(key string, v V) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.made == nil {
		k.made = map[string]V{}
	}
	if _, ok := k.made[key]; !ok {
		k.order = append(k.order, key)
	}
	k.made[key] = v
	if len(k.order) > mostMaps {
		delete(k.made, k.order[0])
		k.order = k.order[1:]
	}
}

// Maps keeps the maps made last.
type Maps struct {
	maps     latest[*Map]
	surfaces latest[*surface]
}

// Of computes a map with the drops of the campaign on it, or gives the one made before. It must not be changed. What the model
// says does not hang on the drops, and is kept when they change.
func (k *Maps) Of(ctx context.Context, s *look.Campaign, q MapQuestion) (*Map, error) {
	st, err := s.Moment(ctx)
	if err != nil {
		return nil, err
	}
	if q, err = q.withDefaults(st.Entered); err != nil {
		return nil, err
	}
	falls := fmt.Sprintf("%#v %#v %#v", q.WhatIf, q.Across, q.Up)
	key := fmt.Sprintf("%s %s %q ", st.Head.Hash, falls, q.Limits)
	if q.Own != nil {
		key += fmt.Sprintf("%q %v", q.Own.Name, q.Own.Value.SI())
	}
	if m, ok := k.maps.get(key); ok {
		return m, nil
	}
	f, ok := k.surfaces.get(falls)
	if !ok {
		if f, err = survey(ctx, s.Access, q, q.quiet); err != nil {
			return nil, err
		}
		k.surfaces.put(falls, f)
	}
	m, err := q.draw(ctx, f, st.Entered)
	if err != nil {
		return nil, err
	}
	k.maps.put(key, m)
	return m, nil
}
