// Package faults holds tests only: what a register survives, at the level of
// register.Register, on both stores as they are used.
//
// The failure model on SQLite. A program may be killed at any moment, also one that holds
// a lock (kill_test.go): what the system had taken from it is still there, as kill -9 does
// not empty the page cache. So those tests show that every state of the files in between
// can be gone on from, and not that the disk has it. That is shown apart (power_test.go):
// a commit is acknowledged after an fsync of the log, which a trace of the system's calls
// shows where strace is on the machine; files are put together again from such a trace with
// only what had been flushed, and some of the rest by chance; and logs cut off anywhere
// after that leave a whole register that lacks the last events at most. A disk that says it
// has flushed what it has not is beyond any program: then the last events are lost, and
// the chains still whole.
//
// A disk may be full, a file locked, read-only, cut short or changed (disk_test.go,
// access_test.go, damage_test.go): one plain line says so, nothing is half-written, and
// no wrong answer is given in silence: of a file that was changed behind SQLite's back
// `stock log --verify` finds what an ordinary read does not. A log that was changed ends for
// SQLite where it is wrong, as after a loss of power: that its last events are gone is told
// by nothing but the hash of a checkpoint kept elsewhere. The log lives until the last
// program closes the register.
//
// On PostgreSQL the server may crash, the connection break at any byte, and a standby
// take over (postgres_test.go): every event that was acknowledged is there, once; one that
// was not may be there, and is sent again with its id.
//
// BEADLINE_FAULTS_SEED and BEADLINE_FAULTS_RUNS choose the seed of the random faults, which
// each test logs, and the number of runs of TestKilledWritersLoseNothing.
package faults
