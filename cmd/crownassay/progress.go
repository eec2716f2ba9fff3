package main

import (
	"context"
	"io"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// progress shows the steps of a run, one bar each, and only on a terminal.
type progress struct {
	bars *mpb.Progress
	bar  *mpb.Bar
	step string
}

// newProgress returns what is told of each step, and a function that ends the
// display. Off a terminal there is nothing to tell: the first is nil.
func newProgress(ctx context.Context, w io.Writer) (tell func(step string, done, total int), end func()) {
	if !isTerminal(w) {
		return nil, func() {}
	}
	p := &progress{bars: mpb.NewWithContext(ctx, mpb.WithOutput(w), mpb.WithWidth(40))}
	return p.tell, p.end
}

func (p *progress) tell(step string, done, total int) {
	if step != p.step || p.bar == nil {
		p.finish()
		p.step = step
		p.bar = p.bars.AddBar(int64(total), mpb.BarRemoveOnComplete(),
			mpb.PrependDecorators(decor.Name(step, decor.WC{W: 28, C: decor.DindentRight})))
	}
	p.bar.SetTotal(int64(total), false)
	p.bar.SetCurrent(int64(done))
}

// finish completes the bar of the step before.
func (p *progress) finish() {
	if p.bar != nil {
		p.bar.SetTotal(-1, true)
	}
}

func (p *progress) end() {
	p.finish()
	p.bars.Wait()
}
