package luting

import "testing"

// FuzzWith: whatever a practice's own rules are, they are refused with a
// message or lie over the built-in ones, every row with its name.
func FuzzWith(f *testing.F) {
	f.Add("rules:\n  - {name: height, off: true}\n")
	f.Add("steps:\n  - {name: own, after: clean, says: Rinse once more., status: practice, source: ours}\n")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := With("own.yaml", text)
		if (err == nil) == (r == nil) {
			t.Fatalf("rules %v with the error %v", r, err)
		}
		if r == nil {
			return
		}
		for _, x := range r.Rules {
			if x.Name == "" {
				t.Errorf("a rule without a name of %q", text)
			}
		}
	})
}
