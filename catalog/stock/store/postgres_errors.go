package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"

	"beadline/catalog/stock/register"
)

// The SQLSTATE codes that mean something here (PostgreSQL documentation, appendix A).
const (
	stateSerialization = "40001"
	stateUnknownCommit = "40003" // distributed clusters: it may have been committed
	stateDeadlock      = "40P01"
	stateReadOnly      = "25006"
	stateDivision      = "22012" // a compare-and-swap that failed: see postgres_commit.go
	stateUnique        = "23505"
	stateNoTable       = "42P01"
	stateNoDatabase    = "3D000"
	stateNoPermission  = "42501"
	stateDiskFull      = "53100"
	stateTooMany       = "53300"
	stateShutdown      = "57P01"
	stateCrash         = "57P02"
	stateStarting      = "57P03"
	stateDamaged       = "XX001"
	stateIndexDamaged  = "XX002"
)

// state is the SQLSTATE of an error; "" if the server did not say anything.
func stateOf(err error) string {
	var e *pgconn.PgError
	if !errors.As(err, &e) {
		return ""
	}
	return e.Code
}

func constraintOf(err error) string {
	var e *pgconn.PgError
	if errors.As(err, &e) && e.Code == stateUnique {
		return e.ConstraintName
	}
	return ""
}

// passing reports whether an error may be gone at the next try: another transaction was
// in the way, or there was no server to talk to. It says nothing about whether a write
// may be sent again: see unknown.
func passing(err error) bool {
	if err == nil || errors.Is(err, context.Canceled) || errors.Is(err, register.ErrUnknown) {
		return false
	}
	if _, is := isTheirs(err); is {
		return false
	}
	switch state := stateOf(err); state {
	case stateSerialization, stateDeadlock, stateReadOnly, stateTooMany, stateShutdown, stateCrash, stateStarting:
		return true
	case "":
		return lost(err)
	default:
		return strings.HasPrefix(state, "08")
	}
}

// lost reports whether there was no connection, or it broke.
func lost(err error) bool {
	var connect *pgconn.ConnectError
	var network net.Error
	if errors.As(err, &connect) || errors.As(err, &network) {
		return true
	}
	for _, end := range []error{io.EOF, io.ErrUnexpectedEOF, net.ErrClosed, pgconn.ErrConnClosed, context.DeadlineExceeded} {
		if errors.Is(err, end) {
			return true
		}
	}
	return false
}

// theirs is an error of the caller's, from what he gave to be called: it passes as it is,
// whatever it looks like.
type theirs struct{ error }

func (t theirs) Unwrap() error { return t.error }

func callers(err error) error {
	if err == nil {
		return nil
	}
	return theirs{err}
}

func isTheirs(err error) (error, bool) {
	var t theirs
	if errors.As(err, &t) {
		return t.error, true
	}
	return nil, false
}

// unknown reports whether a COMMIT that ended like this may have come through.
func unknown(err error) bool {
	if err == nil || pgconn.SafeToRetry(err) {
		return false
	}
	switch stateOf(err) {
	case "", stateUnknownCommit, stateShutdown, stateCrash:
		return true
	}
	return false
}

func unknownOutcome(err error) error {
	return fmt.Errorf("the connection was lost: %w (%w)", register.ErrUnknown, err)
}

// afterStandby lets the pool look for another server where this one takes no writes: the
// one that did has been taken over from.
func (s *pgStore) afterStandby(err error) error {
	if stateOf(err) == stateReadOnly {
		s.pool.Reset()
	}
	return err
}

// says turns an error into a line for the person who reads it. What is the register's own
// or the caller's passes.
func (s *pgStore) says(err error) error {
	if own, is := isTheirs(err); is {
		return own
	}
	switch {
	case err == nil:
		return nil
	case errors.Is(err, register.ErrUnknown):
		return fmt.Errorf("%s: %w", s.label, s.plain(err, register.ErrUnknown))
	}
	var connect *pgconn.ConnectError
	isConnect := errors.As(err, &connect)
	switch state := stateOf(err); state {
	case "":
		if isConnect || lost(err) {
			return fmt.Errorf("%s cannot be reached: %w", s.label, s.plain(err, nil))
		}
		return err
	case stateReadOnly:
		return fmt.Errorf("%s: %w: no server of it takes writes", s.label, register.ErrReadOnly)
	case stateNoDatabase:
		return fmt.Errorf("%w at %s: the server has no such database", register.ErrMissing, s.label)
	case stateNoTable, stateDamaged, stateIndexDamaged:
		return damaged(s.label, "%v", s.plain(err, nil))
	case stateNoPermission:
		return fmt.Errorf("%s: this user may not do that: %w", s.label, s.plain(err, nil))
	case stateDiskFull:
		return fmt.Errorf("%s: the server's disk is full; nothing was recorded: make room, and try again", s.label)
	case stateSerialization, stateDeadlock:
		return fmt.Errorf("%s: others have been writing for %s: try again later", s.label, s.o.patience())
	default:
		if strings.HasPrefix(state, "28") {
			return fmt.Errorf("%s does not let this user in: %w", s.label, s.plain(err, nil))
		}
		return fmt.Errorf("%s: %w", s.label, s.plain(err, nil))
	}
}

// plain is an error on one line, without the password, that still is what it wraps.
func (s *pgStore) plain(err, kind error) error {
	text := strings.Join(strings.Fields(err.Error()), " ")
	if s.secret != "" {
		text = strings.ReplaceAll(text, s.secret, "…")
	}
	for _, cause := range []error{kind, context.Canceled, context.DeadlineExceeded} {
		if cause != nil && errors.Is(err, cause) {
			return &told{text, err}
		}
	}
	return errors.New(text)
}

// told is an error with words of its own.
type told struct {
	text  string
	cause error
}

func (t *told) Error() string { return t.text }
func (t *told) Unwrap() error { return t.cause }
