package practice

import (
	"context"
	"slices"
	"sync"

	"crownassay/practice/settings"
)

// Question is what is asked about contacts.
type Question struct {
	Scale  Scale
	Where  settings.Where
	Losses settings.Losses
}

// ContactReport is what was learned from contacts.
type ContactReport struct {
	Scale     Scale             `json:"scale" enum:"designed,setting"`
	Contacts  int               `json:"contacts" doc:"Whose tightness is known."`
	Unknown   int               `json:"unknown" doc:"That were felt, but whose tightness is not known."`
	Materials []string          `json:"materials" nullable:"false"`
	Where     settings.Where    `json:"where"`
	Losses    settings.Losses   `json:"losses" nullable:"false" doc:"Of a contact felt open, light, right and heavy."`
	Advice    *settings.Advice  `json:"advice,omitempty" doc:"Missing while there is no contact."`
	Effects   []settings.Effect `json:"effects" nullable:"false" doc:"What makes contacts tighter at the same design."`
	Drift     *settings.Drift   `json:"drift,omitempty"`
}

// Learner answers questions about contacts. What it has learned is kept until
// the contacts change. The zero value is ready.
type Learner struct {
	mu     sync.Mutex
	of     []settings.Contact
	fitted *settings.Model
	drift  *settings.Drift
}

// seed of the draws: the same contacts give the same answer.
const seed = 1

// Ask answers a question.
func (l *Learner) Ask(ctx context.Context, crowns []Crown, q Question) (*ContactReport, error) {
	if err := q.Losses.Check(); err != nil {
		return nil, err
	}
	r := &ContactReport{Scale: q.Scale, Where: q.Where, Losses: q.Losses, Materials: []string{}, Effects: []settings.Effect{}}
	contacts, unknown := Contacts(crowns, q.Scale)
	r.Contacts, r.Unknown = len(contacts), unknown
	for _, c := range contacts {
		r.Materials = append(r.Materials, c.Material)
	}
	slices.Sort(r.Materials)
	r.Materials = slices.Compact(r.Materials)
	if len(contacts) == 0 {
		return r, nil
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.learn(ctx, contacts); err != nil {
		return nil, err
	}
	r.Advice, r.Effects, r.Drift = l.fitted.Advise(q.Where, q.Losses), l.fitted.Effects(), l.drift
	return r, nil
}

// learn fits contacts, unless it has.
func (l *Learner) learn(ctx context.Context, contacts []settings.Contact) error {
	if slices.Equal(contacts, l.of) {
		return nil
	}
	m, err := settings.Fit(ctx, contacts, true, seed)
	if err != nil {
		return err
	}
	d, err := settings.FollowDrift(ctx, contacts, seed)
	if err != nil {
		return err
	}
	l.of, l.fitted, l.drift = contacts, m, d
	return nil
}
