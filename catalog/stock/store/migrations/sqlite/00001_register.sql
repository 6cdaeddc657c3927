-- Lines of events, and what is projected from them. Every step begins with a statement
-- that fails where the step has been taken: of two programs at once one fails, and looks
-- again.

-- +goose Up
CREATE TABLE line (
    key  TEXT    NOT NULL PRIMARY KEY CHECK (key <> ''),
    seq  INTEGER NOT NULL CHECK (seq > 0),
    hash BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT, WITHOUT ROWID;

-- The events of a line stand side by side: one read of the tree finds them.
CREATE TABLE event (
    line TEXT    NOT NULL,
    seq  INTEGER NOT NULL CHECK (seq > 0),
    id   TEXT    NOT NULL CHECK (id <> ''),
    hash BLOB    NOT NULL CHECK (length(hash) = 32),
    body TEXT    NOT NULL,
    PRIMARY KEY (line, seq)
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX event_id ON event (id);

-- What is in stock stands apart from what is gone, so that the list of the stock stays as
-- quick when years of used containers have piled up.
CREATE TABLE lot (
    stocked   INTEGER NOT NULL CHECK (stocked IN (0, 1)),
    line      TEXT    NOT NULL,
    container TEXT    NOT NULL,
    place     TEXT    NOT NULL,
    class     TEXT    NOT NULL,
    row       TEXT    NOT NULL,
    PRIMARY KEY (stocked, line, container, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE served (
    line  TEXT    NOT NULL,
    n     INTEGER NOT NULL CHECK (n >= 0),
    seq   INTEGER NOT NULL,
    joint TEXT    NOT NULL,
    job   TEXT    NOT NULL,
    mix   TEXT    NOT NULL,
    at    TEXT    NOT NULL CHECK (length(at) = 24 AND at LIKE '____-__-__T__:__:__.___Z'),
    PRIMARY KEY (line, n)
) STRICT, WITHOUT ROWID;

CREATE INDEX served_joint ON served (joint, job);

CREATE INDEX served_job ON served (job);

CREATE TABLE reserved (
    line      TEXT    NOT NULL,
    n         INTEGER NOT NULL CHECK (n >= 0),
    job       TEXT    NOT NULL,
    container TEXT    NOT NULL,
    place     TEXT    NOT NULL,
    amount    INTEGER NOT NULL, -- thousandths of the unit
    PRIMARY KEY (line, n)
) STRICT, WITHOUT ROWID;

CREATE INDEX reserved_job ON reserved (job);

CREATE TABLE place (
    name TEXT NOT NULL PRIMARY KEY
) STRICT, WITHOUT ROWID;

-- "BDLN"
PRAGMA application_id = 1111772238;
