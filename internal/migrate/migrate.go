// Package migrate brings a database up to what the program needs, also when
// another program does the same at that moment.
package migrate

import (
	"context"
	"time"

	"github.com/pressly/goose/v3"
)

// How often and how fast it is tried again while another program makes the
// same tables: each try finds what the other has done so far.
const (
	tries   = 5
	between = 50 * time.Millisecond
)

// Up applies what is new of the migrations.
func Up(ctx context.Context, p *goose.Provider) error {
	for try := 0; ; try++ {
		_, err := p.Up(ctx)
		if err == nil || try == tries || ctx.Err() != nil {
			return err
		}
		time.Sleep(between)
	}
}
