// Package rscript lets tests ask R, a reference of its own for statistics.
package rscript

import (
	"encoding/csv"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// Run runs a script of R and returns the lines that it prints as values
// separated by commas. The test is skipped where R or one of the packages is
// missing; "make test" installs them from Debian's packages as root.
func Run(t *testing.T, packages []string, script string, args ...string) [][]string {
	t.Helper()
	r, err := exec.LookPath("Rscript")
	if err != nil {
		t.Skip("R is not here: install r-base-core and the packages r-cran-mass, r-cran-survival")
	}
	for _, p := range packages {
		if exec.Command(r, "-e", "library("+p+")").Run() != nil {
			t.Skipf("R is here without its package %s: install r-cran-%s", p, strings.ToLower(p))
		}
	}
	cmd := exec.Command(r, append([]string{"--vanilla", filepath.FromSlash(script)}, args...)...)
	var errs strings.Builder
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("run %s: %v\n%s", script, err, errs.String())
	}
	rows := csv.NewReader(strings.NewReader(string(out)))
	rows.FieldsPerRecord = -1
	all, err := rows.ReadAll()
	if err != nil {
		t.Fatalf("read what %s prints: %v", script, err)
	}
	return all
}

// Numbers reads the values of a line.
func Numbers(t *testing.T, row []string) []float64 {
	t.Helper()
	out := make([]float64, len(row))
	for i, s := range row {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			t.Fatalf("value %q of R: %v", s, err)
		}
		out[i] = v
	}
	return out
}
