package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// may lists, for each folder of the house, what of ours its code (not its tests) may
// import: packages at or below the prefixes. The longest folder that fits counts.
var may = map[string][]string{
	"cmd":                    {"cmd/beadline", "catalog", "cure", "testdata/demo"},
	"cmd/schedbench":         {"cure/plan/solve"},
	"catalog":                {"cure"},
	"catalog/label":          {},
	"catalog/label/scan":     {"catalog/label"},
	"catalog/label/tag":      {"catalog/label"},
	"catalog/sheet":          {"cure"},
	"catalog/shelf":          {"catalog/label", "cure/quantity"},
	"catalog/shelf/inputs":   {"catalog/label", "catalog/shelf", "cure/nearest"},
	"catalog/shelf/storage":  {"catalog/label", "catalog/shelf", "cure"},
	"catalog/stock":          {"catalog/label", "catalog/shelf", "cure"},
	"catalog/stock/register": {"catalog/label", "catalog/shelf", "catalog/stock", "cure"},
	"catalog/stock/store":    {"catalog/stock/register"},
	"catalog/stock/pgtest":   {},
	"cure":                   {"cure/air", "cure/quantity"},
	"cure/air":               {},
	"cure/fit":               {},
	"cure/nearest":           {},
	"cure/quantity":          {},
	"cure/airlog":            {"cure", "cure/quantity"},
	"cure/plan":              {"cure"},
	"cure/plan/job":          {"cure"},
	"cure/plan/solve":        {"cure/plan/solve"},
	"cure/plan/chance":       {},
	"cure/plan/verify":       {"cure", "cure/air", "cure/quantity", "cure/plan/job"},
	"testdata/demo":          {},

	"testdata/bigregister":       {"catalog"},
	"testdata/bigregister/write": {"testdata/bigregister"},
}

// TestImportsPointOneWay walks the code and holds every import of ours to the plan of
// the house. The checker of plans must not see the search or the planner at all.
func TestImportsPointOneWay(t *testing.T) {
	root := filepath.Join("..", "..")
	seen := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		dir := filepath.ToSlash(filepath.Dir(rel))
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, im := range f.Imports {
			name, err := strconv.Unquote(im.Path.Value)
			require.NoError(t, err)
			if ours, ok := strings.CutPrefix(name, "beadline/"); ok {
				seen++
				assert.True(t, allowed(dir, ours), "%s imports %s", rel, name)
			}
		}
		return nil
	})
	require.NoError(t, err)
	assert.Greater(t, seen, 20)
}

func allowed(dir, ours string) bool {
	room := dir
	for may[room] == nil && room != "." {
		room = filepath.ToSlash(filepath.Dir(room))
	}
	if dir == "cure/plan/verify" && (ours == "cure/plan" || strings.HasPrefix(ours, "cure/plan/solve")) {
		return false
	}
	for _, p := range may[room] {
		if ours == p || strings.HasPrefix(ours, p+"/") {
			return true
		}
	}
	return false
}

// TestPhysicsDoesNoIO holds the rooms that compute to that: no files, no clock, no
// network.
func TestPhysicsDoesNoIO(t *testing.T) {
	for _, dir := range []string{"cure", "cure/air", "cure/airlog", "cure/fit", "cure/quantity", "cure/plan", "cure/plan/job", "cure/plan/solve", "cure/plan/chance", "cure/plan/verify", "catalog/label", "catalog/sheet", "catalog/shelf", "catalog/shelf/inputs", "catalog/shelf/storage"} {
		files, err := filepath.Glob(filepath.Join("..", "..", filepath.FromSlash(dir), "*.go"))
		require.NoError(t, err)
		require.NotEmpty(t, files, dir)
		for _, path := range files {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
			require.NoError(t, err)
			for _, im := range f.Imports {
				assert.NotContains(t, []string{`"os"`, `"net"`, `"net/http"`, `"io/ioutil"`, `"os/exec"`}, im.Path.Value, path)
			}
		}
	}
}
