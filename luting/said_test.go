package luting

import (
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"crownassay/conformity"
	"crownassay/internal/golden"
	"crownassay/reading"
)

// TestSaid holds the list from which the page's tests see that everything that
// the built-in table and this package say is said in its other languages too.
func TestSaid(t *testing.T) {
	all := map[string]bool{}
	r := BuiltIn()
	for _, f := range r.Families {
		all[f.Says] = true
	}
	for _, x := range r.Rules {
		all[x.Says] = true
	}
	for _, x := range r.Steps {
		all[x.Says] = true
	}
	for _, x := range r.Refusals {
		all[x.Says] = true
	}
	for _, x := range r.Hazards {
		all[x.Says] = true
	}
	source, err := os.ReadFile("judge.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`return "([A-Z][^"]+\.)"`).FindAllSubmatch(source, -1) {
		all[string(m[1])] = true // the headlines
	}
	for _, s := range found(t) {
		all[s] = true
	}
	golden.Equal(t, "../../web/src/test/said-luting.txt", strings.Join(slices.Sorted(maps.Keys(all)), "\n")+"\n") // then say the new sentences in web/src/page/de.lutingsaid.ts
}

// found are the sentences of all states of all rules.
func found(t *testing.T) (out []string) {
	short := sound("leucite")
	short.height, short.convergence, short.ratio, short.resistance, short.thick = 2, 30, 0.2, 5, 0.2
	near := sound("lithium-disilicate")
	near.height, near.convergence, near.ratio, near.resistance, near.thick = 4, 20, 0.4, 7.5, 1.5
	bare := sound("zirconia-3y").known(t, Entered{})
	bare.Readings = nil
	lost := sound("zirconia-3y").known(t, Entered{Isolation: "not-possible"})
	for i := range lost.Readings {
		lost.Readings[i] = reading.Reading{ID: lost.Readings[i].ID, Reason: "the walls could not be followed"}
	}
	free := sound("zirconia-3y").known(t, Entered{})
	free.Readings[3].Limit = nil
	unknown := Case{Material: conformity.Material{Name: "zirconia-3y"}, Class: "molar"}
	cases := []Case{short.known(t, Entered{Isolation: "rolls-and-suction", Depth: depth(2), Substrate: "metal", Temporary: "eugenol"}),
		near.known(t, allEntered()), sound("zirconia-3y").known(t, Entered{Substrate: "composite", Temporary: "eugenol-free", Depth: depth(-1)}),
		sound("zirconia-3y").known(t, Entered{Substrate: "dentine"}), bare, lost, free, unknown}
	deep := near.known(t, Entered{})
	deep.Readings = append(deep.Readings, reading.Reading{ID: "finish_line.depth", Value: 1, Expanded: 0.1})
	for _, c := range append(cases, deep) {
		for i := range builtInRules.Rules {
			out = append(out, builtInRules.Rules[i].look(&c).Found)
		}
	}
	return out
}
