package practice

import (
	"crownassay/record"
	"crownassay/spc"
)

// Counted is how often something was found among those that were looked at.
type Counted struct {
	Name  string // empty for "found"
	Found int
	Of    int
}

// Share is its share with the 95 % interval after Wilson.
func (c Counted) Share() (share, low, high float64) {
	if c.Of == 0 {
		return 0, 0, 1
	}
	low, high = spc.Share(c.Found, c.Of)
	return float64(c.Found) / float64(c.Of), low, high
}

// Outcomes are what try-ins and recalls came to. Shares are of the crowns, or
// contacts, that somebody looked at.
type Outcomes struct {
	Crowns    int
	AtOnce    Counted // seated with nothing taken off anywhere, of those with all of it entered
	Remade    Counted
	Contacts  map[string][]Counted // by side, by how they were felt
	Occlusion []Counted
	Seating   []Counted
	Margin    []Counted
	Recalled  Counted   // crowns seen again, of those delivered
	Recall    []Counted // at the last recall of each crown
	Ended     []Counted // why crowns came out of use, of those delivered
}

// Outcome counts what was found.
func Outcome(crowns []Crown) *Outcomes {
	o := &Outcomes{Crowns: len(crowns), Contacts: map[string][]Counted{}}
	delivered := 0
	for i := range crowns {
		c := &crowns[i]
		count(&o.Remade, c.TryIn.Remade, true)
		at, known := c.AtOnce()
		count(&o.AtOnce, at, known)
		if c.Delivered() {
			delivered++
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
	return o
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
