package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/label/scan"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
)

// asksRegister reports whether the question is about a batch in the register: it is named
// or scanned, and neither on a list nor described.
func (f *checkFlags) asksRegister(args []string) bool {
	return f.stock == "" && len(args) > 0 && !slices.ContainsFunc(f.given(), func(n string) bool { return n != "container" })
}

// checkRegister judges a batch in the register. A scan is judged by itself where there is
// no register, or where the register has no such batch and --gtins says what it is.
func (a *app) checkRegister(ctx context.Context, j *desk.Judge, f *checkFlags, arg string) (rows []desk.Checked, err error) {
	r, err := a.readRoom(ctx, j)
	isScan := scan.Looks(arg)
	switch {
	case errors.Is(err, errNoRegister) && isScan && f.maker == "" && f.container == "":
		return nil, nil
	case errors.Is(err, errNoRegister):
		return nil, usagef("batch %s: say where it is listed: --stock FILE.csv, or describe it: --class CLASS --expiry DATE --batch %s; or keep a register: %w", arg, arg, err)
	case err != nil:
		return nil, err
	}
	defer r.Close()
	number, _, code, err := a.batchArg(arg, j.On)
	if err != nil {
		return nil, err
	}
	rows, err = r.Check(ctx, storeroom.Asked{Number: number, Maker: f.maker, Container: f.container, Code: code})
	var none storeroom.NoBatch
	if isScan && f.gtins != "" && errors.As(err, &none) {
		a.note(fmt.Sprintf("%s: it is judged by its code alone", strings.TrimSpace(err.Error())))
		return nil, nil
	}
	return rows, err
}
