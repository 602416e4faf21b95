package tabular

import (
	"strings"
	"testing"
)

func TestReadTakesHeaderUnitsAndPlaces(t *testing.T) {
	in := "\xef\xbb\xbf# a remark\nFall_Height [mm]; Out-come ;note\n900;held;\n# between\n1,2;broke\n1;2;3;4\n"
	tab, err := Read("x.csv", strings.NewReader(in), map[string]string{"fall height": "fall"}, "fall")
	if err != nil {
		t.Fatal(err)
	}
	if c := tab.Columns[0]; c.Name != "fall" || c.Unit != "mm" || c.WithUnit("900") != "900 mm" || c.WithUnit("1,2") != "1,2 mm" || c.WithUnit("1.2 m") != "1.2 m" {
		t.Errorf("%+v", c)
	}
	if tab.Index("out come") != 1 || tab.Index("place") != -1 || tab.Line != 2 {
		t.Errorf("%+v", tab)
	}
	if len(tab.Rows) != 2 || tab.Rows[1].Line != 5 || tab.Rows[1].Field(2) != "" || tab.Rows[0].Field(1) != "held" {
		t.Errorf("%+v", tab.Rows)
	}
	if len(tab.Broken) != 1 || !strings.HasPrefix(tab.Broken[0].Error(), "x.csv:6: 4 fields") {
		t.Errorf("%v", tab.Broken)
	}
}

func TestReadRefuses(t *testing.T) {
	for in, want := range map[string]string{
		"":                 "x.csv: the file is empty; the first line names the columns, at least fall",
		"fall,fall\n1,2\n": "x.csv:1: column fall stands twice",
	} {
		if _, err := Read("x.csv", strings.NewReader(in), nil, "at least fall"); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q: %v", in, err)
		}
	}
}
