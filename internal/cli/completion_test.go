package cli

import (
	"strings"
	"testing"

	"github.com/alecthomas/kong"
)

// No usage shows the name of a type of the program's own.
func TestUsageHasNamesOfItsOwn(t *testing.T) {
	k, err := kong.New(&commands{}, kong.Vars{"version": ""})
	if err != nil {
		t.Fatal(err)
	}
	plainPlaceholders(k.Model.Node)
	for _, n := range k.Model.Children {
		for _, group := range n.AllFlags(true) {
			for _, f := range group {
				if text := f.FormatPlaceHolder(); strings.Contains(text, "HARDCATCH") || strings.Contains(text, "[-") {
					t.Errorf("%s --%s=%s shows a type", n.Name, f.Name, text)
				}
			}
		}
	}
}

// Each shell's words name every command, and the options of one.
func TestCompletionNamesEveryCommand(t *testing.T) {
	all := []completed{{name: "enter", help: "It's entered: all.", flags: []string{"--dry-run", "--json"}}, {name: "prove", help: "Prove.", flags: []string{"--hash"}}}
	for shell, want := range map[string][]string{
		bashWords(all):       {"compgen -W 'enter prove'", "enter) words='--dry-run --json'", "complete -o filenames -F _hardcatch hardcatch"},
		zshWords(all):        {"#compdef hardcatch\n", `'enter:It'\''s entered\: all.'`, "compadd -- --dry-run --json"},
		fishWords(all):       {`-a enter -d 'It'\''s entered: all.'`, "'__fish_seen_subcommand_from prove' -l hash"},
		powershellWords(all): {"'enter' = '--dry-run --json'", "-CommandName hardcatch"},
	} {
		for _, w := range want {
			if !strings.Contains(shell, w) {
				t.Errorf("%q is not in\n%s", w, shell)
			}
		}
	}
}
