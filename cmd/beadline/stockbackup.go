package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

func (a *app) stockBackupCmd() *cobra.Command {
	var force bool
	cmd := &cobra.Command{
		Use:   "backup [FILE]",
		Short: "A whole copy of the register, which restores bit for bit",
		Long: `Backup copies the whole register, as it is at one moment, into one file, while others
may go on writing. The file is plain text, the same from a file and from PostgreSQL,
and packed if its name ends in .gz. It is written whole or not at all, and no file is
replaced without --force. Without a name, or with that of a folder, it gets the
register's name and the time, such as register-2027-03-08T0700.beadline-backup; beside
the register it is found and offered if the register is ever damaged.

A copy on the same disk dies with it: keep one elsewhere too.

Exit codes: 0 done; 1 failure, and no file is written; 2 wrong usage.`,
		Example: `  beadline stock backup
  beadline stock backup /media/stick/
  beadline stock backup register.beadline-backup.gz --force`,
		Annotations: map[string]string{"formats": "json"},
		Args:        cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.stockBackup(cmd.Context(), strings.Join(args, ""), force)
		},
	}
	cmd.Flags().BoolVar(&force, "force", false, "replace the file if it is there")
	return cmd
}

func (a *app) stockBackup(ctx context.Context, file string, force bool) error {
	name, _ := a.registerName()
	r, err := a.room(ctx, storeroom.Options{Read: true})
	if err != nil {
		return err
	}
	defer r.Close()
	if info, err := os.Stat(file); file == "" || err == nil && info.IsDir() {
		file = storeroom.BackupName(name, file, r.Now)
	}
	done, err := r.Backup(ctx, file, force)
	if err != nil {
		return err
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.BackedUp(w, r.Store.Name(), file, done) },
		json: func(w io.Writer) error { return show.BackedUpJSON(w, r.Store.Name(), file, done) },
	})
}

func (a *app) stockRestoreCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Fill a new register from a backup",
		Long: `Restore fills an empty register, or one that is not there yet, from what stock backup
wrote: all of it, or nothing. The backup is checked first, and each event, each chain
and each checkpoint on the way; one that was cut off or changed is refused with the
line. --register names the new register: a file, or a PostgreSQL database. A register
with anything in it is never touched: move a damaged one aside first, or name another.

Exit codes: 0 done; 1 failure, and nothing is restored; 2 wrong usage.`,
		Example: `  beadline stock restore register-2027-03-08T0700.beadline-backup \
      --register register-new.db`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneArg("a backup"),
		RunE:        func(cmd *cobra.Command, args []string) error { return a.stockRestore(cmd.Context(), args[0]) },
	}
	return cmd
}

func (a *app) stockRestore(ctx context.Context, file string) error {
	b, err := storeroom.OpenBackup(file)
	if err != nil {
		return err
	}
	name, _ := a.registerName()
	err = storeroom.Restore(ctx, name, b, func() (*storeroom.Room, error) { return a.room(ctx, storeroom.Options{Create: true}) })
	switch {
	case errors.Is(err, register.ErrNotEmpty):
		return fmt.Errorf("%w: move it aside, or name a new one with --register", err)
	case err != nil:
		return err
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.Restored(w, name, file, &b.BackedUp) },
		json: func(w io.Writer) error { return show.BackedUpJSON(w, name, file, &b.BackedUp) },
	})
}

// damagedHint offers the newest backup of a register that is damaged; "": there is none.
func (a *app) damagedHint() string {
	name, named := a.registerName()
	file, when := storeroom.NewestBackup(name)
	if file == "" {
		return ""
	}
	hint := fmt.Sprintf("The newest backup is %s, of %s: beadline stock restore %s --register NEW fills a new register from it. Leave the damaged one as it is.",
		file, when.Format("Monday 2 January 2006 15:04"), quoted(file))
	if !named {
		hint += " Then move it aside, or use the new one with --register or BEADLINE_REGISTER."
	}
	return hint
}

// quoted is a name for a command line.
func quoted(file string) string {
	if strings.ContainsAny(file, " '\"") {
		return fmt.Sprintf("%q", file)
	}
	return file
}
