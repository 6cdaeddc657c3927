-- Lines of events, and what is projected from them. Texts compare by their bytes
-- (COLLATE "C"). No sequence, trigger or foreign key: each write is one line's, and keeps
-- its tables together itself. Every step begins with a statement that fails where the
-- step has been taken: of two programs at once one fails, and looks again.

-- +goose Up
CREATE TABLE line (
    key  text COLLATE "C" NOT NULL CHECK (key <> ''),
    seq  bigint NOT NULL CHECK (seq > 0),
    hash bytea  NOT NULL CHECK (length(hash) = 32),
    CONSTRAINT line_key PRIMARY KEY (key)
);

CREATE TABLE event (
    line text COLLATE "C" NOT NULL,
    seq  bigint NOT NULL CHECK (seq > 0),
    id   text COLLATE "C" NOT NULL CHECK (id <> ''),
    hash bytea  NOT NULL CHECK (length(hash) = 32),
    body text   COLLATE "C" NOT NULL,
    CONSTRAINT event_line_seq PRIMARY KEY (line, seq),
    CONSTRAINT event_id UNIQUE (id)
);

CREATE TABLE lot (
    stocked   smallint NOT NULL CHECK (stocked IN (0, 1)),
    line      text COLLATE "C" NOT NULL,
    container text COLLATE "C" NOT NULL,
    place     text COLLATE "C" NOT NULL,
    class     text COLLATE "C" NOT NULL,
    row       text COLLATE "C" NOT NULL,
    CONSTRAINT lot_key PRIMARY KEY (stocked, line, container, place)
);

CREATE TABLE served (
    line  text COLLATE "C" NOT NULL,
    n     bigint NOT NULL CHECK (n >= 0),
    seq   bigint NOT NULL,
    joint text COLLATE "C" NOT NULL,
    job   text COLLATE "C" NOT NULL,
    mix   text COLLATE "C" NOT NULL,
    at    text COLLATE "C" NOT NULL CHECK (length(at) = 24 AND at LIKE '____-__-__T__:__:__.___Z'),
    CONSTRAINT served_key PRIMARY KEY (line, n)
);

CREATE INDEX served_joint ON served (joint, job);

CREATE INDEX served_job ON served (job);

CREATE TABLE reserved (
    line      text COLLATE "C" NOT NULL,
    n         bigint NOT NULL CHECK (n >= 0),
    job       text COLLATE "C" NOT NULL,
    container text COLLATE "C" NOT NULL,
    place     text COLLATE "C" NOT NULL,
    amount    bigint NOT NULL, -- thousandths of the unit
    CONSTRAINT reserved_key PRIMARY KEY (line, n)
);

CREATE INDEX reserved_job ON reserved (job);

CREATE TABLE place (
    name text COLLATE "C" NOT NULL,
    CONSTRAINT place_name PRIMARY KEY (name)
);
