// Package ctxio ends long reads with their context.
package ctxio

import (
	"context"
	"io"
)

// Reader reads from r until the context ends, and then gives its error.
func Reader(ctx context.Context, r io.Reader) io.Reader { return &reader{ctx, r} }

type reader struct {
	ctx context.Context
	r   io.Reader
}

func (s *reader) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}
