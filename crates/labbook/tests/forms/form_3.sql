-- A book of form 3: benches, standards, checks, a calibration that was withdrawn, a check that is void. Never edited.
BEGIN TRANSACTION;
CREATE TABLE _sqlx_migrations (
    version BIGINT PRIMARY KEY,
    description TEXT NOT NULL,
    installed_on TIMESTAMP NOT NULL DEFAULT CURRENT_TIMESTAMP,
    success BOOLEAN NOT NULL,
    checksum BLOB NOT NULL,
    execution_time BIGINT NOT NULL
);
INSERT INTO _sqlx_migrations VALUES(1,'records and state','2026-11-25 23:57:43',1,X'0235b756d44d371dd1e426388ad35178fb7aa9d38f503735baa9dd7342206493487d328b17d76fd4f3bf5a63ba788a9d',6192175);
INSERT INTO _sqlx_migrations VALUES(2,'events','2026-11-25 23:57:43',1,X'6f2064914e1f1c1783fcd9826a5e40e4e8e3a13a1c775556e56ad9c1802bec117b087e2602415929cc296a266c36f4aa',1067211);
INSERT INTO _sqlx_migrations VALUES(3,'thermometers','2026-11-25 23:57:43',1,X'6f7bd7f9bdeaf0107ddab7c5b1cb81b9e828388cf3b385a05dc95e8c24e36f369e73d79a450e1d38e8c0a59175a2fc63',3680533);
CREATE TABLE record (
    seq        INTEGER PRIMARY KEY,
    id         TEXT NOT NULL UNIQUE,
    kind       TEXT NOT NULL,
    subject    TEXT NOT NULL,
    supersedes TEXT UNIQUE REFERENCES record (id),
    hash       TEXT NOT NULL,
    content    TEXT NOT NULL
) STRICT;
INSERT INTO record VALUES(1,'01a21524-cf75-72cf-9872-bf3fb19ce74a','opening','01a21524-cf6f-766f-b5a3-fd41c1120ca1',NULL,'52c621f98e330ef65c5aa8d23c1e51ebe93fcee962924b15f36f740b1d2814d4','{"format":1,"id":"01a21524-cf75-72cf-9872-bf3fb19ce74a","kind":"opening","payload":{"program":"meltrange 0.1.0","title":"Evening practical"},"previous":null,"reason":null,"seq":1,"subject":"01a21524-cf6f-766f-b5a3-fd41c1120ca1","supersedes":null,"when":"2026-11-25T23:57:43.663419+00:00","who":null}');
INSERT INTO record VALUES(2,'01a21524-cf76-77e9-85ac-39346580254a','person','01a21524-cf6f-766f-b5a3-fd40f5796c10',NULL,'bcc361c5c2d2feb404421cae93ddb6e9e854e5983bc2edbb35b3ecb40520b4b9','{"format":1,"id":"01a21524-cf76-77e9-85ac-39346580254a","kind":"person","payload":{"name":"R. Amsel","role":"supervisor"},"previous":"52c621f98e330ef65c5aa8d23c1e51ebe93fcee962924b15f36f740b1d2814d4","reason":null,"seq":2,"subject":"01a21524-cf6f-766f-b5a3-fd40f5796c10","supersedes":null,"when":"2026-11-25T23:57:43.670455+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(3,'01a21524-cf77-7680-911b-fc50523517c8','bench','01a21524-cf77-7680-911b-fc4f1a00c641',NULL,'ca0d4ecdf3568c0778f4f406a15c6199a085214fdd970d28af928352a57315e6','{"format":1,"id":"01a21524-cf77-7680-911b-fc50523517c8","kind":"bench","payload":{"check_every_days":30,"max_c":250,"name":"Bench A","places":3,"thermometer":null,"thermometer_due":null},"previous":"bcc361c5c2d2feb404421cae93ddb6e9e854e5983bc2edbb35b3ecb40520b4b9","reason":null,"seq":3,"subject":"01a21524-cf77-7680-911b-fc4f1a00c641","supersedes":null,"when":"2026-11-25T23:57:43.671383+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(4,'01a21524-cf78-745c-bae3-7fef75436c53','standard','01a21524-cf78-745c-bae3-7fee478d457d',NULL,'0161a4d399c5e26f735d087c072955c6d2a8496426b56e0f6ef49b1fd5a402ba','{"format":1,"id":"01a21524-cf78-745c-bae3-7fef75436c53","kind":"standard","payload":{"cas":null,"cautions":null,"convention":{"kind":"at_rate","rate_c_per_min":1},"end":"last_crystal","expires":null,"lot":"7","reference_c":95,"remarks":null,"retired":false,"source":"label","standard_uncertainty_c":0.1,"substance":"benzil"},"previous":"ca0d4ecdf3568c0778f4f406a15c6199a085214fdd970d28af928352a57315e6","reason":null,"seq":4,"subject":"01a21524-cf78-745c-bae3-7fee478d457d","supersedes":null,"when":"2026-11-25T23:57:43.672522+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(5,'01a21524-cf79-71f8-b120-704d4c375137','standard','01a21524-cf79-71f8-b120-704c495670ce',NULL,'d66ac8782013b8bb8e4befebe5d4ece8ce0d8a362663f3fdcd647fb7df1cbd25','{"format":1,"id":"01a21524-cf79-71f8-b120-704d4c375137","kind":"standard","payload":{"cas":null,"cautions":null,"convention":{"kind":"at_rate","rate_c_per_min":1},"end":"last_crystal","expires":null,"lot":"7","reference_c":133,"remarks":null,"retired":false,"source":"label","standard_uncertainty_c":0.1,"substance":"urea"},"previous":"0161a4d399c5e26f735d087c072955c6d2a8496426b56e0f6ef49b1fd5a402ba","reason":null,"seq":5,"subject":"01a21524-cf79-71f8-b120-704c495670ce","supersedes":null,"when":"2026-11-25T23:57:43.673333+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(6,'01a21524-cf7a-7210-aa30-8c7207e5c654','standard','01a21524-cf7a-7210-aa30-8c7195405d6d',NULL,'9655034f3194d4d8d61fea4dc3a715ae969f6a4fd181e9104e1b43d6aa7100bc','{"format":1,"id":"01a21524-cf7a-7210-aa30-8c7207e5c654","kind":"standard","payload":{"cas":null,"cautions":null,"convention":{"kind":"at_rate","rate_c_per_min":1},"end":"last_crystal","expires":null,"lot":"7","reference_c":82,"remarks":null,"retired":false,"source":"label","standard_uncertainty_c":0.1,"substance":"vanillin"},"previous":"d66ac8782013b8bb8e4befebe5d4ece8ce0d8a362663f3fdcd647fb7df1cbd25","reason":null,"seq":6,"subject":"01a21524-cf7a-7210-aa30-8c7195405d6d","supersedes":null,"when":"2026-11-25T23:57:43.674095+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(7,'01a21524-cf7b-747f-b460-dac5f7ab519d','check','01a21524-cf7a-7210-aa30-8c73b3cf0f5e',NULL,'fc58001075bacc2149a56bb73fb49525d037845482a5d816908d13bf252d8525','{"format":1,"id":"01a21524-cf7b-747f-b460-dac5f7ab519d","kind":"check","payload":{"bench":"01a21524-cf77-7680-911b-fc4f1a00c641","from":null,"heating_rate_c_per_min":1,"indicated_c":132.4,"made_on":"2026-05-02","remarks":null,"standard":"01a21524-cf79-71f8-b120-704c495670ce","standard_uncertainty_c":null,"thermometer":null,"void":false},"previous":"9655034f3194d4d8d61fea4dc3a715ae969f6a4fd181e9104e1b43d6aa7100bc","reason":null,"seq":7,"subject":"01a21524-cf7a-7210-aa30-8c73b3cf0f5e","supersedes":null,"when":"2026-11-25T23:57:43.674889+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(8,'01a21524-cf7c-7778-bdd4-2cb9f133aa51','check','01a21524-cf7c-7778-bdd4-2cb8f4bb717e',NULL,'a10c0f63613043334e50d8e3ef3534259b343f994ab08b4ffd28450de5bb7fd5','{"format":1,"id":"01a21524-cf7c-7778-bdd4-2cb9f133aa51","kind":"check","payload":{"bench":"01a21524-cf77-7680-911b-fc4f1a00c641","from":null,"heating_rate_c_per_min":1,"indicated_c":94.5,"made_on":"2026-05-01","remarks":null,"standard":"01a21524-cf78-745c-bae3-7fee478d457d","standard_uncertainty_c":null,"thermometer":null,"void":false},"previous":"fc58001075bacc2149a56bb73fb49525d037845482a5d816908d13bf252d8525","reason":null,"seq":8,"subject":"01a21524-cf7c-7778-bdd4-2cb8f4bb717e","supersedes":null,"when":"2026-11-25T23:57:43.676466+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(9,'01a21524-cf7f-751a-8f31-4b55ed2fa23f','calibration','01a21524-cf7f-751a-8f31-4b5489231fe5',NULL,'4f73da0f3612e8f5c8084c53242c93ed0e163de85e512aa746fef727bb07184c','{"format":1,"id":"01a21524-cf7f-751a-8f31-4b55ed2fa23f","kind":"calibration","payload":{"bench":"01a21524-cf77-7680-911b-fc4f1a00c641","curve":{"coefficients":[0.5],"convention":{"kind":"thermodynamic"},"covariance":[[0.01]],"degree":0,"degrees_of_freedom":0,"origin_c":95,"residual_sd_c":null,"standard_uncertainties":[0.1],"uncertainty_from":"stated","valid_from_c":94.5,"valid_to_c":94.5},"degree_because":"asked for","in_force_from":"2026-05-02","points":[{"certificate":"not_stated","check":"01a21524-cf7c-7778-bdd4-2cb8f4bb717e","indicated_c":94.5,"indicated_u_c":null,"reference_c":95,"reference_u_c":0.1,"residual_c":0,"standard":"01a21524-cf78-745c-bae3-7fee478d457d","substance":"benzil","suspect":false,"used":true}],"remarks":[],"thermometer":null,"withdrawn":false},"previous":"a10c0f63613043334e50d8e3ef3534259b343f994ab08b4ffd28450de5bb7fd5","reason":null,"seq":9,"subject":"01a21524-cf7f-751a-8f31-4b5489231fe5","supersedes":null,"when":"2026-11-25T23:57:43.679342+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(10,'01a21524-cf85-7253-8c55-2db1163e1baa','calibration','01a21524-cf7f-751a-8f31-4b5489231fe5','01a21524-cf7f-751a-8f31-4b55ed2fa23f','a313586d71ee68a927b7839d3c29e8b9580f52ab62d7015661aad7f4cf1cfcd0','{"format":1,"id":"01a21524-cf85-7253-8c55-2db1163e1baa","kind":"calibration","payload":{"bench":"01a21524-cf77-7680-911b-fc4f1a00c641","curve":{"coefficients":[0.5],"convention":{"kind":"thermodynamic"},"covariance":[[0.01]],"degree":0,"degrees_of_freedom":0,"origin_c":95,"residual_sd_c":null,"standard_uncertainties":[0.1],"uncertainty_from":"stated","valid_from_c":94.5,"valid_to_c":94.5},"degree_because":"asked for","in_force_from":"2026-05-02","points":[{"certificate":"not_stated","check":"01a21524-cf7c-7778-bdd4-2cb8f4bb717e","indicated_c":94.5,"indicated_u_c":null,"reference_c":95,"reference_u_c":0.1,"residual_c":0,"standard":"01a21524-cf78-745c-bae3-7fee478d457d","substance":"benzil","suspect":false,"used":true}],"remarks":[],"thermometer":null,"withdrawn":true},"previous":"4f73da0f3612e8f5c8084c53242c93ed0e163de85e512aa746fef727bb07184c","reason":"the lot was mixed up","seq":10,"subject":"01a21524-cf7f-751a-8f31-4b5489231fe5","supersedes":"01a21524-cf7f-751a-8f31-4b55ed2fa23f","when":"2026-11-25T23:57:43.685008+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
INSERT INTO record VALUES(11,'01a21524-cf86-7154-90ab-a0a5b468bdd9','check','01a21524-cf7a-7210-aa30-8c73b3cf0f5e','01a21524-cf7b-747f-b460-dac5f7ab519d','178f473a709e1fb4fc6b4882b578dd8edacc6c2026835c2376930609ae7decaf','{"format":1,"id":"01a21524-cf86-7154-90ab-a0a5b468bdd9","kind":"check","payload":{"bench":"01a21524-cf77-7680-911b-fc4f1a00c641","from":null,"heating_rate_c_per_min":1,"indicated_c":132.4,"made_on":"2026-05-02","remarks":null,"standard":"01a21524-cf79-71f8-b120-704c495670ce","standard_uncertainty_c":null,"thermometer":null,"void":true},"previous":"a313586d71ee68a927b7839d3c29e8b9580f52ab62d7015661aad7f4cf1cfcd0","reason":"read off the wrong scale","seq":11,"subject":"01a21524-cf7a-7210-aa30-8c73b3cf0f5e","supersedes":"01a21524-cf7b-747f-b460-dac5f7ab519d","when":"2026-11-25T23:57:43.685008+00:00","who":"01a21524-cf6f-766f-b5a3-fd40f5796c10"}');
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
INSERT INTO person VALUES(2,'01a21524-cf6f-766f-b5a3-fd40f5796c10',2,'R. Amsel','r. amsel','supervisor');
CREATE TABLE bench (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    due      TEXT
) STRICT;
INSERT INTO bench VALUES(3,'01a21524-cf77-7680-911b-fc4f1a00c641',3,'Bench A','bench a',NULL);
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
CREATE TABLE standard (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    retired INTEGER NOT NULL
) STRICT;
INSERT INTO standard VALUES(4,'01a21524-cf78-745c-bae3-7fee478d457d',4,0);
INSERT INTO standard VALUES(5,'01a21524-cf79-71f8-b120-704c495670ce',5,0);
INSERT INTO standard VALUES(6,'01a21524-cf7a-7210-aa30-8c7195405d6d',6,0);
CREATE TABLE thermometer_check (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    bench   TEXT NOT NULL,
    made_on TEXT NOT NULL,
    void    INTEGER NOT NULL
) STRICT;
INSERT INTO thermometer_check VALUES(7,'01a21524-cf7a-7210-aa30-8c73b3cf0f5e',11,'01a21524-cf77-7680-911b-fc4f1a00c641','2026-05-02',1);
INSERT INTO thermometer_check VALUES(8,'01a21524-cf7c-7778-bdd4-2cb8f4bb717e',8,'01a21524-cf77-7680-911b-fc4f1a00c641','2026-05-01',0);
CREATE TABLE calibration (
    first         INTEGER PRIMARY KEY,
    subject       TEXT NOT NULL UNIQUE,
    record        INTEGER NOT NULL,
    bench         TEXT NOT NULL,
    in_force_from TEXT NOT NULL,
    withdrawn     INTEGER NOT NULL
) STRICT;
INSERT INTO calibration VALUES(9,'01a21524-cf7f-751a-8f31-4b5489231fe5',10,'01a21524-cf77-7680-911b-fc4f1a00c641','2026-05-02',1);
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
CREATE INDEX thermometer_check_bench ON thermometer_check (bench, made_on, first);
CREATE INDEX calibration_bench ON calibration (bench, in_force_from, first);
CREATE INDEX record_run_bench ON record
    (CASE WHEN json_valid(content) THEN json_extract(content, '$.payload.bench') END)
    WHERE kind = 'run';
COMMIT;
