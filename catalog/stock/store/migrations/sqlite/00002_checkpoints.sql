-- Checkpoints over the heads of lines; line.epoch is the number of the last checkpoint
-- when the line was written to.

-- +goose Up
CREATE TABLE checkpoint (
    n        INTEGER NOT NULL PRIMARY KEY CHECK (n > 0),
    at       TEXT    NOT NULL CHECK (length(at) = 24 AND at LIKE '____-__-__T__:__:__.___Z'),
    by       TEXT    NOT NULL,
    lines    INTEGER NOT NULL CHECK (lines >= 0),
    events   INTEGER NOT NULL CHECK (events >= 0),
    previous BLOB    NOT NULL CHECK (length(previous) = 32),
    hash     BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE TABLE checkpoint_head (
    n    INTEGER NOT NULL,
    line TEXT    NOT NULL,
    seq  INTEGER NOT NULL CHECK (seq > 0),
    hash BLOB    NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (line, seq)
) STRICT, WITHOUT ROWID;

CREATE INDEX checkpoint_head_n ON checkpoint_head (n, line);

ALTER TABLE line ADD COLUMN epoch INTEGER NOT NULL DEFAULT 0 CHECK (epoch >= 0);

CREATE INDEX line_epoch ON line (epoch);
