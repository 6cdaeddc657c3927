// Package demo holds the files of the demo scenario, embedded. Everything in them is
// invented: the operator, the people, the place, the parts, the weather.
package demo

import "embed"

// Files are the demo's files, in the root folder.
//
//go:embed *.yaml *.csv *.txt
var Files embed.FS
