-- Reference substances, checks of thermometers with them, and calibrations. Derived like the other
-- tables; a book of an older form has no records for them.
CREATE TABLE standard (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    retired INTEGER NOT NULL
) STRICT;

CREATE TABLE thermometer_check (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    bench   TEXT NOT NULL,
    made_on TEXT NOT NULL,
    void    INTEGER NOT NULL
) STRICT;

CREATE INDEX thermometer_check_bench ON thermometer_check (bench, made_on, first);

CREATE TABLE calibration (
    first         INTEGER PRIMARY KEY,
    subject       TEXT NOT NULL UNIQUE,
    record        INTEGER NOT NULL,
    bench         TEXT NOT NULL,
    in_force_from TEXT NOT NULL,
    withdrawn     INTEGER NOT NULL
) STRICT;

CREATE INDEX calibration_bench ON calibration (bench, in_force_from, first);

-- Runs of a bench. An expression, so that older records need no column of their own.
CREATE INDEX record_run_bench ON record
    (CASE WHEN json_valid(content) THEN json_extract(content, '$.payload.bench') END)
    WHERE kind = 'run';
