package register

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
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

// sum is the hash of a checkpoint: over the hash of the one before, its number, instant,
// author, counts, and its heads in order, each with its length in front.
func (c *Checkpoint) sum() Hash {
	d := sha256.New()
	text := func(s string) {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(s)))
		d.Write(n[:])
		d.Write([]byte(s))
	}
	number := func(v int) {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(v))
		d.Write(n[:])
	}
	d.Write(c.Previous[:])
	number(c.N)
	text(c.At.UTC().Format(instantLayout))
	text(c.By)
	number(c.Lines)
	number(c.Events)
	number(len(c.Heads))
	for _, h := range c.Heads {
		text(string(h.Key))
		number(h.Seq)
		d.Write(h.Hash[:])
	}
	var sum Hash
	d.Sum(sum[:0])
	return sum
}
