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

// sum is the hash of a checkpoint with its heads.
func (c *Checkpoint) sum() Hash {
	d := c.summing(len(c.Heads))
	for _, h := range c.Heads {
		d.head(h)
	}
	return d.sum()
}

// summing is the hash of a checkpoint in the making: over the hash of the one before, its
// number, instant, author, counts, and its heads in order, each text with its length in
// front.
type summing struct{ hash.Hash }

// summing begins the hash of a checkpoint of so many heads.
func (c *Checkpoint) summing(heads int) summing {
	d := summing{sha256.New()}
	d.Write(c.Previous[:])
	d.number(c.N)
	d.text(c.At.UTC().Format(instantLayout))
	d.text(c.By)
	d.number(c.Lines)
	d.number(c.Events)
	d.number(heads)
	return d
}

func (d summing) head(h Head) {
	d.text(string(h.Key))
	d.number(h.Seq)
	d.Write(h.Hash[:])
}

func (d summing) number(v int) {
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(v))
	d.Write(n[:])
}

func (d summing) text(s string) {
	d.number(len(s))
	d.Write([]byte(s))
}

func (d summing) sum() (sum Hash) {
	d.Sum(sum[:0])
	return sum
}
