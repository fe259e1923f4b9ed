-- Questions asked and the answers given to them; a question that changed is replaced, and kept.

CREATE TABLE question (
    id {identity},
    board_id BIGINT NOT NULL REFERENCES board (id),
    key TEXT NOT NULL,
    type TEXT NOT NULL,
    text TEXT NOT NULL,
    fingerprint TEXT NOT NULL,
    refs TEXT NOT NULL,
    part TEXT NOT NULL,
    fields TEXT NOT NULL,
    data TEXT NOT NULL,
    given_id BIGINT NOT NULL REFERENCES given (id),
    changed_at TEXT
);

CREATE UNIQUE INDEX question_stands_once ON question (board_id, key) WHERE changed_at IS NULL;

CREATE TABLE answer (
    id {identity},
    question_id BIGINT NOT NULL REFERENCES question (id),
    text TEXT NOT NULL,
    goes_to TEXT NOT NULL,
    settles BIGINT NOT NULL,
    given_id BIGINT NOT NULL REFERENCES given (id)
);

CREATE INDEX answer_of ON answer (question_id);
