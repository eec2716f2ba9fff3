package web

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"crownassay/reading"
	"crownassay/record"
)

// EntryOutput is an entry of a case's record.
type EntryOutput struct {
	Number      int64           `json:"number"`
	At          time.Time       `json:"at"`
	Who         string          `json:"who" doc:"Initials; may be empty for a run."`
	Kind        string          `json:"kind" enum:"run,confirmation,lot,override,correction,luting,try-in,recall"`
	Hash        string          `json:"hash" doc:"SHA-256 of the entry's canonical JSON."`
	CorrectedBy int64           `json:"corrected_by" doc:"Number of the entry that says that this one does not hold; 0 when it holds."`
	Entry       json.RawMessage `json:"entry" doc:"The entry itself, in canonical form (RFC 8785)."`
}

type entriesOutput struct {
	Body struct {
		Entries []EntryOutput `json:"entries" nullable:"false" doc:"In the order they were made."`
	}
}

type entryOutput struct{ Body EntryOutput }

type verifiedOutput struct {
	Body struct {
		Right    bool   `json:"right" doc:"Everything is as it was kept."`
		Entries  int    `json:"entries"`
		Runs     int    `json:"runs"`
		Surfaces int    `json:"surfaces" doc:"Mesh files that were read and are as recorded."`
		Head     string `json:"head" doc:"Hash of the last entry; compare it with one noted elsewhere."`
		Fault    string `json:"fault" doc:"What is not right, with the first entry that is not; empty when all is."`
	}
}

// Who is who makes an entry. It has a capital, since huma leaves embedded structs without one out.
type Who struct {
	Who string `json:"who,omitempty" maxLength:"40" doc:"Initials; the bench's own setting where it is left out."`
}

type confirmInput struct {
	CaseNumber
	Body struct {
		Who
		HoldPoint string `json:"hold_point" enum:"preparation,design,try-in,recall"`
		Remark    string `json:"remark,omitempty" maxLength:"2000"`
	}
}

type lotInput struct {
	CaseNumber
	Body struct {
		Who
		Thing string `json:"thing" enum:"block,tool,cement"`
		Lot   string `json:"lot" minLength:"1" maxLength:"400" doc:"The lot number, or what a scanner reads from the package: an element string of GS1, with or without brackets."`
	}
}

type overrideInput struct {
	CaseNumber
	Body struct {
		Who
		Reading string `json:"reading" doc:"Its id."`
		Verdict string `json:"verdict" enum:"conforms,fails"`
		Reason  string `json:"reason" minLength:"1" maxLength:"2000"`
	}
}

type correctInput struct {
	CaseNumber
	Body struct {
		Who
		Entry  int64  `json:"entry" minimum:"1" doc:"Number of the entry that does not hold."`
		Reason string `json:"reason" minLength:"1" maxLength:"2000" doc:"Why it does not, and what holds instead."`
	}
}

// entries registers what is done with the record of a case.
func (h *handlers) entries(api huma.API) {
	const path, tag = "/api/cases/{id}/entries", "record of a case"
	post := func(id, sub, summary string) huma.Operation {
		o := op(id, "POST", path+sub, summary, tag, 404, 409, 422)
		o.DefaultStatus = 201
		return o
	}
	huma.Register(api, op("list-entries", "GET", path, "The entries of a case's record.", tag, 404, 409), h.listEntries)
	huma.Register(api, op("verify-entries", "GET", path+"/verified", "Whether the record, its runs and files are as they were kept.", tag, 404), h.verifyEntries)
	huma.Register(api, post("confirm-hold-point", "/confirmations", "Confirm a hold point after looking at the newest run."), h.confirm)
	huma.Register(api, post("keep-lot", "/lots", "Keep the lot number of the block, a tool or the cement."), h.keepLot)
	huma.Register(api, post("override-verdict", "/overrides", "Judge a reading of the newest run otherwise than the program."), h.override)
	huma.Register(api, post("correct-entry", "/corrections", "Say that an earlier entry does not hold."), h.correct)
	h.found(post, api)
}

func toEntry(s *record.Sealed, corrected map[int64]int64) EntryOutput {
	return EntryOutput{s.Number, s.At, s.Who, string(s.Kind), s.Hash, corrected[s.Number], s.Bytes}
}

func (h *handlers) listEntries(ctx context.Context, in *CaseNumber) (*entriesOutput, error) {
	all, err := record.Entries(ctx, h.Store.Book(in.ID))
	if err != nil {
		return nil, failure(err)
	}
	out := &entriesOutput{}
	out.Body.Entries = []EntryOutput{}
	corrected := record.Stand(all).Corrected
	for i := range all {
		out.Body.Entries = append(out.Body.Entries, toEntry(&all[i], corrected))
	}
	return out, nil
}

func (h *handlers) verifyEntries(ctx context.Context, in *CaseNumber) (*verifiedOutput, error) {
	v, err := record.Verify(ctx, h.Store.Book(in.ID))
	out := &verifiedOutput{}
	out.Body.Entries, out.Body.Runs, out.Body.Surfaces, out.Body.Head = v.Entries, v.Runs, v.Surfaces, v.Head
	var fault *record.Fault
	if errors.As(err, &fault) {
		out.Body.Fault = fault.Error()
		return out, nil
	}
	out.Body.Right = err == nil
	return out, failure(err)
}

// add makes an entry from what the record says so far and keeps it.
func (h *handlers) add(ctx context.Context, id int64, who Who, make func(who string, all []record.Sealed) (record.Entry, error)) (*entryOutput, error) {
	b := h.Store.Book(id)
	all, err := record.Entries(ctx, b)
	if err != nil {
		return nil, failure(err)
	}
	name := who.Who
	if name == "" {
		name = h.operator(ctx)
	}
	e, err := make(name, all)
	var s record.Sealed
	if err == nil {
		s, err = b.Append(ctx, e)
	}
	if err != nil {
		return nil, failure(err)
	}
	return &entryOutput{toEntry(&s, nil)}, nil
}

// newest is the standing with the document of the newest run.
func (h *handlers) newest(ctx context.Context, id int64, all []record.Sealed) (*record.Standing, *record.Document, error) {
	s := record.Stand(all)
	if s.Run == nil {
		return &s, &record.Document{}, nil // what is made of it says so
	}
	b, _, err := h.Store.Book(id).Document(ctx, s.Run.Run)
	if err != nil {
		return nil, nil, err
	}
	d, err := record.ReadDocument(b)
	return &s, d, err
}

func (h *handlers) confirm(ctx context.Context, in *confirmInput) (*entryOutput, error) {
	return h.add(ctx, in.ID, in.Body.Who, func(who string, all []record.Sealed) (record.Entry, error) {
		s, d, err := h.newest(ctx, in.ID, all)
		if err != nil {
			return record.Entry{}, err
		}
		return s.Confirm(d, reading.HoldPoint(in.Body.HoldPoint), who, in.Body.Remark)
	})
}

func (h *handlers) keepLot(ctx context.Context, in *lotInput) (*entryOutput, error) {
	return h.add(ctx, in.ID, in.Body.Who, func(who string, _ []record.Sealed) (record.Entry, error) {
		return record.Lot(in.Body.Thing, in.Body.Lot, who, time.Now())
	})
}

func (h *handlers) override(ctx context.Context, in *overrideInput) (*entryOutput, error) {
	return h.add(ctx, in.ID, in.Body.Who, func(who string, all []record.Sealed) (record.Entry, error) {
		s, d, err := h.newest(ctx, in.ID, all)
		if err != nil {
			return record.Entry{}, err
		}
		return s.Override(d, reading.ID(in.Body.Reading), reading.Verdict(in.Body.Verdict), who, in.Body.Reason)
	})
}

func (h *handlers) correct(ctx context.Context, in *correctInput) (*entryOutput, error) {
	return h.add(ctx, in.ID, in.Body.Who, func(who string, all []record.Sealed) (record.Entry, error) {
		return record.Correct(all, in.Body.Entry, who, in.Body.Reason)
	})
}
