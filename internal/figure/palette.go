package figure

import (
	"fmt"
	"slices"
	"strings"
)

// Theme is a set of colours for a light. Every role is a name of a custom property of the pages' style sheet.
type Theme struct {
	Name  string
	Dark  bool
	Roles map[string]string
}

// Grounds are the roles that text stands on.
var Grounds = []string{"ground", "panel", "mark"}

// TextRoles are the roles in which words are written; they stand at 4.5:1 or more against every ground.
var TextRoles = []string{"ink", "soft", "act", "hold", "break", "slip", "void", "good", "doubt", "bad", "s1", "s2", "s3", "s4", "s5", "s6"}

// LineRoles are the roles of edges and of the ring about what has the focus: 3:1 or more against every ground.
var LineRoles = []string{"edge", "focus", "raw", "low", "ochre"}

// Themes are the colours of the pages: bone and ink, teal for what held, iron oxide for what broke, ochre for doubt.
var Themes = []Theme{
	{"light", false, map[string]string{
		"ground": "#f3ecdf", "panel": "#faf6ed", "mark": "#f4e3b5", "ink": ink, "soft": soft, "hair": hair, "edge": "#7d7364",
		"act": ink, "on-act": "#faf6ed", "hold": teal, "break": iron, "slip": plum, "void": slate,
		"good": teal, "doubt": "#694600", "bad": "#8f1d14", "focus": "#a35c00", "raw": "#81776a", "low": teal, "ochre": ochre,
		"s1": series[2], "s2": series[3], "s3": series[4], "s4": series[5], "s5": series[6], "s6": series[7],
	}},
	{"dark", true, map[string]string{
		"ground": "#191613", "panel": "#211d19", "mark": "#3d3115", "ink": "#f1e9da", "soft": "#c6bba9", "hair": "#423b31", "edge": "#9b8f7d",
		"act": "#f1e9da", "on-act": "#191613", "hold": "#7fcfce", "break": "#f2a583", "slip": "#d9b6e6", "void": "#c1b6a5",
		"good": "#7fcfce", "doubt": "#ecc05f", "bad": "#ff9f95", "focus": "#ffca4a", "raw": "#9b8f7d", "low": "#7fcfce", "ochre": "#d9a23c",
		"s1": "#a9cf8a", "s2": "#f0a6c8", "s3": "#d9c56a", "s4": "#8fc2f0", "s5": "#b9b4f5", "s6": "#c1b6a5",
	}},
	{"sun", false, map[string]string{
		"ground": "#ffffff", "panel": "#ffffff", "mark": "#ffe680", "ink": "#000000", "soft": "#000000", "hair": "#000000", "edge": "#000000",
		"act": "#000000", "on-act": "#ffffff", "hold": "#00383c", "break": "#6a1a00", "slip": "#43004a", "void": "#000000",
		"good": "#00383c", "doubt": "#3d2600", "bad": "#6e0000", "focus": "#a83a00", "raw": "#555555", "low": "#000000", "ochre": "#8a5a00",
		"s1": "#1d4a00", "s2": "#6b0040", "s3": "#4a3d00", "s4": "#00386b", "s5": "#2a1a7a", "s6": "#000000",
	}},
}

// roleOf is the role in which a colour of a drawing stands on a page.
var roleOf = map[string]string{
	ink: "ink", soft: "soft", hair: "hair", paper: "panel", teal: "hold", iron: "break", plum: "slip", slate: "void", ochre: "ochre",
	series[2]: "s1", series[3]: "s2", series[4]: "s3", series[5]: "s4", series[6]: "s5", series[7]: "s6",
}

// Stylesheet is the style of the themes, and of drawings in them: a drawing that is saved keeps the colours of paper.
func Stylesheet() string {
	var b strings.Builder
	for _, t := range Themes {
		where := fmt.Sprintf("[data-theme=%q]", t.Name)
		if t.Name == "light" {
			where = ":root, " + where
		}
		rule := where + " " + t.css() + "\n"
		b.WriteString(rule)
		if t.Dark {
			b.WriteString("@media (prefers-color-scheme: dark) { [data-theme=\"auto\"] " + t.css() + " }\n")
		}
	}
	colours := make([]string, 0, len(roleOf))
	for c := range roleOf {
		colours = append(colours, c)
	}
	slices.Sort(colours)
	b.WriteString("@media screen {\n")
	for _, c := range colours {
		fmt.Fprintf(&b, ".drawing [fill=%q] { fill: var(--%s); } .drawing [stroke=%q] { stroke: var(--%s); }\n", c, roleOf[c], c, roleOf[c])
	}
	b.WriteString("}\n" + fitRules())
	return b.String()
}

func (t Theme) css() string {
	roles := make([]string, 0, len(t.Roles))
	for r := range t.Roles {
		roles = append(roles, r)
	}
	slices.Sort(roles)
	var b strings.Builder
	b.WriteString("{ color-scheme: light;")
	if t.Dark {
		b.Reset()
		b.WriteString("{ color-scheme: dark;")
	}
	for _, r := range roles {
		fmt.Fprintf(&b, " --%s: %s;", r, t.Roles[r])
	}
	b.WriteString(" }")
	return b.String()
}
