package main

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"syscall"
	"time"
)

// figure is one timed task.
type figure struct {
	Task    string  `json:"task"`
	Peer    string  `json:"peer"`
	Set     string  `json:"set"`
	Round   int     `json:"round"`
	Threads int     `json:"threads"`
	N       int     `json:"n"`   // items: queries, or 1 for a whole
	US      float64 `json:"us"`  // microseconds for one item, median of the repeats
	CPU     float64 `json:"cpu"` // processor time of all threads, least of them

	Error float64 `json:"error,omitempty"` // um, where the task has one
}

// time runs f reps times and prints the figure of it.
func (fig figure) time(reps int, f func() error) error {
	if err := timed(&fig, reps, f); err != nil {
		return err
	}
	return fig.print()
}

func (fig figure) print() error { return json.NewEncoder(os.Stdout).Encode(fig) }

// timed runs f reps times and fills in its times.
func timed(fig *figure, reps int, f func() error) error {
	var us, cpu []float64
	for range max(reps, 1) {
		start, used := time.Now(), processorTime()
		if err := f(); err != nil {
			return fmt.Errorf("run task %s: %w", fig.Task, err)
		}
		us = append(us, time.Since(start).Seconds()*1e6/float64(fig.N))
		cpu = append(cpu, (processorTime()-used).Seconds()*1e6/float64(fig.N))
	}
	fig.US, fig.CPU = median(us), slices.Min(cpu)
	return nil
}

// processorTime is what this program has used so far.
func processorTime() time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		panic(err) // cannot happen with these arguments
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}
