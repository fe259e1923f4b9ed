-- Figures that somebody held against what a board's files state: a program before this step knows no such source, and
-- would call the store damaged.
CREATE INDEX given_by_source ON given (source);
