// Package pgtest starts a PostgreSQL server for a test: the machine's own
// program, with an empty database in a folder of its own, on the loopback, gone
// with the test.
package pgtest

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// owner is who runs the server where the tests are run by root, which a server
// refuses to be.
const owner = "postgres"

// Start starts a server and returns the address of its database. Without
// PostgreSQL on the machine the test is skipped.
func Start(t testing.TB) (address string) {
	t.Helper()
	bin := programs()
	if bin == "" {
		t.Skip("PostgreSQL's server is not on this machine: apt-get install postgresql")
	}
	dir, err := os.MkdirTemp("", "crownassay-pg-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	as, err := ownerOf(dir)
	if err != nil {
		t.Skipf("PostgreSQL's server does not run as root, and there is no user for it: %v", err)
	}
	run := func(name string, args ...string) *exec.Cmd {
		all := append(slices.Clone(as), append([]string{filepath.Join(bin, name)}, args...)...)
		c := exec.Command(all[0], all[1:]...)
		c.Dir = dir
		return c
	}
	data := filepath.Join(dir, "data")
	if out, err := run("initdb", "-D", data, "-U", "crownassay", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync").CombinedOutput(); err != nil {
		t.Fatalf("initdb: %v\n%s", err, out)
	}
	port := free(t)
	serve(t, run("postgres", "-D", data, "-h", "127.0.0.1", "-p", strconv.Itoa(port), "-k", dir, "-F"))
	address = fmt.Sprintf("postgres://crownassay@127.0.0.1:%d/postgres?sslmode=disable", port)
	await(t, address)
	return address
}

// programs is the folder of the server's programs; empty where there are none.
func programs() string {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb") // where Debian has them
	if at, err := exec.LookPath("initdb"); err == nil {
		found = append([]string{at}, found...)
	}
	for _, at := range slices.Backward(found) {
		if _, err := os.Stat(filepath.Join(filepath.Dir(at), "postgres")); err == nil {
			return filepath.Dir(at)
		}
	}
	return ""
}

// ownerOf gives the folder to who runs the server and returns how to run a
// program as that.
func ownerOf(dir string) ([]string, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	u, err := user.Lookup(owner)
	if err != nil {
		return nil, err
	}
	uid, err := strconv.Atoi(u.Uid)
	if err != nil {
		return nil, err
	}
	return []string{"setpriv", "--reuid", u.Uid, "--regid", u.Gid, "--clear-groups", "--"}, os.Chown(dir, uid, -1)
}

// serve runs a server until the test has ended. A shell holds it and ends it
// when its own input ends, so that nothing is left of a test that was killed.
func serve(t testing.TB, c *exec.Cmd) {
	t.Helper()
	sh := exec.Command("sh", append([]string{"-c", `"$@" </dev/null & cat >/dev/null; kill -QUIT $!; wait $!`, "sh"}, c.Args...)...)
	sh.Dir = c.Dir
	held, err := sh.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	log, err := os.Create(filepath.Join(c.Dir, "log"))
	if err != nil {
		t.Fatal(err)
	}
	sh.Stdout, sh.Stderr = log, log
	if err := sh.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		held.Close()
		stuck := time.AfterFunc(10*time.Second, func() { sh.Process.Kill() })
		sh.Wait()
		stuck.Stop()
		log.Close()
		if b, err := os.ReadFile(log.Name()); err == nil && t.Failed() {
			t.Logf("the server says:\n%s", b)
		}
	})
}

// free returns a port that nobody listens on.
func free(t testing.TB) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// await waits until the server answers.
func await(t testing.TB, address string) {
	t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), 30*time.Second)
	defer stop()
	for {
		c, err := pgx.Connect(ctx, address)
		if err == nil {
			c.Close(ctx)
			return
		}
		select {
		case <-ctx.Done():
			t.Fatalf("the server does not answer: %v", err)
		case <-time.After(50 * time.Millisecond):
		}
	}
}
