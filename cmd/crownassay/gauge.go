package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"crownassay/assay"
	"crownassay/desk"
	"crownassay/gauge"
	"crownassay/internal/phantom"
	"crownassay/pdf"
	"crownassay/sqlite"
)

// gaugeCommand is the practice's check of its own scanner.
type gaugeCommand struct {
	Check    gaugeCheck    `cmd:"" default:"withargs" help:"Check the scanner by repeated scans of a reference body."`
	History  gaugeHistory  `cmd:"" help:"Show the kept checks over time, and whether the scanner drifts."`
	Withdraw gaugeWithdraw `cmd:"" help:"Say that a kept check does not hold, and why."`
	Invented gaugeInvented `cmd:"" help:"Write invented scans of a reference body with a known error, for trying out."`
}

type gaugeCheck struct {
	benchFlags
	Body    string   `arg:"" help:"YAML file of the reference body."`
	Scans   []string `arg:"" help:"Scans of it, two or more."`
	Scanner string   `placeholder:"NAME" help:"Which scanner, where the practice has several."`
	Who     string   `env:"CROWNASSAY_WHO" placeholder:"INITIALS" help:"Who checks."`
	Keep    bool     `help:"Keep the check on the bench: cases that state no scanner uncertainty use it from now on."`
	JSON    bool     `name:"json" help:"Print one JSON document instead of the sheet."`
	Out     string   `placeholder:"DIR" help:"Also write gauge.json, gauge.txt and gauge.pdf into DIR."`
	Paper   string   `enum:"a4,letter" default:"a4" help:"Of gauge.pdf: a4 or letter."`
}

// Run checks the scanner.
func (c *gaugeCheck) Run(p *program) error {
	body, err := gauge.LoadBody(c.Body)
	if err != nil {
		return err
	}
	tell, end := newProgress(p.ctx, p.stderr)
	r, err := gauge.Check(p.ctx, body, c.Scans, gauge.Settings{Scanner: c.Scanner, Who: c.Who, Made: time.Now(), Progress: tell})
	end()
	if err != nil {
		return err
	}
	var doc, sheet, page bytes.Buffer
	if err := errors.Join(r.WriteJSON(&doc), r.WriteSheet(&sheet)); err != nil {
		return err
	}
	if c.Out != "" {
		if err := onPaper(r, pdf.Paper(c.Paper)).Write(&page); err != nil {
			return err
		}
		if err := c.write(doc.Bytes(), sheet.Bytes(), page.Bytes()); err != nil {
			return err
		}
	}
	if c.Keep {
		if err := c.keep(p, doc.Bytes()); err != nil {
			return err
		}
	}
	out := sheet.Bytes()
	if c.JSON {
		out = doc.Bytes()
	}
	_, err = p.stdout.Write(out)
	return err
}

// onPaper is the sheet of a check for the PDF, with the signs of print.
func onPaper(r *gauge.Result, paper pdf.Paper) *pdf.Plain {
	s := r.Sheet()
	sign := func(t string) string {
		return strings.NewReplacer("+-", "±", " um", " µm").Replace(t)
	}
	pairs := func(fs [][2]string) (out [][2]string) {
		for _, f := range fs {
			out = append(out, [2]string{f[0], sign(f[1])})
		}
		return out
	}
	table := func(t gauge.Table) (out pdf.PlainTable) {
		for _, h := range t.Head {
			out.Head = append(out.Head, sign(h))
		}
		for _, row := range t.Rows {
			var cells []string
			for i, c := range row {
				if i > 0 { // the first is a name or a file
					c = sign(c)
				}
				cells = append(cells, c)
			}
			out.Rows = append(out.Rows, cells)
		}
		return out
	}
	return &pdf.Plain{Title: s.Title, Made: r.Made, Facts: pairs(s.Facts), Tables: []pdf.PlainTable{table(s.Dimensions), table(s.Scans)},
		After: pairs(s.Results), Says: sign(s.Says), Paper: paper}
}

func (c *gaugeCheck) write(doc, sheet, page []byte) error {
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("write %s: %w", c.Out, err)
	}
	return errors.Join(writeFile(filepath.Join(c.Out, "gauge.json"), doc), writeFile(filepath.Join(c.Out, "gauge.txt"), sheet), writeFile(filepath.Join(c.Out, "gauge.pdf"), page))
}

// keep adds the check to the store, which is made where it is not there.
func (c *gaugeCheck) keep(p *program, doc []byte) error {
	dir, err := c.dir()
	if err != nil {
		return err
	}
	s, err := sqlite.Open(p.ctx, dir, nil)
	if err != nil {
		return err
	}
	kept, err := s.AddScannerCheck(p.ctx, doc)
	if err = errors.Join(err, s.Close()); err == nil {
		fmt.Fprintf(p.stderr, "crownassay: kept as scanner check %d\n", kept.ID)
	}
	return err
}

type gaugeHistory struct {
	benchFlags
	Scanner  string  `placeholder:"NAME" help:"Only checks of this scanner."`
	Since    string  `placeholder:"DAY" help:"Only checks from this day on, such as 2026-03-01: after a service everything begins anew."`
	Lambda   float64 `default:"0.2" help:"Weight of the newest check in the moving average."`
	Limit    float64 `default:"3" help:"Width of the limits in standard deviations."`
	Baseline int     `default:"5" help:"How many checks the center and the scatter are taken from."`
	JSON     bool    `name:"json" help:"Print one JSON document instead of text."`
}

// Run shows the checks. The status is 1 when the scanner has drifted.
func (c *gaugeHistory) Run(p *program) error {
	set := gauge.HistorySettings{Lambda: c.Lambda, L: c.Limit, Baseline: c.Baseline}
	if c.Since != "" {
		var err error
		if set.Since, err = time.Parse(time.DateOnly, c.Since); err != nil {
			return fmt.Errorf("read --since %s: no day; write it as 2026-03-01", c.Since)
		}
	}
	s, err := c.openStore(p.ctx)
	if err != nil {
		return err
	}
	all, err := keptChecks(p.ctx, s)
	if err = errors.Join(err, s.Close()); err != nil {
		return err
	}
	var of []*gauge.Result
	for _, k := range all {
		if k.withdrawn == "" && (c.Scanner == "" || k.result.Scanner == c.Scanner) {
			of = append(of, k.result)
		}
	}
	hs, err := gauge.Histories(of, set)
	if err != nil {
		return err
	}
	if err := c.print(p, hs, all); err != nil {
		return err
	}
	for _, h := range hs {
		if h.Drifted {
			return outcome(statusFails)
		}
	}
	return nil
}

func (c *gaugeHistory) print(p *program, hs []*gauge.History, all []keptCheck) error {
	if c.JSON {
		e := json.NewEncoder(p.stdout)
		e.SetEscapeHTML(false)
		return e.Encode(append([]*gauge.History{}, hs...))
	}
	if len(all) == 0 {
		fmt.Fprintln(p.stdout, "No scanner check is kept yet: make one with \"crownassay gauge BODY.yaml SCAN... --keep\".")
	}
	for _, k := range all {
		s := fmt.Sprintf("%4d  %s  %.1f um (k = 2) by the %s", k.id, k.result.Source(), k.result.ScannerUM, k.result.Decided)
		if k.withdrawn != "" {
			s += " [withdrawn: " + k.withdrawn + "]"
		}
		fmt.Fprintln(p.stdout, s)
	}
	if len(hs) > 0 {
		fmt.Fprintln(p.stdout)
	}
	return gauge.WriteHistory(p.stdout, hs)
}

// keptCheck is a check of the store.
type keptCheck struct {
	id        int64
	withdrawn string
	result    *gauge.Result
}

// keptChecks reads the checks of a store.
func keptChecks(ctx context.Context, s *sqlite.Store) ([]keptCheck, error) {
	cs, err := s.ScannerChecks(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]keptCheck, len(cs))
	for i, c := range cs {
		r, err := gauge.Read(c.Document)
		if err != nil {
			return nil, fmt.Errorf("scanner check %d: %w", c.ID, err)
		}
		out[i] = keptCheck{c.ID, c.Withdrawn, r}
	}
	return out, nil
}

// scanner takes the scanner's uncertainty of a case that states none from the
// checks kept on the bench, where there are any.
func (f *benchFlags) scanner(ctx context.Context, c *assay.Case) error {
	if c.ScannerUM != 0 {
		return nil
	}
	take, err := f.known(ctx)
	if err == nil && take != nil {
		take(c)
	}
	return err
}

// known is scanner for many cases, read once; nil where there is no bench.
func (f *benchFlags) known(ctx context.Context) (func(*assay.Case), error) {
	dir, err := f.dir()
	if f.Store == "" && (err != nil || !sqlite.Is(dir)) {
		return nil, nil
	}
	s, err := f.openStore(ctx)
	if err != nil {
		return nil, err
	}
	take, err := desk.Scanner(ctx, s)
	return take, errors.Join(err, s.Close())
}

type gaugeWithdraw struct {
	benchFlags
	Check  int64  `arg:"" help:"Number of the check, as the history lists it."`
	Reason string `arg:"" help:"Why it does not hold."`
}

// Run withdraws a check.
func (c *gaugeWithdraw) Run(p *program) error {
	s, err := c.openStore(p.ctx)
	if err != nil {
		return err
	}
	k, err := s.WithdrawScannerCheck(p.ctx, c.Check, c.Reason)
	if err = errors.Join(err, s.Close()); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "Scanner check %d does not hold: %s\n", k.ID, k.Withdrawn)
	return err
}

type gaugeInvented struct {
	Dir     string  `arg:"" help:"Folder to write body.yaml, the scans and truth.json into."`
	Kind    string  `default:"sphere" enum:"sphere,two-spheres,steps,cylinder,cone,mesh" help:"Kind of body: sphere, two-spheres, steps, cylinder, cone or mesh."`
	Repeats int     `default:"5" help:"How many scans."`
	Seed    uint64  `default:"1" help:"The same seed gives the same scans."`
	Scale   float64 `default:"0.0008" help:"Relative error of size: 0.001 scans 1 per mille too large."`
	Swing   float64 `default:"0.0002" help:"Standard deviation of that from scan to scan."`
	Offset  float64 `default:"2" help:"How far the surface is off, outward, in um."`
	Noise   float64 `default:"8" help:"Noise along the normal, standard deviation in um."`
}

// Run writes the invented scans.
func (c *gaugeInvented) Run(p *program) error {
	if c.Repeats < 1 || c.Repeats > 100 {
		return fmt.Errorf("read --repeats %d: give 1 to 100", c.Repeats)
	}
	g, err := phantom.BuildGauge(phantom.GaugeSpec{Kind: c.Kind, Repeats: c.Repeats, Seed: c.Seed, Scale: c.Scale, Swing: c.Swing, Offset: c.Offset / 1000, Noise: c.Noise / 1000})
	if err != nil {
		return err
	}
	if err := g.Write(c.Dir); err != nil {
		return err
	}
	var scans []string
	for i := range c.Repeats {
		scans = append(scans, filepath.Join(c.Dir, fmt.Sprintf("scan%d.stl", i+1)))
	}
	_, err = fmt.Fprintf(p.stdout, "%s: invented scans of a reference body; check them with: crownassay gauge %s %s\n", c.Dir, filepath.Join(c.Dir, "body.yaml"), strings.Join(scans, " "))
	return err
}
