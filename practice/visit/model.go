package visit

import "math"

// model is what the engine plays through: jobs, in the order of their priority,
// that share pools of resources. Times are minutes from the beginning.
type model struct {
	pools []int // how many there are of each
	watch []int // pools whose busy times are noted
	jobs  []job
}

// job is one visit.
type job struct {
	key    uint64  // its random numbers are its own, whatever the others are
	ready  float64 // when it may begin
	chair  int     // pool
	seated bool    // has its chair from the beginning
	tasks  []task
	goings []going
	force  int // going that happens the first time it can; -1 for none
	never  int // going that does not happen; -1 for none
}

// task is one stage.
type task struct {
	pools   []int // one of each is held; the chair is not among them
	seat    bool  // holds the chair
	after   []int // tasks that have to be done before
	done    bool  // from the beginning
	running bool  // from the beginning, with what is left of it by first
	passes  int   // times it was begun before
	first   quantiler
	again   quantiler // after going back
}

// quantiler is a distribution as the engine asks for it.
type quantiler interface{ Quantile(p float64) float64 }

// going is a kind of going back: decided when a task ends, it makes others
// undone. Its chance is beta distributed.
type going struct {
	at     int
	undone []int
	a, b   float64
}

// mostGoings ends the playing of one kind in one visit: nobody goes back more often.
const mostGoings = 10

// uniform is a random number between 0 and 1, both excluded, that depends on
// nothing but what it is for. The mixing is that of SplitMix64.
// Source: Steele, Lea and Flood, Fast splittable pseudorandom number
// generators, OOPSLA 2014 (from memory).
func uniform(seed, draw, job, task, pass uint64) float64 {
	h := seed
	for _, x := range [...]uint64{draw, job, task, pass} {
		h = mix(h + x*0x9e3779b97f4a7c15 + 0x9e3779b97f4a7c15)
	}
	return (float64(h>>11) + 0.5) / (1 << 53)
}

func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// wait is a stage that could not begin since something was held.
type wait struct {
	job, task int
	pool      int // that was missing first
	holder    int // job that held it
	minutes   float64
}

// span is a stretch of time, minutes.
type span struct{ from, to float64 }

// never is the time of what does not come.
var never = math.Inf(1)
