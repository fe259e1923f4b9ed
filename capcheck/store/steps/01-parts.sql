-- Customers and boards; parts by key and scope; their figures, of which nothing is overwritten.

CREATE TABLE customer (
    id {identity},
    name TEXT NOT NULL,
    folded TEXT NOT NULL UNIQUE
);

CREATE TABLE board (
    id {identity},
    customer_id BIGINT REFERENCES customer (id),
    name TEXT NOT NULL,
    folded TEXT NOT NULL
);

CREATE UNIQUE INDEX board_once ON board (folded, COALESCE(customer_id, 0));

-- Who said something, when, and whence it was taken.
CREATE TABLE given (
    id {identity},
    who TEXT NOT NULL,
    at TEXT NOT NULL,
    source TEXT NOT NULL,
    place TEXT NOT NULL,
    link TEXT NOT NULL
);

-- found_by is what a look-up asks for: n and the number, v with value and footprint, f with the footprint, r with the
-- reference, * for a key with wildcards. key_text tells apart the parts of one scope. standing is the figures that stand
-- once more, as JSON: a look-up of a board's parts then reads one row for each.
CREATE TABLE part (
    id {identity},
    found_by TEXT NOT NULL,
    key_text TEXT NOT NULL,
    part_number TEXT NOT NULL,
    footprint TEXT NOT NULL,
    value TEXT NOT NULL,
    reference TEXT NOT NULL,
    customer_id BIGINT REFERENCES customer (id),
    board_id BIGINT REFERENCES board (id),
    standing TEXT NOT NULL DEFAULT '[]'
);

CREATE UNIQUE INDEX part_once ON part (key_text, COALESCE(customer_id, 0), COALESCE(board_id, 0));
CREATE INDEX part_found_by ON part (found_by);

-- low and high are in the unit beside them, without a value where that end is open; a figure in words has a word.
CREATE TABLE figure (
    id {identity},
    part_id BIGINT NOT NULL REFERENCES part (id),
    field TEXT NOT NULL,
    low DOUBLE PRECISION,
    high DOUBLE PRECISION,
    unit TEXT NOT NULL,
    word TEXT,
    given_id BIGINT NOT NULL REFERENCES given (id),
    superseded_at TEXT,
    superseded_by BIGINT REFERENCES given (id)
);

CREATE UNIQUE INDEX figure_stands_once ON figure (part_id, field) WHERE superseded_at IS NULL;
CREATE INDEX figure_of_part ON figure (part_id);
