package tag

import "strings"

// stateSign stands in a code between the state and what it is of.
const stateSign = "/"

// A code that named the batch alone would be read as the whole batch, long after the
// pot in the hand has ended. So every code says the state: in the field for the
// container as MIXED or MIXED/2, and in a Code 128 without fields as S-2207/MIXED. Both
// spellings are the project's own: no standard has a field for it.

// word is the state as the codes have it: "MIXED".
func (s State) word() string { return strings.ToUpper(s.String()) }

// Serial is what the codes carry in the field for the container, (21) or S: "MIXED", or
// of container 2 "MIXED/2".
func (t *Tag) Serial() string {
	if t.Container == "" {
		return t.State.word()
	}
	return t.State.word() + stateSign + t.Container
}

// plainText is what a Code 128 without fields carries: "S-2207/MIXED".
func (t *Tag) plainText() string { return t.Batch + stateSign + t.State.word() }

// ReadState reads what Serial wrote, in capitals or not, as scanners are set; ok is
// false for any other text, such as a maker's serial number.
func ReadState(serial string) (s State, container string, ok bool) {
	word, container, _ := strings.Cut(strings.TrimSpace(serial), stateSign)
	if s, ok = stateOf(word); !ok {
		return 0, "", false
	}
	return s, strings.TrimSpace(container), true
}

// ReadPlain reads what a Code 128 without fields carries: "S-2207/MIXED" is the batch
// S-2207, mixed. ok is false for any other text. A batch number may end so by itself:
// ask for one of that very spelling first.
func ReadPlain(text string) (batch string, s State, ok bool) {
	text = strings.TrimSpace(text)
	at := strings.LastIndex(text, stateSign)
	if at < 1 {
		return "", 0, false
	}
	if s, ok = stateOf(text[at+1:]); !ok || strings.TrimSpace(text[:at]) == "" {
		return "", 0, false
	}
	return strings.TrimSpace(text[:at]), s, true
}

// stateOf finds any state by its word.
func stateOf(word string) (State, bool) {
	for i, name := range stateNames {
		if strings.EqualFold(word, name) {
			return State(i), true
		}
	}
	return 0, false
}
