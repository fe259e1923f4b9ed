-- Revisions of boards with the hashes of their files, and what checks of them came to.

CREATE TABLE revision (
    id {identity},
    board_id BIGINT NOT NULL REFERENCES board (id),
    label TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    given_id BIGINT NOT NULL REFERENCES given (id)
);

CREATE UNIQUE INDEX revision_once ON revision (board_id, sha256);

CREATE TABLE revision_file (
    revision_id BIGINT NOT NULL REFERENCES revision (id),
    path TEXT NOT NULL,
    role TEXT NOT NULL,
    sha256 TEXT NOT NULL
);

CREATE INDEX revision_file_of ON revision_file (revision_id);

CREATE TABLE result (
    id {identity},
    revision_id BIGINT NOT NULL REFERENCES revision (id),
    line TEXT NOT NULL,
    verdict TEXT NOT NULL,
    counts TEXT NOT NULL,
    program TEXT NOT NULL,
    given_id BIGINT NOT NULL REFERENCES given (id)
);

CREATE INDEX result_of ON result (revision_id);

-- Which boards a part is used on, and what their own files state of it.
CREATE TABLE used_on (
    id {identity},
    revision_id BIGINT NOT NULL REFERENCES revision (id),
    key_text TEXT NOT NULL,
    part_number TEXT NOT NULL,
    footprint TEXT NOT NULL,
    value TEXT NOT NULL,
    refs TEXT NOT NULL,
    stated TEXT NOT NULL
);

CREATE INDEX used_on_key ON used_on (key_text);
CREATE INDEX used_on_revision ON used_on (revision_id);
