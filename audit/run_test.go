package audit

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"crownassay/internal/par"
	"crownassay/reading"
	"crownassay/record"
	"crownassay/tooth"
)

// memory is a journal in memory.
type memory struct {
	mu   sync.Mutex
	has  map[string]Result
	puts int
}

func (m *memory) Get(_ context.Context, key string) (Result, bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	r, ok := m.has[key]
	return r, ok, nil
}

func (m *memory) Put(_ context.Context, key, _ string, r Result) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.has[key] = r
	m.puts++
	return nil
}

func document(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	r := record.Record{Tooth: tooth.Tooth{Quadrant: 4, Position: 6}, Material: "zirconia-3y", Readings: []reading.Reading{{ID: clearance, Value: 1.25, Verdict: reading.Conforms}}}
	if err := r.WriteJSON(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// item is a case that is measured by a function.
func item(name string, do func(context.Context) ([]byte, error)) Item {
	return Item{name, func(context.Context) (*Opened, error) { return &Opened{Key: "key of " + name, Measure: do}, nil }}
}

// TestOneBadCaseStopsNothing: cases that are refused, panic in a helper's
// goroutine, take too long or cannot be read stand beside those that are
// measured, each with its reason; what lasts is not measured again.
func TestOneBadCaseStopsNothing(t *testing.T) {
	doc := document(t)
	var times atomic.Int32
	good := func(context.Context) ([]byte, error) { times.Add(1); return doc, nil }
	items := []Item{
		item("good", good),
		item("refused", func(context.Context) ([]byte, error) { times.Add(1); return nil, errors.New("no preparation in it") }),
		item("broken", func(ctx context.Context) ([]byte, error) {
			return nil, par.Do(ctx, 8, 1, func(int, int) { var none []int; none[3]++ })
		}),
		item("late", func(ctx context.Context) ([]byte, error) { <-ctx.Done(); return nil, ctx.Err() }),
		{"unread", func(context.Context) (*Opened, error) { return nil, errors.New("no such file") }},
		item("good too", good),
	}
	j := &memory{has: map[string]Result{}}
	for round := range 2 {
		cases, tally, err := Run(context.Background(), items, j, Settings{AtOnce: 2, Longest: 50 * time.Millisecond})
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range []string{"", "no preparation", "index out of range [3]", "took longer than the 50ms", "no such file", ""} {
			if p := cases[i].Problem; !strings.Contains(p, want) || want == "" && p != "" {
				t.Errorf("%s: %q, want %q", cases[i].Name, p, want)
			}
		}
		if !strings.Contains(cases[2].Problem, "audit/run_test.go:") {
			t.Errorf("%q does not say where", cases[2].Problem)
		}
		if c := cases[5]; c.Tooth != "46" || len(c.Readings) != 1 || *c.Readings[0].Value != 1.25 {
			t.Errorf("measured case %+v", c)
		}
		if tally.Kinds[Measured] != 2 || tally.Kinds[Broken] != 1 || tally.Kinds[Late] != 1 || tally.Kinds[Refused] != 1 || tally.Kinds[Not] != 1 || tally.Had != 3*round {
			t.Errorf("round %d: tally %+v", round, tally)
		}
	}
	if n := times.Load(); n != 3 {
		t.Errorf("measured %d times what lasts, want 3", n)
	}
}

// TestStoppedGoesOn: what was measured before a stop is kept, also what ends just
// then, and only the rest is measured afterwards.
func TestStoppedGoesOn(t *testing.T) {
	doc := document(t)
	var times atomic.Int32
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	items := make([]Item, 20)
	for i := range items {
		items[i] = item(fmt.Sprint(i), func(context.Context) ([]byte, error) {
			if times.Add(1) == 5 {
				stop()
			}
			return doc, nil
		})
	}
	j := &memory{has: map[string]Result{}}
	if _, _, err := Run(ctx, items, j, Settings{AtOnce: 2}); !errors.Is(err, context.Canceled) {
		t.Fatalf("stopped: %v", err)
	}
	if n := len(j.has); n < 5 || n > 7 {
		t.Errorf("kept %d, want those that were measured", n)
	}
	if _, tally, err := Run(context.Background(), items, j, Settings{}); err != nil || tally.Kinds[Measured] != 20 || times.Load() != 20 {
		t.Errorf("went on: %v, %+v, measured %d times in all", err, tally, times.Load())
	}
}
