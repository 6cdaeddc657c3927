package main

import (
	"strings"

	"beadline/cure/nearest"

	"github.com/spf13/cobra"
)

// unknownCommand refuses a word that is no command of cmd, with the nearest ones.
func unknownCommand(cmd *cobra.Command, word string) error {
	var names []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	if near := nearest.Names(word, names, 2); near != nil {
		return usagef("%s has no command %q: did you mean %s?", cmd.CommandPath(), word, strings.Join(near, " or "))
	}
	return usagef("%s has no command %q: its commands are %s", cmd.CommandPath(), word, strings.Join(names, ", "))
}
