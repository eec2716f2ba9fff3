package main

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"crownassay/record"
)

// recordDay is when something was found, and by whom.
type recordDay struct {
	Date    string `placeholder:"YYYY-MM-DD" help:"Day of the visit; today by default."`
	Dentist string `placeholder:"CODE" help:"The practice's own code of the dentist."`
}

func (d *recordDay) date() string {
	if d.Date == "" {
		return time.Now().Format(time.DateOnly)
	}
	return d.Date
}

type recordTryIn struct {
	bookFlags
	recordDay
	Mesial    string   `placeholder:"FELT[:MM]" help:"How the mesial contact was felt before anything was taken off: open, light, right or heavy, and how much was taken off."`
	Distal    string   `placeholder:"FELT[:MM]" help:"The same of the distal contact."`
	Setting   *float64 `placeholder:"MM" help:"Contact that the design program was set to, above zero for an overlap."`
	Occlusion string   `placeholder:"WORD" help:"out (of contact), even or high."`
	Ground    *float64 `placeholder:"MM" help:"Taken off the occlusal surface."`
	Seating   string   `placeholder:"WORD" help:"full, after-adjusting or not."`
	Margin    string   `placeholder:"WORD" help:"smooth, felt or open."`
	Remade    bool     `help:"The crown is made again; give --why."`
	Why       string   `placeholder:"TEXT" help:"Why it is, or what should be known."`
	recordWho
}

// Run keeps what was found at try-in.
func (c *recordTryIn) Run(p *program) error {
	e := record.TryInEntry{Date: c.date(), Dentist: c.Dentist, Contacts: []record.ContactFound{}, Occlusion: record.Occlusion(c.Occlusion), Ground: c.Ground,
		Seating: record.Seating(c.Seating), Margin: record.Margin(c.Margin), Remade: c.Remade, Why: c.Why}
	for _, side := range []struct{ name, text string }{{"mesial", c.Mesial}, {"distal", c.Distal}} {
		if side.text == "" {
			continue
		}
		f, err := contactFelt(side.name, side.text)
		if err != nil {
			return err
		}
		f.Setting = c.Setting
		e.Contacts = append(e.Contacts, f)
	}
	return c.with(p, func(b record.Book, all []record.Sealed) error {
		s := record.Stand(all)
		d := &record.Document{}
		if s.Run != nil {
			doc, _, err := b.Document(p.ctx, s.Run.Run)
			if err != nil {
				return err
			}
			if d, err = record.ReadDocument(doc); err != nil {
				return err
			}
		}
		return p.add(b, s.Found(d, e, c.Who), nil)
	})
}

// contactFelt reads how a contact was felt and what was taken off it.
func contactFelt(side, s string) (record.ContactFound, error) {
	felt, mm, has := strings.Cut(s, ":")
	f := record.ContactFound{Side: side, Felt: record.Felt(felt)}
	if !has {
		return f, nil
	}
	v, err := strconv.ParseFloat(mm, 64)
	if err != nil {
		return f, fmt.Errorf("read --%s %s: %q is no number; give how much was taken off in millimetres, as heavy:0.03", side, s, mm)
	}
	f.Removed = &v
	return f, nil
}

type recordRecall struct {
	bookFlags
	recordDay
	Bleeding  string   `enum:",yes,no" default:"" help:"Bleeds on probing: yes or no."`
	Probing   *float64 `placeholder:"MM" help:"Deepest probing depth."`
	Retention string   `placeholder:"WORD" help:"firm, recemented or lost."`
	Fracture  string   `placeholder:"WORD" help:"none, polished (chip polished away), repairable or lost."`
	Caries    string   `placeholder:"WORD" help:"At the margin: none, watched, treated or deep."`
	Margin    string   `placeholder:"WORD" help:"smooth, felt or open."`
	Mesial    string   `placeholder:"FELT" help:"How the mesial contact is felt: open, light, right or heavy."`
	Distal    string   `placeholder:"FELT" help:"The same of the distal contact."`
	End       string   `placeholder:"WORD" help:"Why the crown is not in use any more: fracture, caries, loosening, root, periodontal, tooth-lost or wish."`
	Remark    string   `placeholder:"TEXT" help:"What should be known."`
	recordWho
}

// Run keeps what was found at a recall.
func (c *recordRecall) Run(p *program) error {
	e := &record.RecallEntry{Date: c.date(), Dentist: c.Dentist, Probing: c.Probing, Retention: c.Retention, Fracture: c.Fracture, Caries: c.Caries,
		Margin: record.Margin(c.Margin), Contacts: []record.ContactNow{}, End: c.End, Remark: c.Remark}
	if c.Bleeding != "" {
		yes := c.Bleeding == "yes"
		e.Bleeding = &yes
	}
	for _, side := range []struct{ name, felt string }{{"mesial", c.Mesial}, {"distal", c.Distal}} {
		if side.felt != "" {
			e.Contacts = append(e.Contacts, record.ContactNow{Side: side.name, Felt: record.Felt(side.felt)})
		}
	}
	return c.with(p, func(b record.Book, _ []record.Sealed) error {
		return p.add(b, record.Entry{Kind: record.KindRecall, Who: c.Who, Recall: e}, nil)
	})
}
