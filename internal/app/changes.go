package app

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/hardcatch/hardcatch/internal/drop"
)

// changesOf are the fields in which an entry of a drop differs from what stood, each as a person would write it down. Cleared are those that had
// a value and have none now.
func changesOf(before, after drop.Drop) (changed, cleared []string) {
	was, is := fieldsOf(before), fieldsOf(after)
	for _, name := range slices.Sorted(maps.Keys(union(was, is))) {
		switch old, now := was[name], is[name]; {
		case old == now:
		case now == "":
			cleared = append(cleared, fmt.Sprintf("%s %s is cleared", name, old))
		case old == "":
			changed = append(changed, fmt.Sprintf("%s is now %s", name, now))
		default:
			changed = append(changed, fmt.Sprintf("%s %s becomes %s", name, old, now))
		}
	}
	return append(changed, cleared...), cleared
}

func union(a, b map[string]string) map[string]string {
	out := maps.Clone(a)
	maps.Copy(out, b)
	return out
}

// fieldsOf are the fields of a drop that have a value, by the names under which they are kept.
func fieldsOf(d drop.Drop) map[string]string {
	out := map[string]string{}
	text, err := json.Marshal(d)
	if err != nil {
		return out // a drop that cannot be written is refused where it is entered
	}
	var tree map[string]any
	if err := json.Unmarshal(text, &tree); err != nil {
		return out
	}
	walk("", tree, out)
	return out
}

func walk(prefix string, tree map[string]any, out map[string]string) {
	for k, v := range tree {
		name := strings.TrimSpace(prefix + " " + strings.ReplaceAll(k, "_", " "))
		switch v := v.(type) {
		case map[string]any:
			walk(name, v, out)
		case nil:
		default:
			if text := fmt.Sprint(v); text != "" {
				out[name] = text
			}
		}
	}
}
