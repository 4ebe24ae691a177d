-- Class sessions with what is done in them, and blind readings for practice. Derived like the other tables; a
-- book of an older form has no records for them.
CREATE TABLE practical (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL
) STRICT;

CREATE TABLE practical_step (
    first     INTEGER PRIMARY KEY,
    subject   TEXT NOT NULL UNIQUE,
    record    INTEGER NOT NULL,
    practical TEXT NOT NULL
) STRICT;

CREATE INDEX practical_step_practical ON practical_step (practical, record);

CREATE TABLE practice_attempt (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    person  TEXT NOT NULL
) STRICT;

CREATE INDEX practice_attempt_person ON practice_attempt (person, first);
