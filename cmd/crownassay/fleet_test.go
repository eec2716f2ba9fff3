//go:build unix

package main

import (
	"bytes"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"

	"crownassay/audit/results"
	"crownassay/internal/pgtest"
	"crownassay/meshstore"
)

// start starts this binary as the program, in a process of its own, which ends
// with the test.
func start(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self, args...)
	c.Env = append(os.Environ(), asProgram+"=1")
	var says bytes.Buffer
	c.Stdout, c.Stderr = &says, &says
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = c.Process.Signal(os.Interrupt)
		late := time.AfterFunc(15*time.Second, func() { _ = c.Process.Kill() })
		_ = c.Wait()
		late.Stop()
		if t.Failed() {
			t.Logf("crownassay %s says:\n%s", args[0], says.String())
		}
	})
	return c
}

// TestWorkersOfManyMachines: three workers, each a process of its own, measure an
// archive by way of a PostgreSQL server and an S3 server; one is killed in the
// middle of a case. Every case is there exactly once, with the bytes that an
// audit on this machine gives.
func TestWorkersOfManyMachines(t *testing.T) {
	if testing.Short() {
		t.Skip("three programs and two servers")
	}
	database := pgtest.Start(t)
	kept := s3mem.New()
	if err := kept.CreateBucket("practice"); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(gofakes3.New(kept).Server())
	t.Cleanup(server.Close)
	for name, v := range map[string]string{meshstore.EnvEndpoint: server.URL, meshstore.EnvKey: "key", meshstore.EnvSecret: "secret"} {
		t.Setenv(name, v)
	}
	where := []string{"--jobs", database, "--meshes", "s3://practice/meshes"}

	root := t.TempDir()
	dir := archiveOf(t, filepath.Join(root, "archive"))
	local, shared := filepath.Join(root, "local"), filepath.Join(root, "shared")
	if s, _, errs := call(t, "audit", dir, "--out", local); s != 0 {
		t.Fatal(errs)
	}
	var workers []*exec.Cmd
	for range 3 {
		workers = append(workers, start(t, append([]string{"work", "--at-once", "1"}, where...)...))
	}
	collects := make(chan string, 1)
	go func() {
		var out, errs bytes.Buffer
		s := run(t.Context(), append([]string{"audit", dir, "--out", shared}, where...), strings.NewReader(""), &out, &errs)
		collects <- fmt.Sprint(s, " ", errs.String())
	}()
	killInTheMiddle(t, database, workers)
	select {
	case says := <-collects:
		if !strings.HasPrefix(says, "0 ") || !strings.Contains(says, "7 cases measured, 1 could not be, 1 could not be read") {
			t.Fatal(says)
		}
	case <-time.After(2 * time.Minute):
		t.Fatal("the audit does not end")
	}
	for _, name := range []string{auditJSON, auditValues, auditSummary, auditText} {
		a, errA := os.ReadFile(filepath.Join(local, name))
		b, errB := os.ReadFile(filepath.Join(shared, name))
		if errA != nil || errB != nil || !bytes.Equal(a, b) {
			t.Errorf("%s of the workers differs from the local one (%v, %v)", name, errA, errB)
		}
	}
	sameDocuments(t, filepath.Join(local, auditJournal), database)
}

// archiveOf is an archive of eight cases that can be read, one of which cannot be
// measured, with files above the cases' folders, and one that names a file that is
// not there.
func archiveOf(t *testing.T, dir string) string {
	t.Helper()
	one := filepath.Join(dir, "1")
	if s, _, errs := call(t, "phantom", one, "--triangles", "8000"); s != 0 {
		t.Fatal(errs)
	}
	if err := os.WriteFile(filepath.Join(dir, "practice.yaml"), []byte("materials: [{name: zirconia-3y, thickness: 0.7}]\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for i := 2; i <= 9; i++ {
		if err := os.CopyFS(filepath.Join(dir, fmt.Sprint(i)), os.DirFS(one)); err != nil {
			t.Fatal(err)
		}
		described(t, filepath.Join(dir, fmt.Sprint(i)), fmt.Sprintf("cement_space_um: %d\nlimits: ../practice.yaml\n", 50+i))
	}
	if err := os.WriteFile(filepath.Join(dir, "8", "prepared.stl"), []byte("no mesh"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(dir, "9", "prepared.stl")); err != nil {
		t.Fatal(err)
	}
	return dir
}

// killInTheMiddle waits until a worker is in a case, holds it to see that it
// still is, and kills it.
func killInTheMiddle(t *testing.T, database string, workers []*exec.Cmd) {
	t.Helper()
	c, err := pgx.Connect(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(t.Context())
	inCase := func(pid int) (n int) {
		// the tables may not be there yet
		_ = c.QueryRow(t.Context(), `SELECT count(*) FROM river_job WHERE kind = 'audit-case' AND state = 'running' AND attempted_by[1] LIKE '%-' || $1 || '-%'
			AND NOT EXISTS (SELECT 1 FROM audit_results r WHERE r.key = args->>'key')`, fmt.Sprint(pid)).Scan(&n)
		return n
	}
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		for _, w := range workers {
			if inCase(w.Process.Pid) == 0 {
				continue
			}
			if err := w.Process.Signal(syscall.SIGSTOP); err != nil {
				t.Fatal(err)
			}
			time.Sleep(50 * time.Millisecond) // what was on its way arrives
			if inCase(w.Process.Pid) == 1 {
				if err := w.Process.Kill(); err != nil {
					t.Fatal(err)
				}
				return
			}
			if err := w.Process.Signal(syscall.SIGCONT); err != nil {
				t.Fatal(err)
			}
		}
	}
	t.Fatal("no worker was seen in the middle of a case")
}

// sameDocuments holds the results of the workers to those of a journal.
func sameDocuments(t *testing.T, journal, database string) {
	t.Helper()
	ctx := t.Context()
	mine, err := results.Open(ctx, journal)
	if err != nil {
		t.Fatal(err)
	}
	defer mine.Close()
	theirs, err := results.OpenPostgres(ctx, database)
	if err != nil {
		t.Fatal(err)
	}
	defer theirs.Close()
	c, err := pgx.Connect(ctx, database)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(ctx)
	rows, err := c.Query(ctx, `SELECT key FROM audit_results`)
	if err != nil {
		t.Fatal(err)
	}
	keys, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(keys) != 8 {
		t.Fatalf("%d results, %v; want one for each case that can be read", len(keys), err)
	}
	for _, k := range keys {
		a, ok, errA := mine.Get(ctx, k)
		b, _, errB := theirs.Get(ctx, k)
		if errA != nil || errB != nil || !ok || a.Kind != b.Kind || a.Problem != b.Problem || !bytes.Equal(a.Document, b.Document) {
			t.Errorf("key %s: here %v %q, by the workers %q (%v, %v)", k[:8], ok, a.Problem, b.Problem, errA, errB)
		}
	}
	var again, jobs int
	if err := c.QueryRow(ctx, `SELECT count(*) FILTER (WHERE attempt > 1 AND cardinality(attempted_by) > 1), count(*) FROM river_job WHERE state = 'completed'`).Scan(&again, &jobs); err != nil {
		t.Fatal(err)
	}
	if again != 1 || jobs != 8 {
		t.Errorf("%d jobs were done, %d of them by a second worker; want 8 and the one of the killed worker", jobs, again)
	}
}
