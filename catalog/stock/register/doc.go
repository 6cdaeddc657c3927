// Package register is the memory of a store: what came in, what was done with it, and
// which joints it went to.
//
// The truth is a line of events for each batch, in the order in which they were recorded.
// Nothing is changed or taken away; a mistake is mended by a further event that points at
// it. Each line is a chain of hashes (chain.go), and checkpoints over the ends of all
// lines make a batch that vanished be missed (checkpoint.go).
package register
