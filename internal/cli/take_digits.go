package cli

import "strings"

// digits are five columns wide and seven rows high.
var digits = map[rune][7]string{
	'0': {" ### ", "#   #", "#   #", "#   #", "#   #", "#   #", " ### "},
	'1': {"  #  ", " ##  ", "  #  ", "  #  ", "  #  ", "  #  ", " ### "},
	'2': {" ### ", "#   #", "    #", "   # ", "  #  ", " #   ", "#####"},
	'3': {" ### ", "#   #", "    #", "  ## ", "    #", "#   #", " ### "},
	'4': {"   # ", "  ## ", " # # ", "#  # ", "#####", "   # ", "   # "},
	'5': {"#####", "#    ", "#### ", "    #", "    #", "#   #", " ### "},
	'6': {" ### ", "#    ", "#    ", "#### ", "#   #", "#   #", " ### "},
	'7': {"#####", "    #", "   # ", "   # ", "  #  ", "  #  ", "  #  "},
	'8': {" ### ", "#   #", "#   #", " ### ", "#   #", "#   #", " ### "},
	'9': {" ### ", "#   #", "#   #", " ####", "    #", "    #", " ### "},
	'.': {"  ", "  ", "  ", "  ", "  ", "  ", "##"},
	'-': {"     ", "     ", "     ", "#####", "     ", "     ", "     "},
	'≥': {"#    ", " ##  ", "   ##", " ##  ", "#    ", "     ", "#####"},
}

// blockText draws text in large figures, wide characters to a dot.
func blockText(text string, wide int) []string {
	out := make([]string, 7)
	for _, r := range text {
		glyph, ok := digits[r]
		if !ok {
			continue
		}
		for row := range out {
			if out[row] != "" {
				out[row] += strings.Repeat(" ", wide)
			}
			for _, dot := range glyph[row] {
				ink := " "
				if dot == '#' {
					ink = "█"
				}
				out[row] += strings.Repeat(ink, wide)
			}
		}
	}
	return out
}
