-- A book of form 1: an opening, a person, a sample. Never edited.
BEGIN TRANSACTION;
CREATE TABLE _sqlx_migrations (
    version BIGINT PRIMARY KEY,
    description TEXT NOT NULL,
    installed_on TIMESTAMP NOT NULL DEFAULT CURRENT_TIMESTAMP,
    success BOOLEAN NOT NULL,
    checksum BLOB NOT NULL,
    execution_time BIGINT NOT NULL
);
INSERT INTO "_sqlx_migrations" VALUES(1,'records and state','2026-11-25 16:54:08',1,X'0235B756D44D371DD1E426388AD35178FB7AA9D38F503735BAA9DD7342206493487D328B17D76FD4F3BF5A63BA788A9D',2332336);
CREATE TABLE attachment (
    sha256 TEXT PRIMARY KEY,
    bytes  BLOB NOT NULL
) STRICT;
CREATE TABLE bench (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    due      TEXT
) STRICT;
CREATE TABLE determination (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL,
    agreed  INTEGER NOT NULL,
    range_text TEXT NOT NULL
) STRICT;
CREATE TABLE person (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    role     TEXT NOT NULL
) STRICT;
INSERT INTO "person" VALUES(2,'01a213a1-034f-7363-88fc-836e021b92af',2,'R. Amsel','r. amsel','supervisor');
CREATE TABLE reading (
    first     INTEGER PRIMARY KEY,
    subject   TEXT NOT NULL UNIQUE,
    record    INTEGER NOT NULL,
    recording TEXT NOT NULL,
    by_engine INTEGER NOT NULL
) STRICT;
CREATE TABLE reading_tube (
    reading  TEXT NOT NULL,
    place    INTEGER NOT NULL,
    sample   TEXT,
    -- Number of the latest confirmation or override.
    decision INTEGER,
    PRIMARY KEY (reading, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE record (
    seq        INTEGER PRIMARY KEY,
    id         TEXT NOT NULL UNIQUE,
    kind       TEXT NOT NULL,
    subject    TEXT NOT NULL,
    supersedes TEXT UNIQUE REFERENCES record (id),
    hash       TEXT NOT NULL,
    content    TEXT NOT NULL
) STRICT;
INSERT INTO "record" VALUES(1,'01a213a1-0350-728c-ab98-0257cdeacb50','opening','01a213a1-034f-7363-88fc-836f1bf396d4',NULL,'9dd9683e24d8fbc9a5b04a032f36cbc65f8233e2315117547571d34ab3ebb1ab','{"format":1,"id":"01a213a1-0350-728c-ab98-0257cdeacb50","kind":"opening","payload":{"program":"meltrange 0.1.0","title":"Form 1"},"previous":null,"reason":null,"seq":1,"subject":"01a213a1-034f-7363-88fc-836f1bf396d4","supersedes":null,"when":"2026-11-25T16:54:08.975133+00:00","who":null}');
INSERT INTO "record" VALUES(2,'01a213a1-0351-73fc-8ddf-01d496e818be','person','01a213a1-034f-7363-88fc-836e021b92af',NULL,'ebaafa4334655305eea5506d35549b5a24613d002ab85235cd0495b95fd28508','{"format":1,"id":"01a213a1-0351-73fc-8ddf-01d496e818be","kind":"person","payload":{"name":"R. Amsel","role":"supervisor"},"previous":"9dd9683e24d8fbc9a5b04a032f36cbc65f8233e2315117547571d34ab3ebb1ab","reason":null,"seq":2,"subject":"01a213a1-034f-7363-88fc-836e021b92af","supersedes":null,"when":"2026-11-25T16:54:08.977382+00:00","who":"01a213a1-034f-7363-88fc-836e021b92af"}');
INSERT INTO "record" VALUES(3,'01a213a1-0359-74a8-91b3-d7c1c1498dbf','sample','01a213a1-0358-7783-8e25-f05d42676160',NULL,'2909401630e12f6980c573165c25658b1164248381076cc39961d79f6baab788','{"format":1,"id":"01a213a1-0359-74a8-91b3-d7c1c1498dbf","kind":"sample","payload":{"expected_substance":"acetanilide","hazards":null,"label":"U-1","origin":null,"preparation":{"column_height_mm":null,"dried":null,"ground":null,"solvent":null},"remarks":null},"previous":"ebaafa4334655305eea5506d35549b5a24613d002ab85235cd0495b95fd28508","reason":null,"seq":3,"subject":"01a213a1-0358-7783-8e25-f05d42676160","supersedes":null,"when":"2026-11-25T16:54:08.984877+00:00","who":"01a213a1-034f-7363-88fc-836e021b92af"}');
CREATE TABLE recording (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    run      TEXT NOT NULL,
    begun    TEXT NOT NULL,
    state    TEXT NOT NULL,
    readings INTEGER NOT NULL
) STRICT;
CREATE TABLE run (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    begun   TEXT NOT NULL,
    state   TEXT NOT NULL
) STRICT;
CREATE TABLE run_tube (
    run    TEXT NOT NULL,
    place  INTEGER NOT NULL,
    sample TEXT,
    PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE sample (
    first       INTEGER PRIMARY KEY,
    subject     TEXT NOT NULL UNIQUE,
    record      INTEGER NOT NULL,
    label       TEXT NOT NULL,
    label_key   TEXT NOT NULL UNIQUE,
    sort_key    TEXT NOT NULL,
    origin      TEXT,
    expected    TEXT,
    hazards     TEXT,
    search      TEXT NOT NULL,
    added       TEXT NOT NULL,
    standing    TEXT NOT NULL,
    recordings  INTEGER NOT NULL,
    range_text  TEXT
) STRICT;
INSERT INTO "sample" VALUES(3,'01a213a1-0358-7783-8e25-f05d42676160',3,'U-1','u-1','u-000000000001',NULL,'acetanilide',NULL,'u-1
acetanilide','2026-11-25T16:54:08.984877+00:00','unread',0,NULL);
CREATE INDEX record_subject ON record (subject, seq);
CREATE TRIGGER record_is_not_changed BEFORE UPDATE ON record
BEGIN SELECT RAISE(ABORT, 'records are never changed'); END;
CREATE TRIGGER record_is_not_removed BEFORE DELETE ON record
BEGIN SELECT RAISE(ABORT, 'records are never removed'); END;
CREATE TRIGGER record_comes_last BEFORE INSERT ON record
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM record)
     OR EXISTS (SELECT 1 FROM record WHERE id = NEW.id)
     OR EXISTS (SELECT 1 FROM record WHERE supersedes = NEW.supersedes)
BEGIN SELECT RAISE(ABORT, 'records are only added at the end'); END;
CREATE TRIGGER attachment_is_not_changed BEFORE UPDATE ON attachment
BEGIN SELECT RAISE(ABORT, 'attachments are never changed'); END;
CREATE TRIGGER attachment_is_not_removed BEFORE DELETE ON attachment
BEGIN SELECT RAISE(ABORT, 'attachments are never removed'); END;
CREATE TRIGGER attachment_is_new BEFORE INSERT ON attachment
WHEN EXISTS (SELECT 1 FROM attachment WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'attachments are never changed'); END;
CREATE INDEX sample_newest ON sample (first DESC, standing, search);
CREATE INDEX sample_label ON sample (sort_key, first, standing, search);
CREATE INDEX sample_standing ON sample (standing, first);
CREATE INDEX run_state ON run (state, first);
CREATE INDEX run_tube_sample ON run_tube (sample, run);
CREATE INDEX recording_state ON recording (state, first);
CREATE INDEX recording_run ON recording (run, first);
CREATE INDEX reading_recording ON reading (recording, first);
CREATE INDEX reading_tube_sample ON reading_tube (sample, reading);
CREATE INDEX reading_tube_undecided ON reading_tube (reading) WHERE decision IS NULL;
CREATE INDEX determination_sample ON determination (sample, record);
COMMIT;
