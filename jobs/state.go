package jobs

import (
	"encoding/json"
	"strings"

	"github.com/riverqueue/river/rivertype"

	"crownassay/record"
)

// failed begins the error of a job that could not be measured, to tell it from
// one that was stopped: both end as cancelled in the queue, since trying
// again would help neither.
const failed = "measuring failed: "

// stateOf says in the project's words how far a job is.
func stateOf(r *rivertype.JobRow) record.JobState {
	switch r.State {
	case rivertype.JobStateRunning:
		return record.JobRunning
	case rivertype.JobStateCompleted:
		return record.JobDone
	case rivertype.JobStateDiscarded:
		return record.JobFailed
	case rivertype.JobStateCancelled:
		if n := len(r.Errors); n > 0 && strings.Contains(r.Errors[n-1].Error, failed) {
			return record.JobFailed
		}
		return record.JobCancelled
	}
	return record.JobWaiting
}

// reasonOf is the part of a job's error that people see.
func reasonOf(s string) string {
	if _, why, ok := strings.Cut(s, failed); ok {
		return why
	}
	return s
}

func caseOf(r *rivertype.JobRow) int64 {
	var a args
	if json.Unmarshal(r.EncodedArgs, &a) != nil {
		return 0
	}
	return a.Case
}
