package web

import "net/http"

type helpView struct {
	Keys []keyGroup
}

type keyGroup struct {
	Name string
	Keys []keyItem
}

type keyItem struct{ Key, Does string }

// keyList is every key, as the script knows it.
func keyList() []keyGroup {
	pages := keyGroup{Name: "Go to a place, from every page but the next drop"}
	for _, p := range places {
		pages.Keys = append(pages.Keys, keyItem{p.Key, p.Name})
	}
	return []keyGroup{
		{"Everywhere", []keyItem{
			{"?", "Show this list"}, {"/", "Search the drops"}, {"r", "Show the campaign as it is now"}, {"t", "Next theme"}, {"Esc", "Close what is open, leave a field"},
		}},
		pages,
		{"On the next drop", []keyItem{
			{"1", "Answer a question, 1 to 7; after the drop: void for the reason of that number"}, {"1", "After a break: where it broke, 1 to 5"}, {"k", "Skip a question with a reason"}, {"a", "Arm"}, {"m", "Trigger by hand"}, {"d", "Disarm"},
			{"c", "Confirm what the record proposes"}, {"h", "Held"}, {"b", "Broke"}, {"s", "Slipped"}, {"v", "Void: type another reason"}, {"u", "Take the last decision back"}, {"n", "Next drop, or another drop first"}, {"p", "Attach a photo"},
		}},
		{"On a drop", []keyItem{
			{"c", "Confirm what the record proposes"}, {"v", "Void: choose the reason"}, {"h", "Held: say why"}, {"b", "Broke: say why"}, {"s", "Slipped: say why"}, {"u", "Take the last decision back"},
			{"n", "Next drop"}, {"p", "Previous drop"}, {"o", "Next drop that is not decided"}, {"e", "Set events by hand"}, {"f", "Attach a photo"},
		}},
		{"In the chart", []keyItem{
			{"+", "Zoom in"}, {"-", "Zoom out"}, {"←", "Earlier"}, {"→", "Later"}, {"0", "Whole record"}, {"a", "First arrest"},
		}},
		{"On the list of drops", []keyItem{
			{"j", "Next line"}, {"k", "Previous line"}, {"Enter", "Open the drop"},
		}},
	}
}

// showHelp is how pages are used, with the list of keys.
func (s *Server) showHelp(w http.ResponseWriter, r *http.Request) error {
	return s.render(w, r, http.StatusOK, "help", helpView{keyList()})
}
