package visit

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"
)

// WriteText writes a forecast in words, its times in a place's own time.
func (f *Forecast) WriteText(w io.Writer, in *time.Location) error {
	clock := func(t time.Time) string { return t.In(in).Format("15:04") }
	var b strings.Builder
	if len(f.Visits) == 0 {
		b.WriteString("No visit is open: begin one with \"crownassay visit start --chair 1\".\n")
	}
	for i := range f.Visits {
		f.Visits[i].say(&b, clock)
	}
	for _, c := range f.Over {
		fmt.Fprintf(&b, "%d visits hold the %s now, of which there is %d: tap \"wait\" where it is not in use.\n", c.Held, c.Resource, c.Count)
	}
	for i := range f.Conflicts {
		fmt.Fprintln(&b, f.Conflicts[i].Says())
	}
	for i := range f.Windows {
		fmt.Fprintln(&b, f.Windows[i].says(clock))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (o *Outlook) say(b *strings.Builder, clock func(time.Time) string) {
	fmt.Fprintf(b, "Chair %d, visit %d", o.Chair, o.Visit)
	for _, x := range []struct{ what, is string }{{"case ", caseText(o.Case)}, {"", o.Material}, {"dentist ", o.Dentist}} {
		if x.is != "" {
			fmt.Fprintf(b, ", %s%s", x.what, x.is)
		}
	}
	b.WriteString("\n")
	now := "waits"
	if n := len(o.Stages); o.Stage != "" && n > 0 {
		now = titleOf(o.Stages, o.Stage)
	}
	fmt.Fprintf(b, "  now: %s since %s\n", now, clock(*o.Since))
	if o.Stale != "" {
		fmt.Fprintf(b, "  not planned: %s\n", o.Stale)
		return
	}
	fmt.Fprintf(b, "  ready by %s with 90 %%, by %s as likely as not\n", clock(o.Ready.P90), clock(o.Ready.P50))
	for _, s := range o.Stages {
		if s.State != "done" {
			fmt.Fprintf(b, "  %-34s %s to %s, with 90 %% by %s\n", s.Title, clock(s.From), clock(s.To), clock(s.Late))
		}
	}
	for _, e := range o.Backs {
		fmt.Fprintf(b, "  %s would make it %s later, with 90 %% at most %s\n", lower(e.Title), spell(e.Later.P50), spell(e.Later.P90))
	}
}

func caseText(n int64) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

func titleOf(ps []Passage, stage string) string {
	for _, p := range ps {
		if p.Stage == stage {
			return p.Title
		}
	}
	return stage
}

// lower writes the first letter small.
func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }

func (d *Window) says(clock func(time.Time) string) string {
	who := "The dentist"
	if d.Dentist != "" {
		who = "Dentist " + d.Dentist
	}
	if d.Sure < leastWait {
		return fmt.Sprintf("%s may be free from about %s (%s on chair %d): %s as likely as not, but not with 90 %%.", who, clock(d.From), lower(d.Title), d.Chair, spell(d.Middle))
	}
	return fmt.Sprintf("%s is free from about %s (%s on chair %d): at least %s with 90 %%, %s as likely as not.", who, clock(d.From), lower(d.Title), d.Chair, spell(d.Sure), spell(d.Middle))
}

// WriteText writes a booking in words.
func (b *Booking) WriteText(w io.Writer, in *time.Location) error {
	fmt.Fprintf(w, "Book %s, until %s: enough with %.0f %%.\n", spell(b.Minutes), b.Until.In(in).Format("2006-01-02 15:04"), 100*b.Sure)
	fmt.Fprintf(w, "It lasts %s as likely as not, %s with 80 %%, %s with 90 %%, %s with 95 %%.\n", spell(b.Left.P50), spell(b.Left.P80), spell(b.Left.P90), spell(b.Left.P95))
	if more := b.Left.P90 - b.Alone.P90; more >= 1 {
		fmt.Fprintf(w, "Without the other visits it would be %s with 90 %%.\n", spell(b.Alone.P90))
	}
	for i := range b.Conflicts {
		fmt.Fprintln(w, b.Conflicts[i].Says())
	}
	if b.Default {
		fmt.Fprintln(w, "Most of it rests on wide defaults (common practice) so far: it becomes shorter and surer with the practice's own visits.")
	}
	return nil
}

// sourceWords say what a figure rests on.
var sourceWords = map[Source]string{SourceDefault: "default", SourceFew: "default and own", SourceOwn: "own"}

// WriteText writes what was learned as tables.
func (l *Learned) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(t, "stage\tmaterial\town\tmedian\t90 %\tfrom")
	for _, d := range l.Durations() {
		title := d.Title
		if d.Again {
			title += ", again"
		}
		fmt.Fprintf(t, "%s\t%s\t%d\t%.1f min\t%.1f min\t%s (%s: %g and %g min)\n", title, d.Material, d.Own, d.Median, d.Ninety, sourceWords[d.Source], d.Status, d.Stated.Median, d.Stated.NineOfTen)
	}
	fmt.Fprintln(t)
	fmt.Fprintln(t, "going back\tat\twent\tof\tchance\tfrom")
	for _, c := range l.Chances {
		fmt.Fprintf(t, "%s\t%s\t%d\t%d\t%.0f %% (%.0f to %.0f %%)\t%s\n", c.Title, l.title(c.At), c.Went, c.Passed, 100*c.Mean, 100*c.Low, 100*c.High, sourceWords[c.Source])
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, o := range l.LeftOut {
		fmt.Fprintf(w, "Left out: visit %d, %s of %s: %s.\n", o.Visit, l.title(o.Stage), o.From.Format(time.DateOnly), o.Why)
	}
	return nil
}
