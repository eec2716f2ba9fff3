package web

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/record"
)

// ContactInput is a proximal contact at try-in.
type ContactInput struct {
	Side    string   `json:"side" enum:"mesial,distal"`
	Felt    string   `json:"felt" enum:"open,light,right,heavy" doc:"Before anything was taken off."`
	Removed *float64 `json:"removed,omitempty" minimum:"0" maximum:"1" doc:"Taken off, mm."`
	Setting *float64 `json:"setting,omitempty" minimum:"-1" maximum:"1" doc:"That the design program was given, mm, above zero for an overlap."`
}

type tryInInput struct {
	CaseNumber
	Body struct {
		Who
		Date      string         `json:"date" format:"date"`
		Dentist   string         `json:"dentist,omitempty" maxLength:"40" doc:"The practice's own code."`
		Contacts  []ContactInput `json:"contacts" nullable:"false" maxItems:"2"`
		Occlusion string         `json:"occlusion,omitempty" enum:"out,even,high"`
		Ground    *float64       `json:"ground,omitempty" minimum:"0" maximum:"1" doc:"Taken off the occlusal surface, mm."`
		Seating   string         `json:"seating,omitempty" enum:"full,after-adjusting,not"`
		Margin    string         `json:"margin,omitempty" enum:"smooth,felt,open"`
		Remade    bool           `json:"remade,omitempty" doc:"The crown is made again."`
		Why       string         `json:"why,omitempty" maxLength:"2000" doc:"It is, or what should be known."`
	}
}

// ContactNow is a proximal contact at a recall.
type ContactNow struct {
	Side string `json:"side" enum:"mesial,distal"`
	Felt string `json:"felt" enum:"open,light,right,heavy"`
}

type recallInput struct {
	CaseNumber
	Body struct {
		Who
		Date      string       `json:"date" format:"date"`
		Dentist   string       `json:"dentist,omitempty" maxLength:"40" doc:"The practice's own code."`
		Bleeding  *bool        `json:"bleeding,omitempty" doc:"On probing."`
		Probing   *float64     `json:"probing,omitempty" minimum:"0" maximum:"20" doc:"Deepest, mm."`
		Retention string       `json:"retention,omitempty" enum:"firm,recemented,lost"`
		Fracture  string       `json:"fracture,omitempty" enum:"none,polished,repairable,lost"`
		Caries    string       `json:"caries,omitempty" enum:"none,watched,treated,deep"`
		Margin    string       `json:"margin,omitempty" enum:"smooth,felt,open"`
		Contacts  []ContactNow `json:"contacts" nullable:"false" maxItems:"2"`
		End       string       `json:"end,omitempty" enum:"fracture,caries,loosening,root,periodontal,tooth-lost,wish" doc:"Why the crown is not in use any more; left out while it is."`
		Remark    string       `json:"remark,omitempty" maxLength:"2000"`
	}
}

// found registers what is entered of outcomes.
func (h *handlers) found(post func(id, sub, summary string) huma.Operation, api huma.API) {
	huma.Register(api, post("keep-try-in", "/try-ins", "Keep what was found when the crown was tried in; the contacts as designed and what was said of them are added from the newest run."), h.keepTryIn)
	huma.Register(api, post("keep-recall", "/recalls", "Keep what was found at a later visit."), h.keepRecall)
}

func (h *handlers) keepTryIn(ctx context.Context, in *tryInInput) (*entryOutput, error) {
	b := &in.Body
	e := record.TryInEntry{Date: b.Date, Dentist: b.Dentist, Contacts: []record.ContactFound{}, Occlusion: record.Occlusion(b.Occlusion), Ground: b.Ground,
		Seating: record.Seating(b.Seating), Margin: record.Margin(b.Margin), Remade: b.Remade, Why: b.Why}
	for _, c := range b.Contacts {
		e.Contacts = append(e.Contacts, record.ContactFound{Side: c.Side, Felt: record.Felt(c.Felt), Removed: c.Removed, Setting: c.Setting})
	}
	return h.add(ctx, in.ID, b.Who, func(who string, all []record.Sealed) (record.Entry, error) {
		s, d, err := h.newest(ctx, in.ID, all)
		if err != nil {
			return record.Entry{}, err
		}
		return s.Found(d, e, who), nil
	})
}

func (h *handlers) keepRecall(ctx context.Context, in *recallInput) (*entryOutput, error) {
	b := &in.Body
	e := &record.RecallEntry{Date: b.Date, Dentist: b.Dentist, Bleeding: b.Bleeding, Probing: b.Probing, Retention: b.Retention, Fracture: b.Fracture,
		Caries: b.Caries, Margin: record.Margin(b.Margin), Contacts: []record.ContactNow{}, End: b.End, Remark: b.Remark}
	for _, c := range b.Contacts {
		e.Contacts = append(e.Contacts, record.ContactNow{Side: c.Side, Felt: record.Felt(c.Felt)})
	}
	return h.add(ctx, in.ID, b.Who, func(who string, _ []record.Sealed) (record.Entry, error) {
		return record.Entry{Kind: record.KindRecall, Who: who, Recall: e}, nil
	})
}
