package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
)

// line is one program's time for one task in one round, microseconds an item.
type line struct {
	task, peer, set string
	round, threads  int
	us, cpu         float64
	err             float64 // um; 0 where the task has none
}

// raw is a line as it is written: this program's own with us and cpu, or
// another's with seconds for all n items, and perhaps those of its build.
type raw struct {
	Task, Peer, Set   string
	Round, Threads, N int
	US, CPU           float64
	QueryMed          float64 `json:"query_med"`
	QueryCPU          float64 `json:"query_cpu"`
	BuildMed          float64 `json:"build_med"`
	BuildCPU          float64 `json:"build_cpu"`
	Med               float64
	Error             float64
	Miss              float64 `json:"tre_rms_um"`
	Stages            []float64
}

func readLines(r io.Reader) ([]line, error) {
	var out []line
	s := bufio.NewScanner(r)
	for n := 1; s.Scan(); n++ {
		var l raw
		if err := json.Unmarshal(s.Bytes(), &l); err != nil {
			return nil, fmt.Errorf("read figures, line %d: %w", n, err)
		}
		out = append(out, l.lines()...)
	}
	if err := s.Err(); err != nil {
		return nil, fmt.Errorf("read figures: %w", err)
	}
	return out, nil
}

// lines returns what a written line says, in microseconds an item.
func (l *raw) lines() []line {
	of := func(task, set string, us, cpu float64) line {
		return line{task, l.Peer, set, l.Round, l.Threads, us, cpu, l.Error}
	}
	switch {
	case l.US > 0:
		return []line{of(l.Task, l.Set, l.US, l.CPU)}
	case l.Task == "stl_load":
		return []line{of("read", "a", l.Med*1e6, l.CPU*1e6)}
	case l.Task == "icp" && l.Med > 0 && len(l.Stages) <= 1:
		l.Error = l.Miss
		return []line{of("register", "c", l.Med*1e6, l.CPU*1e6)}
	case l.N == 0:
		return nil
	}
	item := 1e6 / float64(l.N)
	out := []line{of(l.Task, l.Set, l.QueryMed*item, l.QueryCPU*item)}
	if l.BuildMed > 0 {
		out = append(out, of("build", "b", l.BuildMed*1e6, l.BuildCPU*1e6))
	}
	return out
}
