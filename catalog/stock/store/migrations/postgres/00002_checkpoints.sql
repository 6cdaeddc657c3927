-- Checkpoints over the heads of lines; line.epoch is the number of the last checkpoint
-- when the line was written to.

-- +goose Up
CREATE TABLE checkpoint (
    n        bigint NOT NULL CHECK (n > 0),
    at       text COLLATE "C" NOT NULL CHECK (length(at) = 24 AND at LIKE '____-__-__T__:__:__.___Z'),
    by       text COLLATE "C" NOT NULL,
    lines    bigint NOT NULL CHECK (lines >= 0),
    events   bigint NOT NULL CHECK (events >= 0),
    previous bytea  NOT NULL CHECK (length(previous) = 32),
    hash     bytea  NOT NULL CHECK (length(hash) = 32),
    CONSTRAINT checkpoint_n PRIMARY KEY (n)
);

CREATE TABLE checkpoint_head (
    n    bigint NOT NULL,
    line text COLLATE "C" NOT NULL,
    seq  bigint NOT NULL CHECK (seq > 0),
    hash bytea  NOT NULL CHECK (length(hash) = 32),
    CONSTRAINT checkpoint_head_line_seq PRIMARY KEY (line, seq)
);

CREATE INDEX checkpoint_head_n ON checkpoint_head (n, line);

ALTER TABLE line ADD COLUMN epoch bigint NOT NULL DEFAULT 0;

CREATE INDEX line_epoch ON line (epoch);
