-- What samples are said to be. Derived like the other tables; a book of an older form has no records
-- for it.
CREATE TABLE verdict (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL
) STRICT;

CREATE INDEX verdict_sample ON verdict (sample, record);
