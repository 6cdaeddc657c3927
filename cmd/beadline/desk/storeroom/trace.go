package storeroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/stock/register"
	"beadline/cure/nearest"
)

// TraceQuestion is what is to be traced: where a batch went, or what went to a joint.
type TraceQuestion struct {
	Text  string // the number of a batch, or the name of a joint; "": all joints of Job
	Maker string // of the batch, "" for any
	Job   string // narrows joints; "": all
	// AsBatch and AsJoint say which of the two is meant; neither: it is found out.
	AsBatch, AsJoint bool
}

// Trace is where batches went.
type Trace struct {
	Register string
	Asked    TraceQuestion
	// Batches are those of the number asked for, each with all that was drawn of it.
	Batches []*Traced
	// Joints are the batches that went to the joint, or to joints of the job, each with the
	// draws that did.
	Joints []*Traced
}

// Traced is a batch, what was drawn of it, and what has become known of it since.
type Traced struct {
	*register.State
	Class    string
	Receipts []*register.Event // those that stand, with the papers it came with
	Draws    []Draw            // in the order in which they happened
	// Since are the events after the first of the draws by which the batch is judged: held,
	// tested, something wrong with it.
	Since []*register.Event
	// Holdings are its parts and the verdict on each now, those with nothing left too.
	Holdings []Holding
}

// Draw is something drawn from a batch.
type Draw struct {
	*register.Event
	Struck *register.Event // the event that corrects it; nil: it stands
	Now    Holding         // the part it was drawn from, judged now
}

// Trace finds where a batch went, or what went to a joint. The error of what is neither
// names the nearest of both.
func (r *Room) Trace(ctx context.Context, q TraceQuestion) (*Trace, error) {
	var err error
	for _, f := range []struct {
		name string
		to   *string
	}{{"batch or joint", &q.Text}, {"maker", &q.Maker}, {"job", &q.Job}} {
		if *f.to, err = register.Clean(*f.to, 200); err != nil {
			return nil, fmt.Errorf("%s: %w", f.name, err)
		}
	}
	t := &Trace{Register: r.Store.Name(), Asked: q}
	if !q.AsJoint && q.Text != "" {
		if err := r.traceBatch(ctx, t); err != nil {
			return nil, err
		}
	}
	if !q.AsBatch {
		if err := r.traceJoint(ctx, t); err != nil {
			return nil, err
		}
	}
	if t.Batches == nil && t.Joints == nil {
		return nil, r.noTrace(ctx, q)
	}
	return t, nil
}

// traceBatch finds the batches of a number.
func (r *Room) traceBatch(ctx context.Context, t *Trace) error {
	found, err := r.makers(ctx, t.Asked.Text)
	if err != nil {
		return err
	}
	for _, b := range found {
		if t.Asked.Maker != "" && !strings.EqualFold(b.Maker, t.Asked.Maker) {
			continue
		}
		one, err := r.traced(ctx, b.Key(), nil)
		if err != nil {
			return err
		}
		t.Batches = append(t.Batches, one)
	}
	return nil
}

// traceJoint finds what went to a joint.
func (r *Room) traceJoint(ctx context.Context, t *Trace) error {
	served, err := r.Store.Served(ctx, t.Asked.Text, t.Asked.Job)
	if err != nil {
		return err
	}
	var keys []register.Key
	seqs := map[register.Key][]int{}
	for _, s := range served {
		if seqs[s.Key] == nil {
			keys = append(keys, s.Key)
		}
		seqs[s.Key] = append(seqs[s.Key], s.Seq)
	}
	for _, k := range keys {
		one, err := r.traced(ctx, k, seqs[k])
		if err != nil {
			return err
		}
		t.Joints = append(t.Joints, one)
	}
	return nil
}

// traced is a batch with the draws of some events, nil for all.
func (r *Room) traced(ctx context.Context, key register.Key, seqs []int) (*Traced, error) {
	s, err := r.Load(ctx, key)
	if err != nil {
		return nil, err
	}
	t := &Traced{State: s}
	for _, p := range s.Parts {
		t.Holdings, t.Class = append(t.Holdings, r.Holding(s, p)), p.Item.Class
	}
	for _, e := range s.Events {
		switch {
		case e.Kind == register.KindReceived && s.Corrected[e.ID] == nil:
			t.Receipts = append(t.Receipts, e)
		case e.Kind == register.KindDrawn && (seqs == nil || slices.Contains(seqs, e.Seq)):
			t.Draws = append(t.Draws, Draw{e, s.Corrected[e.ID], r.partNow(s, e)})
		}
	}
	slices.SortStableFunc(t.Draws, func(a, b Draw) int { return a.At.Instant().Compare(b.At.Instant()) })
	for _, e := range s.Events { // what was entered before a drawing may have happened after it
		if len(t.Draws) > 0 && slices.Contains(judging, e.Kind) && s.Corrected[e.ID] == nil && !e.At.Latest().Before(t.Draws[0].At.Instant()) {
			t.Since = append(t.Since, e)
		}
	}
	return t, nil
}

// judging are the kinds of event by which a batch is judged anew.
var judging = []register.Kind{register.KindTested, register.KindExtended, register.KindHeld, register.KindFreed, register.KindStored, register.KindCondition}

// noTrace is the error for what is neither a batch nor a joint.
func (r *Room) noTrace(ctx context.Context, q TraceQuestion) error {
	if q.Text == "" {
		return fmt.Errorf("%s: nothing was drawn for job %q: copy it from the work order", r.Store.Name(), q.Job)
	}
	if q.Maker != "" && !q.AsJoint {
		_, err := r.Find(ctx, q.Text, q.Maker)
		return err
	}
	var batches error
	if !q.AsJoint {
		if batches = r.noBatch(ctx, q.Text); q.AsBatch {
			return batches
		}
	}
	joints, err := r.Store.Joints(ctx)
	if err != nil {
		return err
	}
	near := nearest.Names(q.Text, joints, 3)
	say := fmt.Sprintf("no joint %q", q.Text)
	switch {
	case q.Job != "" && slices.Contains(joints, q.Text):
		say += fmt.Sprintf(" of job %s: it was served for another job", q.Job)
	case len(near) > 0:
		say += ": the nearest are " + strings.Join(near, ", ")
	case len(joints) == 0:
		say += ": nothing was drawn for a joint yet"
	}
	if batches == nil {
		return fmt.Errorf("%s: there is %s", r.Store.Name(), say)
	}
	return fmt.Errorf("%w; and there is %s", batches, say)
}
