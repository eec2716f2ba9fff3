package results

import (
	"path/filepath"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"crownassay/audit"
	"crownassay/internal/pgtest"
)

// TestResults: on both databases what lasts is kept once and never replaced, also
// when several put it at once; what does not last gives way.
func TestResults(t *testing.T) {
	open := map[string]func(t *testing.T) func() (*Results, error){
		"sqlite": func(t *testing.T) func() (*Results, error) {
			file := filepath.Join(t.TempDir(), "audit.db")
			return func() (*Results, error) { return Open(t.Context(), file) }
		},
		"postgres": func(t *testing.T) func() (*Results, error) {
			address := pgtest.Start(t)
			return func() (*Results, error) { return OpenPostgres(t.Context(), address) }
		},
	}
	for name, at := range open {
		t.Run(name, func(t *testing.T) {
			again := at(t)
			var all sync.WaitGroup
			for range 4 { // programs that find no tables yet
				all.Go(func() {
					r, err := again()
					if err != nil {
						t.Error(err)
						return
					}
					defer r.Close()
					if err := r.Put(t.Context(), "k", "case", audit.Result{Kind: audit.Measured, Document: []byte("document")}); err != nil {
						t.Error(err)
					}
				})
			}
			all.Wait()
			r, err := again()
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			check := func(key string, want audit.Result, there bool) {
				t.Helper()
				got, ok, err := r.Get(t.Context(), key)
				if d := cmp.Diff(want, got); d != "" || ok != there || err != nil {
					t.Errorf("%s: %v, %v (-want +got):\n%s", key, ok, err, d)
				}
			}
			put := func(key string, x audit.Result) {
				t.Helper()
				if err := r.Put(t.Context(), key, "case", x); err != nil {
					t.Fatal(err)
				}
			}
			check("k", audit.Result{Kind: audit.Measured, Document: []byte("document")}, true)
			put("k", audit.Result{Kind: audit.Refused, Problem: "other"})
			check("k", audit.Result{Kind: audit.Measured, Document: []byte("document")}, true)
			put("late", audit.Result{Kind: audit.Late, Problem: "too long"})
			check("late", audit.Result{Kind: audit.Late, Problem: "too long"}, true)
			put("late", audit.Result{Kind: audit.Measured, Document: []byte{}})
			check("late", audit.Result{Kind: audit.Measured, Document: []byte{}}, true)
			if err := r.Forget(t.Context(), []string{"k"}); err != nil {
				t.Fatal(err)
			}
			check("k", audit.Result{}, false)
		})
	}
}
