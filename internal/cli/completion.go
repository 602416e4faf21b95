package cli

import (
	"fmt"
	"sort"
	"strings"

	"github.com/alecthomas/kong"
)

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish,powershell" help:"bash, zsh, fish or powershell."`
}

// Help is shown below the usage.
func (completionCmd) Help() string {
	return `Example: hardcatch completion bash > /etc/bash_completion.d/hardcatch
Example: hardcatch completion zsh > "${fpath[1]}/_hardcatch"
Example: hardcatch completion fish > ~/.config/fish/completions/hardcatch.fish
Example: hardcatch completion powershell >> $PROFILE

Writes what a shell needs to complete commands and options; files are completed by the shell itself.`
}

// completed is a command with the words that may follow it.
type completed struct {
	name, help string
	flags      []string // with their two hyphens
}

// Run writes the completion of the shell.
func (c *completionCmd) Run(k *kong.Kong, s *streams) error {
	var all []completed
	for _, n := range k.Model.Children {
		x := completed{name: n.Name, help: n.Help}
		for _, group := range n.AllFlags(true) {
			for _, f := range group {
				x.flags = append(x.flags, "--"+f.Name)
			}
		}
		sort.Strings(x.flags)
		all = append(all, x)
	}
	text := map[string]func([]completed) string{"bash": bashWords, "zsh": zshWords, "fish": fishWords, "powershell": powershellWords}[c.Shell](all)
	_, err := fmt.Fprint(s.out, text)
	return err
}

func commandNames(all []completed) string {
	names := make([]string, len(all))
	for i, c := range all {
		names[i] = c.name
	}
	return strings.Join(names, " ")
}

func bashWords(all []completed) string {
	var b strings.Builder
	b.WriteString("# completion of hardcatch for bash\n_hardcatch() {\n  local word=${COMP_WORDS[COMP_CWORD]} words\n  COMPREPLY=()\n")
	fmt.Fprintf(&b, "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n    COMPREPLY=($(compgen -W '%s' -- \"$word\"))\n    return\n  fi\n  case \"${COMP_WORDS[1]}\" in\n", commandNames(all))
	for _, c := range all {
		fmt.Fprintf(&b, "    %s) words='%s' ;;\n", c.name, strings.Join(c.flags, " "))
	}
	b.WriteString("    *) return ;;\n  esac\n  case \"$word\" in\n    -*) COMPREPLY=($(compgen -W \"$words\" -- \"$word\")) ;;\n    *) COMPREPLY=($(compgen -f -- \"$word\")) ;;\n  esac\n}\ncomplete -o filenames -F _hardcatch hardcatch\n")
	return b.String()
}

func zshWords(all []completed) string {
	var b strings.Builder
	b.WriteString("#compdef hardcatch\n_hardcatch() {\n  local -a commands\n  commands=(\n")
	for _, c := range all {
		fmt.Fprintf(&b, "    %s\n", quoted(c.name+":"+strings.ReplaceAll(c.help, ":", `\:`)))
	}
	b.WriteString("  )\n  if (( CURRENT == 2 )); then\n    _describe command commands\n    return\n  fi\n  case $words[2] in\n")
	for _, c := range all {
		fmt.Fprintf(&b, "    %s) [[ $PREFIX == -* ]] && compadd -- %s || _files ;;\n", c.name, strings.Join(c.flags, " "))
	}
	b.WriteString("  esac\n}\ncompdef _hardcatch hardcatch\n")
	return b.String()
}

func fishWords(all []completed) string {
	var b strings.Builder
	b.WriteString("# completion of hardcatch for fish\n")
	for _, c := range all {
		fmt.Fprintf(&b, "complete -c hardcatch -n __fish_use_subcommand -f -a %s -d %s\n", c.name, quoted(c.help))
		for _, f := range c.flags {
			fmt.Fprintf(&b, "complete -c hardcatch -n '__fish_seen_subcommand_from %s' -l %s\n", c.name, strings.TrimPrefix(f, "--"))
		}
	}
	return b.String()
}

func powershellWords(all []completed) string {
	var b strings.Builder
	b.WriteString("Register-ArgumentCompleter -Native -CommandName hardcatch -ScriptBlock {\n  param($word, $ast, $at)\n  $options = @{\n")
	for _, c := range all {
		fmt.Fprintf(&b, "    '%s' = '%s'\n", c.name, strings.Join(c.flags, " "))
	}
	b.WriteString("  }\n  $typed = $ast.CommandElements | ForEach-Object { $_.ToString() }\n  if ($typed.Count -le 1 -or ($typed.Count -eq 2 -and $word -ne '')) { $words = $options.Keys | Sort-Object }\n  elseif ($options.ContainsKey($typed[1])) { $words = $options[$typed[1]] -split ' ' }\n  $words | Where-Object { $_ -like \"$word*\" } | ForEach-Object { [System.Management.Automation.CompletionResult]::new($_, $_, 'ParameterValue', $_) }\n}\n")
	return b.String()
}

// quoted is a word between single quotation marks, for a shell.
func quoted(word string) string { return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'" }

// plainPlaceholders gives options whose values have no name in the usage their own: else the usage shows the name of a type.
func plainPlaceholders(n *kong.Node) {
	for _, f := range n.Flags {
		if f.PlaceHolder == "" && strings.Contains(f.FormatPlaceHolder(), "HARDCATCH") {
			f.PlaceHolder = strings.ToUpper(f.Name)
		}
	}
	for _, child := range n.Children {
		plainPlaceholders(child)
	}
}
