-- A book of form 5: a result signed off by a second person, taken back, signed again; a past result; records received from elsewhere. Its recording has no files. Never edited.
BEGIN TRANSACTION;
CREATE TABLE _sqlx_migrations (
    version BIGINT PRIMARY KEY,
    description TEXT NOT NULL,
    installed_on TIMESTAMP NOT NULL DEFAULT CURRENT_TIMESTAMP,
    success BOOLEAN NOT NULL,
    checksum BLOB NOT NULL,
    execution_time BIGINT NOT NULL
);
INSERT INTO _sqlx_migrations VALUES(1,'records and state','2026-11-26 15:05:33',1,X'0235b756d44d371dd1e426388ad35178fb7aa9d38f503735baa9dd7342206493487d328b17d76fd4f3bf5a63ba788a9d',1881147);
INSERT INTO _sqlx_migrations VALUES(2,'events','2026-11-26 15:05:33',1,X'6f2064914e1f1c1783fcd9826a5e40e4e8e3a13a1c775556e56ad9c1802bec117b087e2602415929cc296a266c36f4aa',534582);
INSERT INTO _sqlx_migrations VALUES(3,'thermometers','2026-11-26 15:05:33',1,X'6f7bd7f9bdeaf0107ddab7c5b1cb81b9e828388cf3b385a05dc95e8c24e36f369e73d79a450e1d38e8c0a59175a2fc63',788048);
INSERT INTO _sqlx_migrations VALUES(4,'verdicts','2026-11-26 15:05:33',1,X'b5536cae5e7f5b28d2b94713307ac38d405050f6aa1ac124122450e5bcaad71994fdbc105fefbaf0d9c0abd2fcf65585',586269);
INSERT INTO _sqlx_migrations VALUES(5,'sign-offs and past results','2026-11-26 15:05:33',1,X'ca873e82b08b802e7d00f6463a57c9cbde65a79f889057e652190c4fde219ceb1e5b1fd1bf6aee39cdc7d52d31dbcbfb',835538);
CREATE TABLE record (
    seq        INTEGER PRIMARY KEY,
    id         TEXT NOT NULL UNIQUE,
    kind       TEXT NOT NULL,
    subject    TEXT NOT NULL,
    supersedes TEXT UNIQUE REFERENCES record (id),
    hash       TEXT NOT NULL,
    content    TEXT NOT NULL
) STRICT;
INSERT INTO record VALUES(1,'01a21863-f327-74e5-bbc6-95a8f4591776','opening','01a21863-f326-70a9-8024-848c3c7de9ea',NULL,'c2bf07e4d60c7d06b288baddffcc7686c297a0b02ed6e0717bf82be87241d302','{"format":1,"id":"01a21863-f327-74e5-bbc6-95a8f4591776","kind":"opening","payload":{"program":"meltrange 0.1.0","title":"Evening practical"},"previous":null,"reason":null,"seq":1,"subject":"01a21863-f326-70a9-8024-848c3c7de9ea","supersedes":null,"when":"2026-11-26T15:05:33.22244+00:00","who":null}');
INSERT INTO record VALUES(2,'01a21863-f328-7125-9e52-feddea617efb','person','01a21863-f326-70a9-8024-848ba85a3c47',NULL,'6ee8fc2d39aa04a2dd149c71aa7ac7815a0edb2f1cf6994134a302d1c3b3c2a7','{"format":1,"id":"01a21863-f328-7125-9e52-feddea617efb","kind":"person","payload":{"name":"R. Amsel","role":"supervisor"},"previous":"c2bf07e4d60c7d06b288baddffcc7686c297a0b02ed6e0717bf82be87241d302","reason":null,"seq":2,"subject":"01a21863-f326-70a9-8024-848ba85a3c47","supersedes":null,"when":"2026-11-26T15:05:33.224185+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(3,'01a21863-f328-7125-9e52-fedf69fd3ff8','sample','01a21863-f328-7125-9e52-fede24dd2ef0',NULL,'cfc493f7576321e57a91e1a98962dc526eae76eb5ee02e7e980d76b7779a4f9c','{"format":1,"id":"01a21863-f328-7125-9e52-fedf69fd3ff8","kind":"sample","payload":{"expected_substance":"acetanilide","hazards":null,"label":"U-1","origin":"Imaginary College, store room","preparation":{"column_height_mm":null,"dried":null,"ground":null,"solvent":null},"remarks":null},"previous":"6ee8fc2d39aa04a2dd149c71aa7ac7815a0edb2f1cf6994134a302d1c3b3c2a7","reason":null,"seq":3,"subject":"01a21863-f328-7125-9e52-fede24dd2ef0","supersedes":null,"when":"2026-11-26T15:05:33.224764+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(4,'01a21863-f329-704b-a852-a1af9de6cb66','run','01a21863-f329-704b-a852-a1ad66c6c34b',NULL,'dced69944d34a7da700101bbe1802e41f16d853f768e91020568a3a5c6db55ec','{"format":1,"id":"01a21863-f329-704b-a852-a1af9de6cb66","kind":"run","payload":{"bench":null,"load":[{"place":1,"sample":"01a21863-f328-7125-9e52-fede24dd2ef0"}],"remarks":null,"state":"ended"},"previous":"cfc493f7576321e57a91e1a98962dc526eae76eb5ee02e7e980d76b7779a4f9c","reason":null,"seq":4,"subject":"01a21863-f329-704b-a852-a1ad66c6c34b","supersedes":null,"when":"2026-11-26T15:05:33.225423+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(5,'01a21863-f32a-74b3-a1b4-dcc611b6f9cc','recording','01a21863-f329-704b-a852-a1aed6ad08fb',NULL,'697effc92751b51f10af5ba1203e539ce73c4daaa10f9510df23af57c84f8a02','{"format":1,"id":"01a21863-f32a-74b3-a1b4-dcc611b6f9cc","kind":"recording","payload":{"end":{"cut":false,"end_s":null,"frames":0,"highest_c":null,"lowest_c":null,"manifest":"44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a","start_s":null},"run":"01a21863-f329-704b-a852-a1ad66c6c34b","source":{"from":"camera"}},"previous":"dced69944d34a7da700101bbe1802e41f16d853f768e91020568a3a5c6db55ec","reason":null,"seq":5,"subject":"01a21863-f329-704b-a852-a1aed6ad08fb","supersedes":null,"when":"2026-11-26T15:05:33.225423+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(6,'01a21863-f32b-703f-bab3-98f0607265a7','reading','01a21863-f32b-703f-bab3-98ef02266863',NULL,'97a18f74fc73eb5e8539a9dadda8338c9f1f75fd7ef1a14376ef701455ff6388','{"format":1,"id":"01a21863-f32b-703f-bab3-98f0607265a7","kind":"reading","payload":{"curves":null,"notes":[],"quality":[],"reader":{"by":"engine","program":"meltrange 0.1.0"},"recording":"01a21863-f329-704b-a852-a1aed6ad08fb","tubes":[{"first_liquid":{"standard_uncertainty_c":0.1,"temperature_c":113.4,"time_s":100},"frame_px":null,"heating_rate_c_per_min":1,"last_crystal":{"standard_uncertainty_c":0.1,"temperature_c":114.3,"time_s":160},"outcome":"melted","place":1,"remarks":[],"sample":"01a21863-f328-7125-9e52-fede24dd2ef0"}]},"previous":"697effc92751b51f10af5ba1203e539ce73c4daaa10f9510df23af57c84f8a02","reason":null,"seq":6,"subject":"01a21863-f32b-703f-bab3-98ef02266863","supersedes":null,"when":"2026-11-26T15:05:33.227034+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(7,'01a21863-f32c-73d1-ab7a-ace4f32fd7a9','determination','01a21863-f32c-73d1-ab7a-ace3764b2067',NULL,'897111b5bde982adf0318e71d4b3eace1f22b51975f503b62ef67534857a24b7','{"format":1,"id":"01a21863-f32c-73d1-ab7a-ace4f32fd7a9","kind":"determination","payload":{"agreed":false,"convention":"as_logged","first_liquid":null,"from":[{"place":1,"reading":"01a21863-f32b-703f-bab3-98ef02266863"}],"further_runs_needed":1,"last_crystal":null,"range_text":"113.4–114.3 °C (uncorrected)","sample":"01a21863-f328-7125-9e52-fede24dd2ef0","spread_c":null},"previous":"97a18f74fc73eb5e8539a9dadda8338c9f1f75fd7ef1a14376ef701455ff6388","reason":null,"seq":7,"subject":"01a21863-f32c-73d1-ab7a-ace3764b2067","supersedes":null,"when":"2026-11-26T15:05:33.228301+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(8,'01a21863-f32d-7769-8ac1-3513c3a1b72a','person','01a21863-f32d-7769-8ac1-3512119eebbf',NULL,'9482e739a75b06e7daf9bca1f1847292b095d717b0a9e44b3402c23bfbbd9242','{"format":1,"id":"01a21863-f32d-7769-8ac1-3513c3a1b72a","kind":"person","payload":{"name":"S. Drossel","role":"analyst"},"previous":"897111b5bde982adf0318e71d4b3eace1f22b51975f503b62ef67534857a24b7","reason":null,"seq":8,"subject":"01a21863-f32d-7769-8ac1-3512119eebbf","supersedes":null,"when":"2026-11-26T15:05:33.229045+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(9,'01a21863-f32d-7769-8ac1-351518567d2a','person','01a21863-f32d-7769-8ac1-35148ad4b15e',NULL,'78bba2f989a47fb4c5f72524fb13dbfc9889ceee27f57bd3a44a1d45f847fe4b','{"format":1,"id":"01a21863-f32d-7769-8ac1-351518567d2a","kind":"person","payload":{"name":"T. Meise","role":"student"},"previous":"9482e739a75b06e7daf9bca1f1847292b095d717b0a9e44b3402c23bfbbd9242","reason":null,"seq":9,"subject":"01a21863-f32d-7769-8ac1-35148ad4b15e","supersedes":null,"when":"2026-11-26T15:05:33.22958+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(10,'01a21863-f32f-73cf-8242-963de265ef1b','sign_off','01a21863-f32e-71cd-aaab-ec38cb8c88bd',NULL,'80d843f91614cd2cd8802b40895025394264e06890ea2a8385979c4dbb8e2379','{"format":1,"id":"01a21863-f32f-73cf-8242-963de265ef1b","kind":"sign_off","payload":{"determination":"01a21863-f32c-73d1-ab7a-ace3764b2067","meaning":"reviewed_and_approved","range_text":"113.4–114.3 °C (uncorrected)","result_record":"01a21863-f32c-73d1-ab7a-ace4f32fd7a9","sample":"01a21863-f328-7125-9e52-fede24dd2ef0","sample_record":"01a21863-f328-7125-9e52-fedf69fd3ff8","statement":"pictures looked through","verdict_record":null,"withdrawn":false},"previous":"78bba2f989a47fb4c5f72524fb13dbfc9889ceee27f57bd3a44a1d45f847fe4b","reason":null,"seq":10,"subject":"01a21863-f32e-71cd-aaab-ec38cb8c88bd","supersedes":null,"when":"2026-11-26T15:05:33.23018+00:00","who":"01a21863-f32d-7769-8ac1-3512119eebbf"}');
INSERT INTO record VALUES(11,'01a21863-f32f-73cf-8242-963e0c14f436','sign_off','01a21863-f32e-71cd-aaab-ec38cb8c88bd','01a21863-f32f-73cf-8242-963de265ef1b','d0b8b10972c73b0ee4ad51f3aae3996c3b1d43a1003db07b77d0a70a7ba74af0','{"format":1,"id":"01a21863-f32f-73cf-8242-963e0c14f436","kind":"sign_off","payload":{"determination":"01a21863-f32c-73d1-ab7a-ace3764b2067","meaning":"reviewed_and_approved","range_text":"113.4–114.3 °C (uncorrected)","result_record":"01a21863-f32c-73d1-ab7a-ace4f32fd7a9","sample":"01a21863-f328-7125-9e52-fede24dd2ef0","sample_record":"01a21863-f328-7125-9e52-fedf69fd3ff8","statement":"pictures looked through","verdict_record":null,"withdrawn":true},"previous":"80d843f91614cd2cd8802b40895025394264e06890ea2a8385979c4dbb8e2379","reason":"the second picture is of another tube","seq":11,"subject":"01a21863-f32e-71cd-aaab-ec38cb8c88bd","supersedes":"01a21863-f32f-73cf-8242-963de265ef1b","when":"2026-11-26T15:05:33.231665+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
INSERT INTO record VALUES(12,'01a21863-f330-704a-99a5-ff2789bacdca','sign_off','01a21863-f330-704a-99a5-ff2619ae398f',NULL,'53465e155f28bf62d671a5a1fde692b425a04b73fb887aa45f59035e8a2c0ebe','{"format":1,"id":"01a21863-f330-704a-99a5-ff2789bacdca","kind":"sign_off","payload":{"determination":"01a21863-f32c-73d1-ab7a-ace3764b2067","meaning":"reviewed_and_approved","range_text":"113.4–114.3 °C (uncorrected)","result_record":"01a21863-f32c-73d1-ab7a-ace4f32fd7a9","sample":"01a21863-f328-7125-9e52-fede24dd2ef0","sample_record":"01a21863-f328-7125-9e52-fedf69fd3ff8","statement":"pictures looked through","verdict_record":null,"withdrawn":false},"previous":"d0b8b10972c73b0ee4ad51f3aae3996c3b1d43a1003db07b77d0a70a7ba74af0","reason":null,"seq":12,"subject":"01a21863-f330-704a-99a5-ff2619ae398f","supersedes":null,"when":"2026-11-26T15:05:33.232276+00:00","who":"01a21863-f32d-7769-8ac1-3512119eebbf"}');
INSERT INTO record VALUES(13,'01a21863-f331-71ac-bddd-9f493ce78779','past_result','01a21863-f331-71ac-bddd-9f489a4542ef',NULL,'821524c44235fe1ed3ab9e9b579cba6cf2e68521504f0ba1d5ddec0285c62aec','{"format":1,"id":"01a21863-f331-71ac-bddd-9f493ce78779","kind":"past_result","payload":{"above":false,"as_written":"113-114,5","by":"E. Zeisig","decomposed":false,"file_name":"past.csv","from_c":113,"heating_rate_c_per_min":1,"line":2,"mark":"uncorrected","measured_on":"2019-03-12","remarks":null,"sample":"01a21863-f328-7125-9e52-fede24dd2ef0","source":"notebook 12, page 34","to_c":114.5,"void":false},"previous":"53465e155f28bf62d671a5a1fde692b425a04b73fb887aa45f59035e8a2c0ebe","reason":null,"seq":13,"subject":"01a21863-f331-71ac-bddd-9f489a4542ef","supersedes":null,"when":"2026-11-26T15:05:33.233263+00:00","who":"01a21863-f32d-7769-8ac1-35148ad4b15e"}');
INSERT INTO record VALUES(14,'01a21863-f331-71ac-bddd-9f4b24cce503','received','01a21863-f331-71ac-bddd-9f4a40cb7a3b',NULL,'aa941a1882a07bfda2fd8e51ac16642a994057bca8757c2a0f86cc53d18cc342','{"format":1,"id":"01a21863-f331-71ac-bddd-9f4b24cce503","kind":"received","payload":{"head_hash":"361e48d0308f20e32dba5fb56328baf18d72ef0ccb43b84f5c262d2a6a1fc6c8","head_seq":7,"records":0,"records_sha256":"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855","sample":null,"title":"Morning practical"},"previous":"821524c44235fe1ed3ab9e9b579cba6cf2e68521504f0ba1d5ddec0285c62aec","reason":null,"seq":14,"subject":"01a21863-f331-71ac-bddd-9f4a40cb7a3b","supersedes":null,"when":"2026-11-26T15:05:33.233818+00:00","who":"01a21863-f326-70a9-8024-848ba85a3c47"}');
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
INSERT INTO person VALUES(2,'01a21863-f326-70a9-8024-848ba85a3c47',2,'R. Amsel','r. amsel','supervisor');
INSERT INTO person VALUES(8,'01a21863-f32d-7769-8ac1-3512119eebbf',8,'S. Drossel','s. drossel','analyst');
INSERT INTO person VALUES(9,'01a21863-f32d-7769-8ac1-35148ad4b15e',9,'T. Meise','t. meise','student');
CREATE TABLE bench (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    name     TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    due      TEXT
) STRICT;
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
INSERT INTO sample VALUES(3,'01a21863-f328-7125-9e52-fede24dd2ef0',3,'U-1','u-1','u-000000000001','Imaginary College, store room','acetanilide',NULL,replace('u-1\nimaginary college, store room\nacetanilide','\n',char(10)),'2026-11-26T15:05:33.224764+00:00','not_agreed',1,'113.4–114.3 °C (uncorrected)');
CREATE TABLE run (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    begun   TEXT NOT NULL,
    state   TEXT NOT NULL
) STRICT;
INSERT INTO run VALUES(4,'01a21863-f329-704b-a852-a1ad66c6c34b',4,'2026-11-26T15:05:33.225423+00:00','ended');
CREATE TABLE run_tube (
    run    TEXT NOT NULL,
    place  INTEGER NOT NULL,
    sample TEXT,
    PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
INSERT INTO run_tube VALUES('01a21863-f329-704b-a852-a1ad66c6c34b',1,'01a21863-f328-7125-9e52-fede24dd2ef0');
CREATE TABLE recording (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    run      TEXT NOT NULL,
    begun    TEXT NOT NULL,
    state    TEXT NOT NULL,
    readings INTEGER NOT NULL
) STRICT;
INSERT INTO recording VALUES(5,'01a21863-f329-704b-a852-a1aed6ad08fb',5,'01a21863-f329-704b-a852-a1ad66c6c34b','2026-11-26T15:05:33.225423+00:00','read',1);
CREATE TABLE reading (
    first     INTEGER PRIMARY KEY,
    subject   TEXT NOT NULL UNIQUE,
    record    INTEGER NOT NULL,
    recording TEXT NOT NULL,
    by_engine INTEGER NOT NULL
) STRICT;
INSERT INTO reading VALUES(6,'01a21863-f32b-703f-bab3-98ef02266863',6,'01a21863-f329-704b-a852-a1aed6ad08fb',1);
CREATE TABLE reading_tube (
    reading  TEXT NOT NULL,
    place    INTEGER NOT NULL,
    sample   TEXT,
    -- Number of the latest confirmation or override.
    decision INTEGER,
    PRIMARY KEY (reading, place)
) STRICT, WITHOUT ROWID;
INSERT INTO reading_tube VALUES('01a21863-f32b-703f-bab3-98ef02266863',1,'01a21863-f328-7125-9e52-fede24dd2ef0',NULL);
CREATE TABLE determination (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL,
    agreed  INTEGER NOT NULL,
    range_text TEXT NOT NULL
) STRICT;
INSERT INTO determination VALUES(7,'01a21863-f32c-73d1-ab7a-ace3764b2067',7,'01a21863-f328-7125-9e52-fede24dd2ef0',0,'113.4–114.3 °C (uncorrected)');
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
CREATE TABLE thermometer_check (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    bench   TEXT NOT NULL,
    made_on TEXT NOT NULL,
    void    INTEGER NOT NULL
) STRICT;
CREATE TABLE calibration (
    first         INTEGER PRIMARY KEY,
    subject       TEXT NOT NULL UNIQUE,
    record        INTEGER NOT NULL,
    bench         TEXT NOT NULL,
    in_force_from TEXT NOT NULL,
    withdrawn     INTEGER NOT NULL
) STRICT;
CREATE TABLE verdict (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL
) STRICT;
CREATE TABLE sign_off (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL
) STRICT;
INSERT INTO sign_off VALUES(10,'01a21863-f32e-71cd-aaab-ec38cb8c88bd',11,'01a21863-f328-7125-9e52-fede24dd2ef0');
INSERT INTO sign_off VALUES(12,'01a21863-f330-704a-99a5-ff2619ae398f',12,'01a21863-f328-7125-9e52-fede24dd2ef0');
CREATE TABLE past_result (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL
) STRICT;
INSERT INTO past_result VALUES(13,'01a21863-f331-71ac-bddd-9f489a4542ef',13,'01a21863-f328-7125-9e52-fede24dd2ef0');
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
CREATE INDEX verdict_sample ON verdict (sample, record);
CREATE INDEX sign_off_sample ON sign_off (sample, record);
CREATE INDEX past_result_sample ON past_result (sample, record);
COMMIT;
