package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
)

// target is a ratio to a peer that the project has set itself.
type target struct {
	task, set, peer string
	most            float64
}

// targets are the ratios aimed at, one thread against one.
var targets = []target{
	{"closest", "near_b_morton", "embree_medium", 1},
	{"rays", "b", "embree_medium_intersect1", 3},
	{"signed", "near_b", "cgal_aabb+side_of_mesh", 0.3},
	{"read", "a", "vtk_reader_merging", 0.5},
	{"register", "c", "open3d_legacy_point_to_plane", 1},
}

const own = "crownassay"

func runTable(args []string) error {
	fs := flag.NewFlagSet("table", flag.ContinueOnError)
	cpu := fs.Bool("cpu", false, "compare processor time instead of time")
	if err := fs.Parse(args); err != nil {
		return err
	}
	if fs.NArg() != 1 {
		return errUsage
	}
	in := os.Stdin
	if name := fs.Arg(0); name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return fmt.Errorf("open figures: %w", err)
		}
		defer f.Close()
		in = f
	}
	lines, err := readLines(in)
	if err != nil {
		return err
	}
	writeTable(os.Stdout, lines, *cpu)
	return nil
}

// row names what is compared: one task on one set with one number of threads.
type row struct {
	task, set string
	threads   int
}

// series is a peer's figure by round.
type series struct {
	peer  string
	round map[int]float64
	err   float64 // um, of the last round
}

// writeTable prints a table in Markdown: every peer's median and the median,
// over rounds, of this program's figure divided by the peer's.
func writeTable(w io.Writer, lines []line, cpu bool) {
	rows, by := group(lines, cpu)
	kind := "median, us"
	if cpu {
		kind = "least processor time, us"
	}
	fmt.Fprintf(w, "| task | set | threads | program | %s | ours / theirs, median of rounds | aim | rounds | error, um |\n", kind)
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|---|")
	for _, r := range rows {
		ours := find(by[r], own)
		for _, s := range by[r] {
			ratio, rounds := ratioTo(ours, s)
			fmt.Fprintf(w, "| %s | %s | %d | %s | %.3f | %s | %s | %d | %s |\n",
				r.task, r.set, r.threads, s.peer, median(values(s)), ratio, aim(r, s.peer), rounds, shown(s.err))
		}
	}
}

func group(lines []line, cpu bool) ([]row, map[row][]series) {
	var rows []row
	by := map[row][]series{}
	for _, l := range lines {
		r := row{l.task, l.set, l.threads}
		if _, ok := by[r]; !ok {
			rows = append(rows, r)
		}
		i := slices.IndexFunc(by[r], func(s series) bool { return s.peer == l.peer })
		if i < 0 {
			by[r], i = append(by[r], series{l.peer, map[int]float64{}, 0}), len(by[r])
		}
		if by[r][i].round[l.round] = l.us; cpu {
			by[r][i].round[l.round] = l.cpu
		}
		by[r][i].err = l.err
	}
	return rows, by
}

func find(all []series, peer string) series {
	for _, s := range all {
		if s.peer == peer {
			return s
		}
	}
	return series{}
}

// ratioTo returns the median of ours divided by theirs over the rounds that
// have both.
func ratioTo(ours, theirs series) (string, int) {
	var rs []float64
	for round, t := range theirs.round {
		if o, ok := ours.round[round]; ok && t > 0 {
			rs = append(rs, o/t)
		}
	}
	if len(rs) == 0 || theirs.peer == own {
		return "", len(theirs.round)
	}
	return fmt.Sprintf("%.2f", median(rs)), len(rs)
}

func values(s series) []float64 {
	var v []float64
	for _, x := range s.round {
		v = append(v, x)
	}
	return v
}

// median returns the middle value, the mean of the middle two of an even
// number; it sorts x.
func median(x []float64) float64 {
	slices.Sort(x)
	n := len(x)
	return (x[(n-1)/2] + x[n/2]) / 2
}

// shown is an error, or nothing where there is none.
func shown(err float64) string {
	if err == 0 {
		return ""
	}
	return fmt.Sprintf("%.3f", err)
}

func aim(r row, peer string) string {
	for _, t := range targets {
		if t.task == r.task && t.set == r.set && t.peer == peer && r.threads == 1 {
			return fmt.Sprintf("<= %g", t.most)
		}
	}
	return ""
}
