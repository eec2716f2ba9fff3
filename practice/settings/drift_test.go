package settings

import (
	"context"
	"math/rand/v2"
	"testing"
)

// TestDriftIsSeen: a block lot that comes out 30 um tighter is seen and named.
func TestDriftIsSeen(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes many fits")
	}
	seen, named, late := 0, 0, 0
	for n := range 12 {
		w := usual
		w.lots = map[string]float64{"B8": 0.03}
		c := w.invent(rand.New(rand.NewPCG(uint64(n), 2)), 300, 0.02, 0.015)
		d, err := FollowDrift(context.Background(), c, 1)
		if err != nil {
			t.Fatal(err)
		}
		if d.Out >= 200 && d.Out < 240 {
			seen++
			late += d.Out - 200
			if d.With != nil && *d.With == (Coincides{"block", "B8", 25, d.With.Surprise}) && d.With.Surprise > 0 {
				named++
			}
		}
	}
	t.Logf("seen in %d of 12, after %.1f contacts, named in %d", seen, float64(late)/float64(max(seen, 1)), named)
	if seen < 11 || named < 10 {
		t.Errorf("a tighter lot is seen in %d of 12 practices and named in %d", seen, named)
	}
}

// TestNoDrift: where nothing changes, hardly anything is seen.
func TestNoDrift(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes many fits")
	}
	alarms := 0
	for n := range 15 {
		d, err := FollowDrift(context.Background(), usual.invent(rand.New(rand.NewPCG(uint64(n), 3)), 300, 0.02, 0.015), 1)
		if err != nil {
			t.Fatal(err)
		}
		if d.Out >= 0 {
			alarms++
		}
	}
	t.Logf("%d of 15 practices that do not change have an alarm", alarms)
	if alarms > 2 {
		t.Errorf("%d of 15 practices that do not change have an alarm", alarms)
	}
}
