package practice

import (
	"crownassay/record"
	"crownassay/spc"
)

// Counted is how often something was found among those that were looked at.
type Counted struct {
	Name  string  `json:"name" doc:"What was found; empty where that is clear."`
	Found int     `json:"found"`
	Of    int     `json:"of"`
	Share float64 `json:"share" doc:"0 where nobody looked."`
	Low   float64 `json:"low" doc:"Of the 95 % interval of the share, after Wilson."`
	High  float64 `json:"high"`
}

// work works the share out.
func (c *Counted) work() {
	if c.Of > 0 {
		c.Share = float64(c.Found) / float64(c.Of)
	}
	c.Low, c.High = spc.Share(c.Found, c.Of)
}

// Outcomes are what try-ins and recalls came to. Shares are of the crowns, or
// contacts, that somebody looked at.
type Outcomes struct {
	Crowns    int                  `json:"crowns"`
	AtOnce    Counted              `json:"at_once" doc:"Seated with nothing taken off anywhere, of those with all of it entered"`
	Remade    Counted              `json:"remade"`
	Contacts  map[string][]Counted `json:"contacts" doc:"By side, by how they were felt" nullable:"false"`
	Occlusion []Counted            `json:"occlusion" nullable:"false"`
	Seating   []Counted            `json:"seating" nullable:"false"`
	Margin    []Counted            `json:"margin" nullable:"false"`
	Recalled  Counted              `json:"recalled" doc:"Crowns seen again, of those delivered"`
	Recall    []Counted            `json:"recall" doc:"At the last recall of each crown" nullable:"false"`
	Ended     []Counted            `json:"ended" doc:"Why crowns came out of use, of those delivered" nullable:"false"`
}

// Outcome counts what was found.
func Outcome(crowns []Crown) *Outcomes {
	o := &Outcomes{Crowns: len(crowns), Contacts: map[string][]Counted{}}
	for i := range crowns {
		c := &crowns[i]
		count(&o.Remade, c.TryIn.Remade, true)
		at, known := c.AtOnce()
		count(&o.AtOnce, at, known)
		if c.Delivered() {
			count(&o.Recalled, len(c.Recalls) > 0, true)
		}
	}
	for _, side := range []string{"mesial", "distal"} {
		o.Contacts[side] = tally(record.Felts, crowns, func(c *Crown) (record.Felt, bool) {
			for _, f := range c.TryIn.Contacts {
				if f.Side == side {
					return f.Felt, true
				}
			}
			return "", false
		})
	}
	o.Occlusion = tally(record.Occlusions[1:], crowns, func(c *Crown) (record.Occlusion, bool) { return c.TryIn.Occlusion, c.TryIn.Occlusion != "" })
	o.Seating = tally(record.Seatings[1:], crowns, func(c *Crown) (record.Seating, bool) { return c.TryIn.Seating, c.TryIn.Seating != "" })
	o.Margin = tally(record.Margins[1:], crowns, func(c *Crown) (record.Margin, bool) { return c.TryIn.Margin, c.TryIn.Margin != "" })
	o.Recall = recalls(crowns)
	o.Ended = tally(record.Ends[1:], crowns, func(c *Crown) (string, bool) {
		if !c.Delivered() || len(c.Recalls) == 0 {
			return "", c.Delivered()
		}
		return c.Recalls[len(c.Recalls)-1].End, true
	})
	o.work()
	return o
}

// work works all shares out.
func (o *Outcomes) work() {
	for _, c := range []*Counted{&o.AtOnce, &o.Remade, &o.Recalled} {
		c.work()
	}
	for _, l := range [][]Counted{o.Contacts["mesial"], o.Contacts["distal"], o.Occlusion, o.Seating, o.Margin, o.Recall, o.Ended} {
		for i := range l {
			l[i].work()
		}
	}
}

// tally counts how often each word was found.
func tally[W ~string](words []W, crowns []Crown, of func(*Crown) (W, bool)) []Counted {
	out := make([]Counted, len(words))
	for k, w := range words {
		out[k].Name = string(w)
		for i := range crowns {
			found, looked := of(&crowns[i])
			count(&out[k], found == w, looked)
		}
	}
	return out
}

func count(c *Counted, found, looked bool) {
	if !looked {
		return
	}
	c.Of++
	if found {
		c.Found++
	}
}

// AtOnce reports whether the crown went in with nothing taken off and no
// contact open; known when all of it was entered.
func (c *Crown) AtOnce() (yes, known bool) {
	t := c.TryIn
	if t.Seating == "" || t.Occlusion == "" {
		return false, false
	}
	yes = t.Seating == "full" && t.Occlusion != "high" && (t.Ground == nil || *t.Ground == 0) && !t.Remade
	for _, f := range t.Contacts {
		yes = yes && f.Felt != record.FeltHeavy && f.Felt != record.FeltOpen && (f.Removed == nil || *f.Removed == 0)
	}
	return yes, true
}

// deepProbing is the depth from which a pocket is counted as deep, mm: common
// practice.
const deepProbing = 5.0

// recalls counts what was found at the last recall of each crown.
func recalls(crowns []Crown) []Counted {
	out := []Counted{{Name: "bleeding"}, {Name: "probing"}, {Name: "loosened"}, {Name: "chipped"}, {Name: "caries"}, {Name: "margin"}, {Name: "contact"}}
	for i := range crowns {
		n := len(crowns[i].Recalls)
		if n == 0 {
			continue
		}
		r := crowns[i].Recalls[n-1]
		count(&out[0], r.Bleeding != nil && *r.Bleeding, r.Bleeding != nil)
		count(&out[1], r.Probing != nil && *r.Probing >= deepProbing, r.Probing != nil)
		count(&out[2], r.Retention != "firm", r.Retention != "")
		count(&out[3], r.Fracture != "none", r.Fracture != "")
		count(&out[4], r.Caries != "none", r.Caries != "")
		count(&out[5], r.Margin != "smooth", r.Margin != "")
		open := false
		for _, c := range r.Contacts {
			open = open || c.Felt == record.FeltOpen
		}
		count(&out[6], open, len(r.Contacts) > 0)
	}
	return out
}
