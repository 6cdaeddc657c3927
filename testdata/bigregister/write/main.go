// Command write makes a register file for trials: write [-batches N] [-seed N] [-years N]
// [-full] FILE. All of it is made up.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"time"

	"beadline/testdata/bigregister"
)

func main() {
	var p bigregister.Plan
	flag.IntVar(&p.Batches, "batches", 1000, "how many batches")
	flag.Uint64Var(&p.Seed, "seed", 0, "which register of that size")
	flag.IntVar(&p.Years, "years", 8, "over how many years they came in")
	flag.BoolVar(&p.Full, "full", false, "leave something in stock of every batch")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "write: name the file to make, which must not be there")
		os.Exit(2)
	}
	start := time.Now()
	if _, err := os.Stat(flag.Arg(0)); err == nil {
		fmt.Fprintf(os.Stderr, "write: %s is there already\n", flag.Arg(0))
		os.Exit(1)
	}
	if err := bigregister.Write(context.Background(), flag.Arg(0), p); err != nil {
		fmt.Fprintln(os.Stderr, "write:", err)
		os.Exit(1)
	}
	fmt.Printf("%d batches in %.0f s\n", p.Batches, time.Since(start).Seconds())
}
