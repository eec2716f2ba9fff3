package sqlite

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"crownassay/record"
)

// childOf names the folder in which a copy of this test's program uploads
// until it is killed.
const childOf = "CROWNASSAY_TEST_STORE"

func TestMain(m *testing.M) {
	if dir := os.Getenv(childOf); dir != "" {
		if err := uploadForever(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// uploadForever adds takes of random content and says of each that it was
// accepted, once it was.
func uploadForever(dir string) error {
	ctx := context.Background()
	s, err := Open(ctx, dir, nil)
	if err != nil {
		return err
	}
	k, err := s.AddCase(ctx, record.Kept{Tooth: "46", Numbering: "iso3950", Material: "zirconia-3y", Unit: "mm"})
	if err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(uint64(os.Getpid()), 1))
	for {
		content := make([]byte, 1+r.IntN(300_000))
		for i := range content {
			content[i] = byte(r.Uint32())
		}
		b, err := s.PutMesh(ctx, bytes.NewReader(content), 1<<20)
		if err != nil {
			return err
		}
		t, err := s.AddTake(ctx, record.Take{Case: k.ID, Role: "prepared", File: "x.stl", SHA256: b.SHA256, Bytes: b.Bytes})
		if err != nil {
			return err
		}
		if _, err := s.AddRun(ctx, record.Run{Case: k.ID, Takes: []int64{t.ID}, Document: fmt.Appendf(nil, `{"format":"crownassay/1","headline":%q}`, b.SHA256)}); err != nil {
			return err
		}
		fmt.Println(k.ID, b.SHA256)
	}
}

// TestKilledAtAnyMoment kills an uploading process without warning, again and
// again. What it said was accepted is there; what is there is whole.
func TestKilledAtAnyMoment(t *testing.T) {
	dir, rounds := t.TempDir(), 12
	if testing.Short() {
		rounds = 4
	}
	var accepted [][2]string
	for i := range rounds {
		accepted = append(accepted, killed(t, dir, time.Duration(150+97*i%400)*time.Millisecond)...)
		s := open(t, dir)
		checkWhole(t, s)
		for _, a := range accepted {
			checkThere(t, s, a)
		}
		s.Close()
	}
	if len(accepted) < rounds {
		t.Errorf("only %d uploads were accepted in %d rounds: nothing was tested", len(accepted), rounds)
	}
	t.Logf("%d uploads accepted over %d kills", len(accepted), rounds)
}

// killed runs the child for a while after its first upload, kills it and
// returns what it said was accepted.
func killed(t *testing.T, dir string, after time.Duration) (accepted [][2]string) {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childOf+"="+dir)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for n := 0; lines.Scan(); n++ {
		if n == 0 {
			time.AfterFunc(after, func() { c.Process.Kill() })
		}
		// a line that the kill cut off is no word
		if f := strings.Fields(lines.Text()); len(f) == 2 && len(f[1]) == 64 {
			accepted = append(accepted, [2]string{f[0], f[1]})
		}
	}
	_ = c.Wait() // it was killed
	return accepted
}

// checkWhole looks at every take and every run there is.
func checkWhole(t *testing.T, s *Store) {
	t.Helper()
	ctx := context.Background()
	cases, err := s.Cases(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range cases {
		takes, err := s.Takes(ctx, k.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range takes {
			at, err := s.MeshPath(ctx, x.SHA256)
			if err != nil {
				t.Fatalf("take %d is there without its mesh: %v", x.ID, err)
			}
			b, err := os.ReadFile(at)
			if sum := sha256.Sum256(b); err != nil || hex.EncodeToString(sum[:]) != x.SHA256 || int64(len(b)) != x.Bytes {
				t.Fatalf("take %d: its mesh has %d bytes of other content, %v", x.ID, len(b), err)
			}
		}
		runs, err := s.Runs(ctx, k.ID, 1000)
		if err != nil || len(runs) > len(takes) {
			t.Fatalf("%d runs of %d takes, %v", len(runs), len(takes), err)
		}
	}
}

// checkThere looks for what was accepted.
func checkThere(t *testing.T, s *Store, a [2]string) {
	t.Helper()
	n := 0
	if err := s.db.QueryRow(`SELECT count(*) FROM takes JOIN runs ON runs.case_id = takes.case_id AND runs.takes = '[' || takes.id || ']'
		WHERE takes.case_id = ? AND takes.sha256 = ?`, a[0], a[1]).Scan(&n); err != nil || n != 1 {
		t.Fatalf("accepted upload %s of case %s is there %d times, %v", a[1], a[0], n, err)
	}
}
