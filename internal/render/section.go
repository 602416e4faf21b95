package render

// section is a part of the report with its number; the contents list them.
type section struct {
	ID, Title string
	Number    int
}

// sections in the order of the report. The summary stands before them, on the first page, with the cautions.
func sections() []section {
	out := []section{
		{ID: "summary", Title: "In short"}, {ID: "cautions", Title: "Cautions"}, {ID: "plain", Title: "In plain words"}, {ID: "plan", Title: "Plan"},
		{ID: "rig", Title: "Rig and calibration"}, {ID: "specimens", Title: "Specimens and conditioning"}, {ID: "method", Title: "Method"},
		{ID: "cells", Title: "Results by cell"}, {ID: "comparison", Title: "Comparison"}, {ID: "figures", Title: "Figures"}, {ID: "drops", Title: "Drops one by one"},
		{ID: "checkdrops", Title: "Check drops"}, {ID: "limits", Title: "Limits"}, {ID: "scenes", Title: "Beside what falls give"}, {ID: "audit", Title: "Audit"}, {ID: "budget", Title: "Uncertainty budget"},
		{ID: "void", Title: "Void drops"}, {ID: "decisions", Title: "Decisions and checklists"}, {ID: "warnings", Title: "Warnings"},
		{ID: "provenance", Title: "Provenance"}, {ID: "evidence", Title: "Evidence of every drop"}, {ID: "words", Title: "Words"},
	}
	for i := range out {
		out[i].Number = i + 1
	}
	return out
}

// Section is a part of the report by its name.
func (v *page) Section(id string) section {
	for _, s := range v.Sections {
		if s.ID == id {
			return s
		}
	}
	return section{ID: id, Title: id} // found by a test: no link leads there
}
