package inputs

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/shelf"
)

// What is written reads back the same, is JSON to the standard library too, and is
// written the same again. The dates drawn are printed in their canonical form, so that
// nothing of them is lost.
func TestWhatIsWrittenReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it := anyItem(t)
		text, err := Encode(it)
		require.NoError(t, err)
		isCompactJSON(t, text)
		back, err := Decode(text)
		require.NoError(t, err, "%s", text)
		require.Equal(t, it, back)
		again, err := Encode(back)
		require.NoError(t, err)
		require.Equal(t, string(text), string(again))

		e := anyEvent(t)
		text, err = EncodeEvent(e)
		require.NoError(t, err)
		isCompactJSON(t, text)
		gotEvent, err := DecodeEvent(text)
		require.NoError(t, err, "%s", text)
		require.Equal(t, e, gotEvent)
	})
}

func isCompactJSON(t *rapid.T, text []byte) {
	require.True(t, json.Valid(text), "%s", text)
	var compact bytes.Buffer
	require.NoError(t, json.Compact(&compact, text))
	require.Equal(t, compact.String(), string(text))
}

// However the standard library writes the same object (keys sorted, escapes of its own,
// indented, as a database may), it reads as the same item.
func TestAnotherWriterOfTheSameJSONReadsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it := anyItem(t)
		text, err := Encode(it)
		require.NoError(t, err)
		var object map[string]any
		in := json.NewDecoder(bytes.NewReader(text))
		in.UseNumber()
		require.NoError(t, in.Decode(&object))
		theirs, err := json.MarshalIndent(object, "", "\t")
		require.NoError(t, err)
		back, err := Decode(theirs)
		require.NoError(t, err, "%s", theirs)
		require.Equal(t, it, back)
	})
}

func FuzzDecode(f *testing.F) {
	for _, s := range []string{fullText, `{}`, ` { "batch" : "\u00e9\ud83d\ude00\"\\\/\b" } `, `{"tests":[{"span":"P0D"}],"thawed":[]}`, `{"out-used-s":0.000000001}`,
		`{"storage":[{"min-c":-0.0,"max-c":1E-9}]}`, `{"expiry":"2026-W53"}`, `{"condition":[]}`, `[`, `{"a":`, "{\"batch\":\"\xff\"}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		it, err := Decode(text)
		if err != nil {
			fineError(t, err)
			return
		}
		if !json.Valid(text) {
			t.Fatalf("read, but not JSON: %q", text)
		}
		once, err := Encode(it)
		if err != nil {
			t.Fatalf("%q reads, but is not written: %v", text, err)
		}
		back, err := Decode(once)
		if err != nil {
			t.Fatalf("%s is written, but not read: %v", once, err)
		}
		if twice, err := Encode(back); err != nil || !bytes.Equal(once, twice) {
			t.Fatalf("%s, then %s: %v", once, twice, err)
		}
	})
}

func FuzzDecodeEvent(f *testing.F) {
	for _, s := range []string{`{"kind":"drawn"}`, `{"kind":"stored","storage":{}}`, `{"kind":"tested","span":"P1Y","passed":false,"to":"2Q2027"}`, `{}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		e, err := DecodeEvent(text)
		if err != nil {
			fineError(t, err)
			return
		}
		once, err := EncodeEvent(e)
		if err != nil {
			t.Fatalf("%q reads, but is not written: %v", text, err)
		}
		back, err := DecodeEvent(once)
		if err != nil {
			t.Fatalf("%s is written, but not read: %v", once, err)
		}
		if twice, err := EncodeEvent(back); err != nil || !bytes.Equal(once, twice) {
			t.Fatalf("%s, then %s: %v", once, twice, err)
		}
	})
}

func fineError(t *testing.T, err error) {
	if s := err.Error(); s == "" || strings.ContainsAny(s, "\n\x00") || len(s) > 2000 {
		t.Fatalf("refused badly: %q", s)
	}
}

// go test ./catalog/shelf/inputs -run xx -bench . -benchmem
func BenchmarkEncodeFull(b *testing.B) {
	var buf []byte
	for b.Loop() {
		buf, _ = Append(buf[:0], &full)
	}
}

func BenchmarkDecodeFull(b *testing.B) {
	text := []byte(fullText)
	for b.Loop() {
		if _, err := Decode(text); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecodeEvent(b *testing.B) {
	text, err := EncodeEvent(shelf.Event{Kind: shelf.EventThawed, When: march8, By: "A. Hentze", Note: "for job 12"})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := DecodeEvent(text); err != nil {
			b.Fatal(err)
		}
	}
}
