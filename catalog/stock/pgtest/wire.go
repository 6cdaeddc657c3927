package pgtest

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"time"
)

// Query sends one text of SQL to a database of the server, on a connection of its own, and
// returns the rows as text, NULL as "". It is for setting a stage and looking behind the
// scenes without a driver; it speaks as much of the protocol as that takes (PostgreSQL
// documentation, Frontend/Backend Protocol: start-up and simple query).
func (s *Server) Query(db, sql string) ([][]string, error) {
	conn, err := net.DialTimeout("tcp", s.Addr(), patience)
	if err != nil {
		return nil, err
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(patience)); err != nil {
		return nil, err
	}
	in := bufio.NewReader(conn)
	if _, err := conn.Write(startup(db)); err != nil {
		return nil, err
	}
	if _, err := answer(in); err != nil {
		return nil, err
	}
	if _, err := conn.Write(message('Q', sql+"\x00")); err != nil {
		return nil, err
	}
	rows, err := answer(in)
	if err != nil {
		return nil, fmt.Errorf("%w, in: %s", err, sql)
	}
	_, _ = conn.Write(message('X', "")) // a good-bye; the answer is here already
	return rows, nil
}

// startup is the first message of a connection: version 3.0 and who asks for what.
func startup(db string) []byte {
	body := binary.BigEndian.AppendUint32(nil, 3<<16)
	for _, word := range []string{"user", user, "database", db, "application_name", "pgtest", ""} {
		body = append(append(body, word...), 0)
	}
	return append(binary.BigEndian.AppendUint32(nil, uint32(len(body)+4)), body...)
}

func message(kind byte, body string) []byte {
	return append(binary.BigEndian.AppendUint32([]byte{kind}, uint32(len(body)+4)), body...)
}

// answer reads until the server is ready for the next query. The first error it reported
// is returned.
func answer(in *bufio.Reader) (rows [][]string, refused error) {
	for {
		var head [5]byte
		if _, err := io.ReadFull(in, head[:]); err != nil {
			return nil, errors.Join(refused, err)
		}
		n := binary.BigEndian.Uint32(head[1:])
		if n < 4 || n > 1<<28 {
			return nil, fmt.Errorf("a message of %d bytes", n)
		}
		body := make([]byte, n-4)
		if _, err := io.ReadFull(in, body); err != nil {
			return nil, err
		}
		switch head[0] {
		case 'E':
			if refused == nil {
				refused = report(body)
			}
		case 'R':
			if len(body) != 4 || binary.BigEndian.Uint32(body) != 0 {
				return nil, errors.New("the server asks for a password")
			}
		case 'D':
			row, err := cells(body)
			if err != nil {
				return nil, err
			}
			rows = append(rows, row)
		case 'Z':
			return rows, refused
		}
	}
}

// report reads an error: fields of a letter and a text each.
func report(body []byte) error {
	var code, text string
	for _, field := range strings.Split(string(body), "\x00") {
		switch {
		case strings.HasPrefix(field, "C"):
			code = field[1:]
		case strings.HasPrefix(field, "M"):
			text = field[1:]
		}
	}
	return fmt.Errorf("PostgreSQL says: %s (%s)", text, code)
}

// cells reads a row: a count, then each value with its length, -1 for NULL.
func cells(body []byte) ([]string, error) {
	short := errors.New("a row that ends early")
	if len(body) < 2 {
		return nil, short
	}
	row := make([]string, binary.BigEndian.Uint16(body))
	body = body[2:]
	for i := range row {
		if len(body) < 4 {
			return nil, short
		}
		n := int(int32(binary.BigEndian.Uint32(body)))
		body = body[4:]
		if n < 0 {
			continue
		}
		if len(body) < n {
			return nil, short
		}
		row[i], body = string(body[:n]), body[n:]
	}
	return row, nil
}
