package store

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"

	"beadline/catalog/stock/register"
)

// OpenPostgres opens the register in a PostgreSQL database. The URL is libpq's
// (PostgreSQL documentation, 34.1.1.2): several hosts with target_session_attrs=read-write
// follow the register to the server that takes writes. pool_max_conns in it says how many
// connections are opened at most (16).
func OpenPostgres(ctx context.Context, url string, o Options) (register.Store, error) {
	s, err := newPostgres(ctx, url, o)
	if err != nil {
		return nil, err
	}
	if err := s.ready(ctx); err != nil {
		s.pool.Close()
		return nil, err
	}
	return s, nil
}

// newPostgres has the pool of connections; none is open yet.
func newPostgres(ctx context.Context, url string, o Options) (*pgStore, error) {
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, badURL(err)
	}
	if !strings.Contains(url, "pool_max_conns") {
		config.MaxConns = 16
	}
	if config.ConnConfig.ConnectTimeout == 0 {
		config.ConnConfig.ConnectTimeout = min(o.patience(), 5*time.Second)
	}
	s := &pgStore{label: labelOf(config.ConnConfig), secret: config.ConnConfig.Password, o: o}
	if s.pool, err = pgxpool.NewWithConfig(ctx, config); err != nil {
		return nil, s.says(err)
	}
	s.reader = reader{pgSource{s, nil, false}}
	return s, nil
}

func (s *pgStore) ready(ctx context.Context) error {
	have, err := s.version(ctx)
	if err != nil {
		return err
	}
	older, err := checkVersion(s.label, have, s.o)
	if err == nil && older {
		err = s.migrate(ctx, schemaVersion)
	}
	return err
}

// badURL says what is wrong with a URL without repeating it: there may be a password in it.
func badURL(err error) error {
	const right = "write postgres://user@host:5432/database"
	inner := err
	for next := errors.Unwrap(inner); next != nil; next = errors.Unwrap(inner) {
		inner = next
	}
	var parse *pgconn.ParseConfigError
	var syntax *url.Error
	if text := inner.Error(); !errors.As(err, &syntax) && inner != err && errors.As(err, &parse) && !strings.Contains(text, "@") {
		return fmt.Errorf("the URL of the register is not as it should be (%s): %s", text, right)
	}
	return fmt.Errorf("the URL of the register is not as it should be: %s", right)
}

// labelOf is what a register is called: its hosts and database.
func labelOf(c *pgx.ConnConfig) string {
	hosts := []string{hostPort(c.Host, c.Port)}
	for _, f := range c.Fallbacks {
		if h := hostPort(f.Host, f.Port); !slices.Contains(hosts, h) {
			hosts = append(hosts, h)
		}
	}
	return "postgres://" + strings.Join(hosts, ",") + "/" + c.Database
}

func hostPort(host string, port uint16) string {
	return net.JoinHostPort(host, strconv.Itoa(int(port)))
}

// version is the form of the register; noSchema if there is none in the database.
func (s *pgStore) version(ctx context.Context) (version int, err error) {
	err = s.again(ctx, func() (bool, error) {
		err := s.pool.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM `+versionTable+` WHERE is_applied`).Scan(&version)
		if stateOf(err) == stateNoTable {
			version, err = noSchema, nil
		}
		return false, err
	})
	return version, err
}

func (s *pgStore) migrate(ctx context.Context, to int64) error {
	db := stdlib.OpenDB(*s.pool.Config().ConnConfig)
	defer db.Close()
	m := migrator{goose.DialectPostgres, "migrations/postgres", db, s.version, passing, s.o.patience()}
	return s.says(s.afterStandby(m.run(ctx, to)))
}
