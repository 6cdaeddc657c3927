package register

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"hash"
)

// Hash is a SHA-256 (FIPS 180-4).
type Hash [sha256.Size]byte

// String is the hash in hexadecimal.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// IsZero reports whether there is no hash: that before the first event of a line.
func (h Hash) IsZero() bool { return h == Hash{} }

// ParseHash reads what String writes.
func ParseHash(s string) (h Hash, err error) {
	b, err := hex.DecodeString(s)
	if err != nil || len(b) != len(h) {
		return h, fmt.Errorf("%q is not a hash: it has 64 digits 0 to 9 and a to f", s)
	}
	return Hash(b), nil
}

// Next is the hash of an event that follows one of hash h: SHA-256 of that hash and
// the body. The body names its line and its place in it, so that no event can stand
// elsewhere.
func (h Hash) Next(body []byte) Hash {
	d := sha256.New()
	d.Write(h[:])
	d.Write(body)
	var next Hash
	d.Sum(next[:0])
	return next
}

// sum is the hash of a checkpoint, over its Heads.
func (c *Checkpoint) sum() Hash {
	s := c.begin(len(c.Heads))
	for _, h := range c.Heads {
		s.head(h)
	}
	return s.sum()
}

// summing makes the hash of a checkpoint: over the hash of the one before, its number,
// instant, author, counts, and its heads in order, each text with its length in front.
type summing struct{ hash.Hash }

// begin begins the hash of a checkpoint of so many heads.
func (c *Checkpoint) begin(heads int) summing {
	s := summing{sha256.New()}
	s.Write(c.Previous[:])
	s.number(c.N)
	s.text(c.At.UTC().Format(instantLayout))
	s.text(c.By)
	s.number(c.Lines)
	s.number(c.Events)
	s.number(heads)
	return s
}

func (s summing) text(t string) {
	s.number(len(t))
	s.Write([]byte(t))
}

func (s summing) number(v int) {
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(v))
	s.Write(n[:])
}

func (s summing) head(h Head) {
	s.text(string(h.Key))
	s.number(h.Seq)
	s.Write(h.Hash[:])
}

func (s summing) sum() (sum Hash) {
	s.Sum(sum[:0])
	return sum
}
