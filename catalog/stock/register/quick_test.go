package register

import (
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// anyEvent is an event that can be written; with odd text in it at times.
func anyEvent(r *rapid.T) *Event {
	text := rapid.OneOf(rapid.Just(""), rapid.SampledFrom([]string{"cold store", "Vágar / búð 1", "ok 🙂", "<&>", `"\`, "a\tb", "\\t"}), rapid.StringN(0, 8, -1))
	say := func(name string) string { return text.Draw(r, name) }
	when := rapid.Custom(func(r *rapid.T) When {
		t := time.Unix(rapid.Int64Range(0, 4e9).Draw(r, "s"), 0)
		switch rapid.IntRange(0, 3).Draw(r, "form") {
		case 0:
			return When{}
		case 1:
			return OnDay(date.NewAt(t.UTC()))
		case 2:
			return AtInstant(t.In(time.FixedZone("", rapid.IntRange(-14*4, 14*4).Draw(r, "offset")*900)))
		}
		return AtInstant(t.UTC())
	})
	e := &Event{ID: say("id"), Key: Key(say("key")), Seq: rapid.IntRange(-1, 1e10).Draw(r, "seq"), Kind: rapid.SampledFrom(kinds).Draw(r, "kind"), At: when.Draw(r, "at"),
		Recorded: time.UnixMilli(rapid.Int64Range(0, 4e12).Draw(r, "recorded")).UTC(), Behind: rapid.SampledFrom([]int{0, 0, 7}).Draw(r, "behind"),
		By: say("by"), Station: say("station"), Zone: say("zone"), Why: say("why"), Authority: say("authority"), Reference: say("reference"), Corrects: say("corrects"),
		Container: say("container"), Place: say("place"), To: say("to"), As: say("as"), Unit: say("unit"), Although: rapid.Bool().Draw(r, "although"), Verdict: say("verdict"), Catalog: say("catalog")}
	if rapid.Bool().Draw(r, "amount?") {
		a := Amount(rapid.Int64Range(0, int64(MaxAmount)).Draw(r, "amount"))
		e.Amount = &a
	}
	if rapid.Bool().Draw(r, "receipt?") {
		e.Receipt = &Receipt{GTIN: say("gtin"), MakerBatch: say("maker-batch"), Supplier: say("supplier"), Order: say("order"), Certificate: say("certificate"), Pack: say("pack"), Source: say("source")}
		e.Receipt.Label = shelf.Item{Class: say("class"), Code: say("code"), DOM: label.DayOf(date.New(2026, 9, rapid.IntRange(1, 28).Draw(r, "dom")))}
	}
	if rapid.Bool().Draw(r, "shelf?") {
		e.Kind = rapid.SampledFrom([]Kind{KindTested, KindStored, KindFreed, KindHeld}).Draw(r, "shelf kind")
		e.Shelf = &shelf.Event{Passed: rapid.Bool().Draw(r, "passed"), Results: say("results"), Limit: shelf.LimitHeld}
	}
	if rapid.Bool().Draw(r, "use?") {
		e.Use = &Use{Job: say("job"), Mix: say("mix"), Joints: rapid.SliceOfN(text, 0, 3).Draw(r, "joints"), Training: rapid.Bool().Draw(r, "training"), Until: when.Draw(r, "until")}
	}
	return e
}

// quickAsSlow holds the quick way to the other: what it reads, it reads the same.
func quickAsSlow(t require.TestingT, body []byte) (quick bool) {
	e, quick := decodeQuick(body)
	if quick {
		want, err := decodeAny(body)
		require.NoError(t, err, "%s", body)
		require.Equal(t, want, e, "%s", body)
	}
	return quick
}

func TestQuickWayReadsAsTheOther(t *testing.T) {
	quick := 0
	rapid.Check(t, func(r *rapid.T) {
		e := anyEvent(r)
		body, err := e.encode()
		if err != nil {
			r.SkipNow()
		}
		if quickAsSlow(r, body) {
			quick++
		}
		// The same with something broken in it.
		i := rapid.IntRange(0, len(body)-1).Draw(r, "where")
		broken := append([]byte(nil), body...)
		broken[i] = rapid.SampledFrom([]byte("\"\\{}[]:,0.9tn \x00\xff")).Draw(r, "what")
		quickAsSlow(r, broken)
		quickAsSlow(r, append(broken[:i:i], body[i+1:]...))
	})
	assert.Positive(t, quick)
}

// TestUsualEventsGoTheQuickWay names what a register is full of.
func TestUsualEventsGoTheQuickWay(t *testing.T) {
	b := newBench(t)
	b.must(kits("5"))
	b.must(Event{Kind: KindOpened, Place: "cold store", Amount: amount("1"), As: "1"})
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("0.25"), Use: &Use{Job: "NF12", Mix: "1", Joints: []string{"dör", "panel"}, Until: AtInstant(b.now)}})
	b.must(Event{Kind: KindTested, Shelf: &shelf.Event{Passed: true, Results: "Shore A 48"}, At: OnDay(date.New(2027, 3, 8))})
	for _, rec := range b.store.lines[s2207] {
		assert.True(t, quickAsSlow(t, rec.Body), "%s", rec.Body)
	}
	for _, change := range []struct{ from, to string }{
		{`{"id"`, `{"extra":1,"id"`}, {`"seq":3`, `"seq":03`}, {`"seq":3`, `"seq":3.0`}, {`"seq":3`, `"seq":null`}, {`"seq":3`, `"seq":"3"`}, {`"kind":"drawn"`, `"kind":"Drawn"`},
		{`"kind":"drawn"`, `"kind":"drawn","kind":"drawn"`}, {`"mix":"1"`, `"mix":"\u0031"`}, {`"mix":"1"`, `"mix": "1"`}, {`"mix":"1"`, `"mix":"1\`}, {`"mix":"1"`, `"mix":"1\n"`}, {`"amount":0.25`, `"amount":0.2555`}, {`"amount":0.25`, `"amount":.25`},
		{`"amount":0.25`, `"amount":-1`}, {`"joints":["dör","panel"]`, `"joints":[]`}, {`.000Z"`, `.00Z"`}, {`.000Z"`, `,000Z"`}, {`}`, `} `},
	} {
		body := string(b.store.lines[s2207][2].Body)
		changed := strings.Replace(body, change.from, change.to, 1)
		require.NotEqual(t, body, changed, change.from)
		_, quick := decodeQuick([]byte(changed))
		assert.False(t, quick, "%s", changed)
	}
}

func FuzzQuickWayReadsAsTheOther(f *testing.F) {
	e := kits("5")
	e.ID, e.Key, e.Seq, e.By, e.At, e.Recorded = "x", s2207, 1, "Tech 1", OnDay(date.New(2027, 3, 8)), time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	body, err := e.encode()
	require.NoError(f, err)
	f.Add(body)
	e.Receipt, e.Kind, e.Use = nil, KindDrawn, &Use{Job: "NF12", Joints: []string{"a", "b"}, Training: true, Until: AtInstant(e.Recorded)}
	e.Shelf = &shelf.Event{Passed: true}
	body, err = e.encode()
	require.NoError(f, err)
	f.Add(body)
	f.Fuzz(func(t *testing.T, body []byte) { quickAsSlow(t, body) })
}

// BenchmarkDecode reads a drawn event by both ways.
func BenchmarkDecode(b *testing.B) {
	e := Event{ID: "01a229fc-c13f-7292-8d3e-0725b51c1e92", Key: Batch{"S-2207", "Tindur"}.Key(), Seq: 3, Kind: KindDrawn, By: "Tech 1", Station: "bench", Zone: "UTC", Place: "cold store",
		Amount: amount("0.25"), Unit: "kit", Use: &Use{Job: "NF12", Mix: "1", Joints: []string{"door", "panel"}}, Recorded: time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)}
	e.At = AtInstant(e.Recorded)
	body, err := e.encode()
	require.NoError(b, err)
	b.Run("quick", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, ok := decodeQuick(body); !ok {
				b.Fatal("not read")
			}
		}
	})
	b.Run("any", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := decodeAny(body); err != nil {
				b.Fatal(err)
			}
		}
	})
}
