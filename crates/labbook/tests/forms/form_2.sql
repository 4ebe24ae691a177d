-- A book of form 2: an opening, a person, a sample, a bench, a run with its programme and three events. Never edited.
BEGIN TRANSACTION;
CREATE TABLE _sqlx_migrations (
    version BIGINT PRIMARY KEY,
    description TEXT NOT NULL,
    installed_on TIMESTAMP NOT NULL DEFAULT CURRENT_TIMESTAMP,
    success BOOLEAN NOT NULL,
    checksum BLOB NOT NULL,
    execution_time BIGINT NOT NULL
);
INSERT INTO _sqlx_migrations VALUES(1,'records and state','2026-11-25 19:50:06',1,X'0235b756d44d371dd1e426388ad35178fb7aa9d38f503735baa9dd7342206493487d328b17d76fd4f3bf5a63ba788a9d',1807348);
INSERT INTO _sqlx_migrations VALUES(2,'events','2026-11-25 19:50:06',1,X'6f2064914e1f1c1783fcd9826a5e40e4e8e3a13a1c775556e56ad9c1802bec117b087e2602415929cc296a266c36f4aa',530747);
CREATE TABLE record (
    seq        INTEGER PRIMARY KEY,
    id         TEXT NOT NULL UNIQUE,
    kind       TEXT NOT NULL,
    subject    TEXT NOT NULL,
    supersedes TEXT UNIQUE REFERENCES record (id),
    hash       TEXT NOT NULL,
    content    TEXT NOT NULL
) STRICT;
INSERT INTO record VALUES(1,'01a21442-19cb-712c-8a75-43fa42011206','opening','01a21442-19c9-711c-8b0d-abc01de64cfd',NULL,'fc83f7a60e8498906b4355c1c99277a509c2100c5341927600fad4b18877f820','{"format":1,"id":"01a21442-19cb-712c-8a75-43fa42011206","kind":"opening","payload":{"program":"meltrange 0.1.0","title":"Form 2"},"previous":null,"reason":null,"seq":1,"subject":"01a21442-19c9-711c-8b0d-abc01de64cfd","supersedes":null,"when":"2026-11-25T19:50:06.025539+00:00","who":null}');
INSERT INTO record VALUES(2,'01a21442-19cb-712c-8a75-43fb1708bd3f','person','01a21442-19c9-711c-8b0d-abbfddab87e5',NULL,'1ec8f9c1d93cc85d6212d2e1ede0ecbad38ed05ba3eba98e8df97686d745c7f8','{"format":1,"id":"01a21442-19cb-712c-8a75-43fb1708bd3f","kind":"person","payload":{"name":"R. Amsel","role":"supervisor"},"previous":"fc83f7a60e8498906b4355c1c99277a509c2100c5341927600fad4b18877f820","reason":null,"seq":2,"subject":"01a21442-19c9-711c-8b0d-abbfddab87e5","supersedes":null,"when":"2026-11-25T19:50:06.027555+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
INSERT INTO record VALUES(3,'01a21442-19cc-728a-9091-5282c038b183','sample','01a21442-19cc-728a-9091-52815ebd678d',NULL,'0e873c96a2ed0499c649fdec88412b7c71edb4487e7f55e3790a42a2725a977f','{"format":1,"id":"01a21442-19cc-728a-9091-5282c038b183","kind":"sample","payload":{"expected_substance":"acetanilide","hazards":null,"label":"U-1","origin":null,"preparation":{"column_height_mm":null,"dried":null,"ground":null,"solvent":null},"remarks":null},"previous":"1ec8f9c1d93cc85d6212d2e1ede0ecbad38ed05ba3eba98e8df97686d745c7f8","reason":null,"seq":3,"subject":"01a21442-19cc-728a-9091-52815ebd678d","supersedes":null,"when":"2026-11-25T19:50:06.028043+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
INSERT INTO record VALUES(4,'01a21442-19cf-7728-bbfc-6725fbfabecd','bench','01a21442-19cf-7728-bbfc-6724da0432f6',NULL,'21a1f6840183befa7160ebf20b1477dab8bf782db6c1d21a455c8c8bdc9c7aa5','{"format":1,"id":"01a21442-19cf-7728-bbfc-6725fbfabecd","kind":"bench","payload":{"name":"Bench 2","places":3,"thermometer":null,"thermometer_due":null},"previous":"0e873c96a2ed0499c649fdec88412b7c71edb4487e7f55e3790a42a2725a977f","reason":null,"seq":4,"subject":"01a21442-19cf-7728-bbfc-6724da0432f6","supersedes":null,"when":"2026-11-25T19:50:06.031515+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
INSERT INTO record VALUES(5,'01a21442-19f0-72ec-a4dd-4051225767c9','run','01a21442-19f0-72ec-a4dd-4050b2583b20',NULL,'2c19397a68ce59877bdaa74b9fde97a49bb4d5260dae18c6a1615e746c719dcb','{"format":1,"id":"01a21442-19f0-72ec-a4dd-4051225767c9","kind":"run","payload":{"bench":"01a21442-19cf-7728-bbfc-6724da0432f6","load":[{"place":1,"sample":"01a21442-19cc-728a-9091-52815ebd678d"}],"programme":{"legs":[{"kind":"approach","to_c":110},{"kind":"soak","minutes":3},{"kind":"attend"},{"kind":"scan","rate_c_per_min":1,"to_c":117},{"kind":"cool","to_c":93}],"purpose":"measuring"},"remarks":null,"state":"under_way"},"previous":"21a1f6840183befa7160ebf20b1477dab8bf782db6c1d21a455c8c8bdc9c7aa5","reason":null,"seq":5,"subject":"01a21442-19f0-72ec-a4dd-4050b2583b20","supersedes":null,"when":"2026-11-25T19:50:06.064606+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
INSERT INTO record VALUES(6,'01a21442-19f1-75fa-81b5-038f38a1f639','event','01a21442-19f1-75fa-81b5-038c3d8a2662',NULL,'191c477a4cbaf6b1aba694541a4cb4b0fe36ebc928dbf2f9ba4d8e72dce86def','{"format":1,"id":"01a21442-19f1-75fa-81b5-038f38a1f639","kind":"event","payload":{"run":"01a21442-19f0-72ec-a4dd-4050b2583b20","text":"approach","time_s":0,"what":"leg"},"previous":"2c19397a68ce59877bdaa74b9fde97a49bb4d5260dae18c6a1615e746c719dcb","reason":null,"seq":6,"subject":"01a21442-19f1-75fa-81b5-038c3d8a2662","supersedes":null,"when":"2026-11-25T19:50:06.065729+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
INSERT INTO record VALUES(7,'01a21442-19f2-74bb-80ea-ca1b6c290083','event','01a21442-19f1-75fa-81b5-038d397e51a4',NULL,'0b0b9de24b4ff616e040e654917b9da0e89002066d02584125472b1fc820b88d','{"format":1,"id":"01a21442-19f2-74bb-80ea-ca1b6c290083","kind":"event","payload":{"run":"01a21442-19f0-72ec-a4dd-4050b2583b20","text":"tube 1: first liquid","time_s":412.5,"what":"called"},"previous":"191c477a4cbaf6b1aba694541a4cb4b0fe36ebc928dbf2f9ba4d8e72dce86def","reason":null,"seq":7,"subject":"01a21442-19f1-75fa-81b5-038d397e51a4","supersedes":null,"when":"2026-11-25T19:50:06.065729+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
INSERT INTO record VALUES(8,'01a21442-19f2-74bb-80ea-ca1c36a3b359','event','01a21442-19f1-75fa-81b5-038e757fc171',NULL,'02a18e14214cf9e97af158442a1f8f8f973edebe699934e537e583b058ecda52','{"format":1,"id":"01a21442-19f2-74bb-80ea-ca1c36a3b359","kind":"event","payload":{"run":"01a21442-19f0-72ec-a4dd-4050b2583b20","text":"tube 1: first liquid","time_s":413.25,"what":"marked"},"previous":"0b0b9de24b4ff616e040e654917b9da0e89002066d02584125472b1fc820b88d","reason":null,"seq":8,"subject":"01a21442-19f1-75fa-81b5-038e757fc171","supersedes":null,"when":"2026-11-25T19:50:06.065729+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
INSERT INTO record VALUES(9,'01a21442-19f2-74bb-80ea-ca1d88cae916','run','01a21442-19f0-72ec-a4dd-4050b2583b20','01a21442-19f0-72ec-a4dd-4051225767c9','2461d6aebff35a199fe5d944fe5359442a17e3b18ecfcd616c26f95b8efd40eb','{"format":1,"id":"01a21442-19f2-74bb-80ea-ca1d88cae916","kind":"run","payload":{"bench":"01a21442-19cf-7728-bbfc-6724da0432f6","load":[{"place":1,"sample":"01a21442-19cc-728a-9091-52815ebd678d"}],"programme":{"legs":[{"kind":"approach","to_c":110},{"kind":"soak","minutes":3},{"kind":"attend"},{"kind":"scan","rate_c_per_min":1,"to_c":117},{"kind":"cool","to_c":93}],"purpose":"measuring"},"remarks":null,"state":"ended"},"previous":"02a18e14214cf9e97af158442a1f8f8f973edebe699934e537e583b058ecda52","reason":null,"seq":9,"subject":"01a21442-19f0-72ec-a4dd-4050b2583b20","supersedes":"01a21442-19f0-72ec-a4dd-4051225767c9","when":"2026-11-25T19:50:06.066672+00:00","who":"01a21442-19c9-711c-8b0d-abbfddab87e5"}');
CREATE TABLE attachment (
    sha256 TEXT PRIMARY KEY,
    bytes  BLOB NOT NULL
) STRICT;
CREATE TABLE person (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    role     TEXT NOT NULL
) STRICT;
INSERT INTO person VALUES(2,'01a21442-19c9-711c-8b0d-abbfddab87e5',2,'R. Amsel','r. amsel','supervisor');
CREATE TABLE bench (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    due      TEXT
) STRICT;
INSERT INTO bench VALUES(4,'01a21442-19cf-7728-bbfc-6724da0432f6',4,'Bench 2','bench 2',NULL);
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
INSERT INTO sample VALUES(3,'01a21442-19cc-728a-9091-52815ebd678d',3,'U-1','u-1','u-000000000001',NULL,'acetanilide',NULL,replace('u-1\nacetanilide','\n',char(10)),'2026-11-25T19:50:06.028043+00:00','unread',0,NULL);
CREATE TABLE run (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    begun   TEXT NOT NULL,
    state   TEXT NOT NULL
) STRICT;
INSERT INTO run VALUES(5,'01a21442-19f0-72ec-a4dd-4050b2583b20',9,'2026-11-25T19:50:06.064606+00:00','ended');
CREATE TABLE run_tube (
    run    TEXT NOT NULL,
    place  INTEGER NOT NULL,
    sample TEXT,
    PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
INSERT INTO run_tube VALUES('01a21442-19f0-72ec-a4dd-4050b2583b20',1,'01a21442-19cc-728a-9091-52815ebd678d');
CREATE TABLE recording (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    run      TEXT NOT NULL,
    begun    TEXT NOT NULL,
    state    TEXT NOT NULL,
    readings INTEGER NOT NULL
) STRICT;
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
CREATE TABLE determination (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL,
    agreed  INTEGER NOT NULL,
    range_text TEXT NOT NULL
) STRICT;
CREATE TABLE event (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    run     TEXT NOT NULL
) STRICT;
INSERT INTO event VALUES(6,'01a21442-19f1-75fa-81b5-038c3d8a2662',6,'01a21442-19f0-72ec-a4dd-4050b2583b20');
INSERT INTO event VALUES(7,'01a21442-19f1-75fa-81b5-038d397e51a4',7,'01a21442-19f0-72ec-a4dd-4050b2583b20');
INSERT INTO event VALUES(8,'01a21442-19f1-75fa-81b5-038e757fc171',8,'01a21442-19f0-72ec-a4dd-4050b2583b20');
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
CREATE INDEX event_run ON event (run, first);
COMMIT;
