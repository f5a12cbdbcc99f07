package main

import (
	"fmt"
	"strings"
)

var completionCommand = command{name: "completion", args: "bash|zsh|fish", least: 1, most: 1,
	run: runCompletion, summary: "print a script that completes commands in a shell",
	about: "For example: evenhold completion bash > /etc/bash_completion.d/evenhold"}

// runCompletion prints a script that completes the names of commands and their flags.
func runCompletion(c *call) error {
	switch c.args[0] {
	case "bash":
		fmt.Fprint(c.out, bashCompletion())
	case "zsh":
		fmt.Fprint(c.out, "autoload -U +X bashcompinit && bashcompinit\n"+bashCompletion())
	case "fish":
		fmt.Fprint(c.out, fishCompletion())
	default:
		return misuse("no script for %q: bash, zsh or fish", c.args[0])
	}
	return nil
}

func bashCompletion() string {
	var b strings.Builder
	b.WriteString("_evenhold() {\n  local words\n  case \"${COMP_WORDS[1]}\" in\n")
	var names []string
	for _, c := range commands {
		names = append(names, c.name)
		var flags []string
		for _, name := range c.settings {
			flags = append(flags, "--"+name)
		}
		fmt.Fprintf(&b, "    %s) words=\"%s\" ;;\n", c.name, strings.Join(flags, " "))
	}
	b.WriteString("  esac\n  [ \"$COMP_CWORD\" = 1 ] && words=\"" + strings.Join(names, " ") + "\"\n" +
		"  COMPREPLY=($(compgen -W \"$words\" -- \"${COMP_WORDS[COMP_CWORD]}\"))\n}\n" +
		"complete -o default -F _evenhold evenhold\n")
	return b.String()
}

func fishCompletion() string {
	var b strings.Builder
	for _, c := range commands {
		fmt.Fprintf(&b, "complete -c evenhold -n __fish_use_subcommand -a %s -d '%s'\n", c.name,
			strings.ReplaceAll(c.summary, "'", "\\'"))
		for _, name := range c.settings {
			fmt.Fprintf(&b, "complete -c evenhold -n '__fish_seen_subcommand_from %s' -l %s\n",
				c.name, name)
		}
	}
	return b.String()
}
