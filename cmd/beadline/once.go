package main

import (
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// once is a flag that has one value. Given twice it is refused: the flag library would
// take the last in silence, and the first may have been the right one.
type once struct {
	pflag.Value
	given bool
}

// Set takes the one value.
func (o *once) Set(s string) error {
	if o.given {
		return twiceError{first: o.Value.String(), second: s}
	}
	if err := o.Value.Set(s); err != nil {
		return err
	}
	o.given = true
	return nil
}

// twiceError is a flag given twice.
type twiceError struct{ first, second string }

func (e twiceError) Error() string { return fmt.Sprintf("given twice (%s and %s)", e.first, e.second) }

// onlyOnce holds every flag of a command and those below it to one value, but for those
// that collect several.
func onlyOnce(cmd *cobra.Command) {
	hold := func(f *pflag.Flag) {
		if _, several := f.Value.(pflag.SliceValue); several {
			return
		}
		if _, held := f.Value.(*once); !held {
			f.Value = &once{Value: f.Value}
		}
	}
	cmd.Flags().VisitAll(hold)
	cmd.PersistentFlags().VisitAll(hold)
	for _, c := range cmd.Commands() {
		onlyOnce(c)
	}
}
