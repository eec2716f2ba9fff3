package conformity

import (
	"bytes"
	"flag"
	"maps"
	"os"
	"slices"
	"testing"

	"crownassay/reading"
)

var updateSaid = flag.Bool("update", false, "write the page's list of sentences anew")

// saidFile lists what is said about readings, for the page's other languages.
const saidFile = "../web/src/test/said.txt"

// TestSaid holds the list from which the page's tests see that every part of a
// next step is said in its other languages too.
func TestSaid(t *testing.T) {
	all := map[string]bool{}
	for _, m := range reading.Measurands {
		a := actionOf(m.ID)
		for _, s := range []string{a.subject, a.low, a.high, a.get} {
			if s != "" {
				all[s] = true
			}
		}
	}
	var made bytes.Buffer
	for _, s := range slices.Sorted(maps.Keys(all)) {
		made.WriteString(s + "\n")
	}
	if *updateSaid {
		if err := os.WriteFile(saidFile, made.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile(saidFile)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(made.Bytes(), have) {
		t.Errorf("%s differs from what is said: go test ./conformity -run TestSaid -update, then say the new parts in web/src/page/de.sentences.ts", saidFile)
	}
}
