package main

import (
	"context"
	"io"
	"sync/atomic"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// progress shows how far a run is, and at which step, on a terminal.
type progress struct {
	bars *mpb.Progress
	bar  *mpb.Bar
	step atomic.Value // string
}

// newProgress returns what is told of each step, and a function that removes
// the display. Off a terminal there is nothing to tell: the first is nil.
func newProgress(ctx context.Context, w io.Writer) (tell func(step string, done, total int), end func()) {
	if !isTerminal(w) {
		return nil, func() {}
	}
	p := &progress{bars: mpb.NewWithContext(ctx, mpb.WithOutput(w), mpb.WithWidth(30))}
	p.step.Store("")
	p.bar = p.bars.AddBar(1, mpb.BarRemoveOnComplete(), mpb.AppendDecorators(
		decor.Any(func(decor.Statistics) string { return " " + p.step.Load().(string) })))
	return p.tell, p.end
}

func (p *progress) tell(step string, done, total int) {
	p.step.Store(step)
	p.bar.SetTotal(int64(total), false)
	p.bar.SetCurrent(int64(done))
}

// end removes the bar, also when the run was stopped half way.
func (p *progress) end() {
	p.bar.Abort(true)
	p.bars.Wait()
}
