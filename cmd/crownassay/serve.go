package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"time"

	"crownassay/web"
)

type serveCommand struct {
	benchFlags
	Listen string   `default:"127.0.0.1:7460" placeholder:"ADDRESS" help:"Address and port; port 0 takes a free one. Others than this machine's own loopback can be reached by anyone on the network."`
	Host   []string `placeholder:"NAME" help:"Further names that the bench answers to, for addresses beside the loopback."`
	Jobs   string   `env:"CROWNASSAY_JOBS" placeholder:"ADDRESS" help:"PostgreSQL database that keeps the jobs, for several machines; by default they are kept beside the cases."`
	Who    string   `placeholder:"INITIALS" help:"Who changes are kept under until the page says."`
	Open   bool     `help:"Open the page in the browser."`
}

// Run serves the bench until it is interrupted.
func (c *serveCommand) Run(p *program) error {
	dir, err := c.dir()
	if err != nil {
		return err
	}
	b, err := openBench(p.ctx, dir)
	if err != nil {
		return err
	}
	b.Own = c.Who
	return errors.Join(c.serve(p, b, dir), b.close())
}

// serve answers requests until the program is interrupted.
func (c *serveCommand) serve(p *program, b *bench, dir string) error {
	if err := b.work(p.ctx, dir, c.Jobs); err != nil {
		return err
	}
	l, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; give another one with --listen, or port 0 for a free one", c.Listen, err)
	}
	ctx, stop := context.WithCancel(p.ctx)
	defer stop()
	s := &http.Server{Handler: b.Handler(c.hosts(l)), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute,
		BaseContext: func(net.Listener) context.Context { return ctx }} // events end with the program
	c.greet(p, l)
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(l) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serve: %w", err)
	case <-p.ctx.Done():
	}
	last, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	return s.Shutdown(last)
}

// hosts are the names that the bench answers to beside the loopback's: those
// given, and the address it listens on where that is a single one.
func (c *serveCommand) hosts(l net.Listener) []string {
	hosts := c.Host
	if a, err := netip.ParseAddrPort(l.Addr().String()); err == nil && !a.Addr().IsUnspecified() {
		hosts = append(hosts, a.Addr().String())
	}
	return hosts
}

// greet says where the page is and what is not as it should be.
func (c *serveCommand) greet(p *program, l net.Listener) {
	at := "http://" + l.Addr().String() + "/"
	fmt.Fprintf(p.stdout, "The bench is at %s\n", at)
	if a, err := netip.ParseAddrPort(l.Addr().String()); err == nil && !a.Addr().IsLoopback() {
		fmt.Fprintln(p.stderr, "crownassay: this address can be reached from other machines, and the bench asks nobody who they are")
	}
	if !web.HasPage() {
		fmt.Fprintln(p.stderr, "crownassay: this program was built without the page: only the interface under /api answers; run \"make page\" and build again")
		return
	}
	if c.Open {
		openBrowser(at)
	}
}

// openBrowser shows an address where there is a screen. Where there is none,
// or no browser, the address that was printed has to do.
func openBrowser(at string) {
	for _, name := range openers(runtime.GOOS, os.Getenv) {
		path, err := exec.LookPath(name[0])
		if err != nil {
			continue
		}
		cmd := exec.Command(path, append(name[1:], at)...)
		if cmd.Start() == nil {
			go cmd.Wait()
			return
		}
	}
}

// openers are the commands that show an address in the browser, the one to try
// first first; none where there is no screen.
func openers(system string, env func(string) string) [][]string {
	switch system {
	case "darwin":
		return [][]string{{"open"}}
	case "windows":
		return [][]string{{"rundll32", "url.dll,FileProtocolHandler"}}
	}
	var out [][]string
	if b := env("BROWSER"); b != "" && !strings.ContainsAny(b, "%: ") {
		out = append(out, []string{b})
	}
	if env("DISPLAY") == "" && env("WAYLAND_DISPLAY") == "" && env("WSL_DISTRO_NAME") == "" {
		return out
	}
	return append(out, []string{"xdg-open"}, []string{"wslview"}, []string{"sensible-browser"})
}
