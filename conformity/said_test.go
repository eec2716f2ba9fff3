package conformity

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"crownassay/internal/golden"
	"crownassay/reading"
)

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
	golden.Equal(t, "../../web/src/test/said.txt", strings.Join(slices.Sorted(maps.Keys(all)), "\n")+"\n") // then say the new parts in web/src/page/de.sentences.ts
}
