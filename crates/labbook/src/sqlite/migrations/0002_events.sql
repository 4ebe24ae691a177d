-- What happened in runs, in the order it was recorded. Derived like the other tables; a book of
-- form 1 has no records for it.
CREATE TABLE event (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    run     TEXT NOT NULL
) STRICT;

CREATE INDEX event_run ON event (run, first);
