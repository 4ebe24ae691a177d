-- Sign-offs, and results from before the book. Derived like the other tables; a book of an older form has
-- no records for them.
CREATE TABLE sign_off (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL
) STRICT;

CREATE INDEX sign_off_sample ON sign_off (sample, record);

CREATE TABLE past_result (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL
) STRICT;

CREATE INDEX past_result_sample ON past_result (sample, record);
