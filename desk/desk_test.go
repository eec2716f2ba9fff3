package desk

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/record"
	"crownassay/web"
)

// keeper is a store in memory, of one case whose files lie in a folder.
type keeper struct {
	record.Store
	mu    sync.Mutex
	takes []record.Take
	dir   string
	aside map[string][]byte
	check []record.ScannerCheck
}

func (k *keeper) Case(context.Context, int64) (record.Kept, error) {
	return record.Kept{ID: 1, Tooth: "46", Numbering: "iso3950", Material: "zirconia-3y", Unit: "mm"}, nil
}
func (k *keeper) Takes(context.Context, int64) ([]record.Take, error)  { return k.takes, nil }
func (k *keeper) Lines(context.Context, int64) ([]record.Drawn, error) { return nil, nil }
func (k *keeper) ScannerChecks(context.Context) ([]record.ScannerCheck, error) {
	return k.check, nil
}
func (k *keeper) MeshPath(_ context.Context, sum string) (string, error) {
	return filepath.Join(k.dir, sum), nil
}
func (k *keeper) AddRun(_ context.Context, r record.Run) (record.Run, error) { return r, nil }
func (k *keeper) SetAside(_ context.Context, id int64, kind, key string, b []byte) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.aside[fmt.Sprint(id, kind, key)] = b
	return nil
}
func (k *keeper) Aside(_ context.Context, id int64, kind, key string) ([]byte, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if b, ok := k.aside[fmt.Sprint(id, kind, key)]; ok {
		return b, nil
	}
	return nil, record.ErrNotFound
}

func kept(t *testing.T) *keeper {
	t.Helper()
	made, err := phantom.Build(context.Background(), phantom.Spec{Tooth: "46", Seed: 2, Noise: 0.006, Triangles: 16000, Crown: &phantom.Crown{Triangles: 8000}})
	if err != nil {
		t.Fatal(err)
	}
	k := &keeper{dir: t.TempDir(), aside: map[string][]byte{}}
	if err := made.Write(k.dir); err != nil {
		t.Fatal(err)
	}
	for i, role := range []string{"prepared", "opposing", "crown"} {
		file := role + ".stl"
		if _, err := os.Stat(filepath.Join(k.dir, file)); err != nil {
			t.Fatal(err)
		}
		k.takes = append(k.takes, record.Take{ID: int64(i + 1), Case: 1, Role: role, Confirmed: true, File: file, SHA256: file})
	}
	return k
}

// asked is everything that is asked of a desk about a case, as a page does.
func asked(t *testing.T, d *Desk, pts []geom.Vec, at func(func())) map[string]any {
	ctx := context.Background()
	var mu sync.Mutex
	out := map[string]any{}
	ask := func(what string, do func() (any, error)) {
		at(func() {
			v, err := do()
			if err != nil {
				t.Errorf("%s: %v", what, err)
			}
			mu.Lock()
			defer mu.Unlock()
			out[what] = v
		})
	}
	maps, err := d.Maps(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range maps {
		ask(fmt.Sprint(k.Role, k.Reading), func() (any, error) {
			v, err := d.Map(ctx, 1, k.Role, k.Reading)
			return appendFloats(nil, v), err
		})
	}
	for _, a := range []float64{0, 77, 200} {
		ask(fmt.Sprint("slice ", a), func() (any, error) { return d.Slice(ctx, 1, web.Cut{Azimuth: &a}) })
	}
	ask("moved line", func() (any, error) {
		r, err := d.Redraw(ctx, 1, pts)
		if err != nil {
			return nil, err
		}
		p, err := r.Record.Part(r.Again)
		return p, err
	})
	return out
}

// TestSideBySide asks everything of a measured case one after the other, and of
// another desk at the same time while the case is set aside: the answers are the
// same. Run with -race it sees what is shared without a lock.
func TestSideBySide(t *testing.T) {
	k := kept(t)
	ctx := context.Background()
	desks := [2]*Desk{New(k), New(k)}
	for _, d := range desks {
		if err := d.Measure(ctx, 1, Telling{}); err != nil {
			t.Fatal(err)
		}
	}
	r, err := desks[0].Redraw(ctx, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	var pts []geom.Vec
	for i := 0; i < len(r.Points); i += 15 {
		pts = append(pts, r.Points[i])
	}
	pts[3] = pts[3].Add(geom.V(0, 0, 0.1))
	one := asked(t, desks[0], pts, func(f func()) { f() })
	var all sync.WaitGroup
	aside := make(chan struct{})
	go func() { desks[1].Close(); close(aside) }() // at once, without waiting
	two := asked(t, desks[1], pts, func(f func()) {
		all.Add(1)
		go func() { defer all.Done(); f() }()
	})
	all.Wait()
	<-aside
	if d := cmp.Diff(one, two); d != "" {
		t.Errorf("asked at the same time: %.2000s", d)
	}
	desks[0].Close()

	// A desk that begins anew has it all from the store.
	again := New(k)
	defer again.Close()
	maps, err := again.Maps(ctx, 1)
	if err != nil || len(maps) == 0 {
		t.Fatalf("%d maps, %v", len(maps), err)
	}
	for _, m := range maps {
		v, err := again.Map(ctx, 1, m.Role, m.Reading)
		if what := fmt.Sprint(m.Role, m.Reading); err != nil || !cmp.Equal(one[what], any(appendFloats(nil, v))) {
			t.Errorf("%s differs from before, %v", what, err)
		}
	}
	if again.cases[0].base != nil {
		t.Error("the case was measured again")
	}
}

// TestScannerCheck: a case that states no uncertainty has that of the kept
// check, and is measured again when there is another; a withdrawn one counts for
// nothing.
func TestScannerCheck(t *testing.T) {
	ctx := context.Background()
	k := kept(t)
	d := New(k)
	defer d.Close()
	before, err := d.input(ctx, 1)
	if err != nil || before.c.ScannerUM != 0 || before.c.ScannerFrom != "" {
		t.Fatalf("without a check: %+v, %v", before.c, err)
	}
	k.check = []record.ScannerCheck{
		{ID: 1, Document: []byte(`{"format":"crownassay-gauge/1","made":"2026-11-02T08:00:00Z","scanner":"arch 1","body":{"name":"ball"},"scanner_uncertainty_um":17.5}`)},
		{ID: 2, Withdrawn: "wet", Document: []byte(`{"format":"crownassay-gauge/1","made":"2026-11-03T08:00:00Z","scanner":"arch 1","body":{"name":"ball"},"scanner_uncertainty_um":90}`)},
	}
	after, err := d.input(ctx, 1)
	if err != nil || after.c.ScannerUM != 17.5 || after.c.ScannerFrom != "scanner check of 2026-11-02, arch 1, on ball" {
		t.Errorf("with a check: %g um from %q, %v", after.c.ScannerUM, after.c.ScannerFrom, err)
	}
	if before.tag() == after.tag() {
		t.Error("what was set aside before the check is taken after it")
	}
	k.check[0].Document = []byte(`{}`)
	if _, err := d.input(ctx, 1); err == nil {
		t.Error("a check that cannot be read was passed over")
	}
}
