-- Quotes with their boards, the files that came, the work on them, and who did what. Files lie in folders of the desk.

CREATE TABLE quote (
    id {identity},
    folder TEXT NOT NULL UNIQUE,
    customer TEXT NOT NULL,
    name TEXT NOT NULL,
    quantity BIGINT,
    due TEXT NOT NULL,
    received_at TEXT NOT NULL,
    waiting_since TEXT NOT NULL,
    decided_at TEXT NOT NULL,
    decision TEXT NOT NULL
);

CREATE TABLE quote_board (
    id {identity},
    quote_id BIGINT NOT NULL REFERENCES quote (id),
    name TEXT NOT NULL,
    folder TEXT NOT NULL
);

CREATE INDEX quote_board_of ON quote_board (quote_id);

-- shown is the name as it came, for people alone; path is the one that we chose. A file without a board has not been
-- told apart yet, or is of none.
CREATE TABLE quote_file (
    id {identity},
    quote_id BIGINT NOT NULL REFERENCES quote (id),
    board_id BIGINT REFERENCES quote_board (id),
    shown TEXT NOT NULL,
    path TEXT NOT NULL,
    size BIGINT NOT NULL
);

CREATE INDEX quote_file_of ON quote_file (quote_id);

-- What is to be done: held by a desk until a time, and anybody's after that; ended_at is empty until it is done.
CREATE TABLE quote_work (
    id {identity},
    quote_id BIGINT NOT NULL REFERENCES quote (id),
    board_id BIGINT REFERENCES quote_board (id),
    kind TEXT NOT NULL,
    about TEXT NOT NULL,
    asked_at TEXT NOT NULL,
    tries BIGINT NOT NULL,
    holder TEXT NOT NULL,
    held_until TEXT NOT NULL,
    ended_at TEXT NOT NULL,
    outcome TEXT NOT NULL,
    told TEXT NOT NULL,
    result TEXT NOT NULL
);

CREATE INDEX quote_work_open ON quote_work (ended_at, id);
CREATE INDEX quote_work_of_board ON quote_work (board_id);
CREATE INDEX quote_work_of_quote ON quote_work (quote_id);

CREATE TABLE quote_log (
    id {identity},
    quote_id BIGINT REFERENCES quote (id),
    who TEXT NOT NULL,
    at TEXT NOT NULL,
    what TEXT NOT NULL,
    about TEXT NOT NULL
);

CREATE INDEX quote_log_of ON quote_log (quote_id);
