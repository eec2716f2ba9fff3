package record

import "time"

// JobState says how far a job of measuring is.
type JobState string

// The states of a job.
const (
	JobWaiting   JobState = "waiting"
	JobRunning   JobState = "running"
	JobDone      JobState = "done"
	JobFailed    JobState = "failed"
	JobCancelled JobState = "cancelled"
)

// Job is the measuring of one case.
type Job struct {
	ID    int64
	Case  int64
	State JobState
	Step  string // what is being done
	Done  int    // of Total steps
	Total int
	Error string // why it failed
	First bool   // first readings can be had already
	Since time.Time
}

// Ended reports whether nothing more will happen to the job.
func (j Job) Ended() bool {
	return j.State == JobDone || j.State == JobFailed || j.State == JobCancelled
}
