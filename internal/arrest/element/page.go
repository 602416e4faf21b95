package element

import (
	"fmt"
	"strings"
)

// Page is what docs/model.md says of the elements: their laws and keys, and the range and default of every key. A test holds
// the page to it, and writes it there with -update.
func Page() (laws, keys string) {
	var a, b strings.Builder
	a.WriteString("| element | law | keys |\n|---|---|---|\n")
	b.WriteString("| element | key | range | left out or 0 | source | may be spread |\n|---|---|---|---|---|---|\n")
	for _, d := range kinds {
		var list []string
		for i := range d.Keys {
			k := &d.Keys[i]
			list = append(list, "`"+orText(k.Writes, k.Name)+"`")
			fmt.Fprintf(&b, "| %s | `%s` | %s | %s | %s | %s |\n", d.Kind, k.Name, k.span(), orText(k.Zero, "must be given"), orText(k.Source, "-"), yes(k.Spreads))
		}
		fmt.Fprintf(&a, "| %s | %s | %s |\n", d.Kind, strings.ReplaceAll(d.Law, "|", `\|`), strings.Join(list, ", "))
	}
	return a.String(), b.String()
}

// span is the range of a key in words.
func (k *Key) span() string {
	r := k.Range
	if !k.Number() {
		return "-"
	}
	low := "from 0"
	if r.OpenLo {
		low = "above 0"
	}
	switch {
	case r.most != nil:
		_, ends, _ := strings.Cut(r.Way, "lies ")
		return ends
	case r.Hi == inf:
		return low
	case r.OpenHi:
		return fmt.Sprintf("%s to below %.4g", low, r.Hi)
	}
	return fmt.Sprintf("%s to %.4g", low, r.Hi)
}

func orText(s, instead string) string {
	if s == "" {
		return instead
	}
	return s
}

func yes(v bool) string {
	if v {
		return "yes"
	}
	return ""
}
