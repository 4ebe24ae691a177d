-- A book of form 4: a sample whose verdict was said anew, with a mixed melting; its recording has no files. Never edited.
BEGIN TRANSACTION;
CREATE TABLE _sqlx_migrations (
    version BIGINT PRIMARY KEY,
    description TEXT NOT NULL,
    installed_on TIMESTAMP NOT NULL DEFAULT CURRENT_TIMESTAMP,
    success BOOLEAN NOT NULL,
    checksum BLOB NOT NULL,
    execution_time BIGINT NOT NULL
);
INSERT INTO _sqlx_migrations VALUES(1,'records and state','2026-11-26 12:35:44',1,X'0235b756d44d371dd1e426388ad35178fb7aa9d38f503735baa9dd7342206493487d328b17d76fd4f3bf5a63ba788a9d',6874375);
INSERT INTO _sqlx_migrations VALUES(2,'events','2026-11-26 12:35:44',1,X'6f2064914e1f1c1783fcd9826a5e40e4e8e3a13a1c775556e56ad9c1802bec117b087e2602415929cc296a266c36f4aa',7131326);
INSERT INTO _sqlx_migrations VALUES(3,'thermometers','2026-11-26 12:35:44',1,X'6f7bd7f9bdeaf0107ddab7c5b1cb81b9e828388cf3b385a05dc95e8c24e36f369e73d79a450e1d38e8c0a59175a2fc63',12261327);
INSERT INTO _sqlx_migrations VALUES(4,'verdicts','2026-11-26 12:35:44',1,X'b5536cae5e7f5b28d2b94713307ac38d405050f6aa1ac124122450e5bcaad71994fdbc105fefbaf0d9c0abd2fcf65585',930869);
CREATE TABLE record (
    seq        INTEGER PRIMARY KEY,
    id         TEXT NOT NULL UNIQUE,
    kind       TEXT NOT NULL,
    subject    TEXT NOT NULL,
    supersedes TEXT UNIQUE REFERENCES record (id),
    hash       TEXT NOT NULL,
    content    TEXT NOT NULL
) STRICT;
INSERT INTO record VALUES(1,'01a217da-c9f1-71f4-a051-1f467df9d0dd','opening','01a217da-c9ef-7782-b85a-31ec4ee6fa0c',NULL,'a248ffd55d86ec856b31f31ddbabe71fe8bf55c7f56da62318769b77fd6fad5b','{"format":1,"id":"01a217da-c9f1-71f4-a051-1f467df9d0dd","kind":"opening","payload":{"program":"meltrange 0.1.0","title":"Evening practical"},"previous":null,"reason":null,"seq":1,"subject":"01a217da-c9ef-7782-b85a-31ec4ee6fa0c","supersedes":null,"when":"2026-11-26T12:35:44.239296+00:00","who":null}');
INSERT INTO record VALUES(2,'01a217da-c9f2-71a8-a44e-6ffa935c65f1','person','01a217da-c9ef-7782-b85a-31eb763a437c',NULL,'40645b2dca4707bb4a143fd5ca74c9c9255682d485dcd64e5450f69e583ad4b3','{"format":1,"id":"01a217da-c9f2-71a8-a44e-6ffa935c65f1","kind":"person","payload":{"name":"R. Amsel","role":"supervisor"},"previous":"a248ffd55d86ec856b31f31ddbabe71fe8bf55c7f56da62318769b77fd6fad5b","reason":null,"seq":2,"subject":"01a217da-c9ef-7782-b85a-31eb763a437c","supersedes":null,"when":"2026-11-26T12:35:44.241757+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(3,'01a217da-c9f4-7787-aaf3-51910062874a','sample','01a217da-c9f4-7787-aaf3-51901916ba2e',NULL,'5065abe69cdf78bec9c681b0efd640bac74c529f660e53e7892621b21369f471','{"format":1,"id":"01a217da-c9f4-7787-aaf3-51910062874a","kind":"sample","payload":{"expected_substance":"acetanilide","hazards":null,"label":"U-1","origin":"Imaginary College, store room","preparation":{"column_height_mm":null,"dried":null,"ground":null,"solvent":null},"remarks":null},"previous":"40645b2dca4707bb4a143fd5ca74c9c9255682d485dcd64e5450f69e583ad4b3","reason":null,"seq":3,"subject":"01a217da-c9f4-7787-aaf3-51901916ba2e","supersedes":null,"when":"2026-11-26T12:35:44.244767+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(4,'01a217da-c9fd-77d0-8646-a85811ec50a1','sample','01a217da-c9fc-726b-a833-496d299ddf45',NULL,'d42fef5d4cdf48992a9e6eec6dbe4e3c7e1e1f6347f31524a2f9f2ec0fb0376e','{"format":1,"id":"01a217da-c9fd-77d0-8646-a85811ec50a1","kind":"sample","payload":{"expected_substance":"acetanilide","hazards":null,"label":"reference","origin":"Imaginary College, store room","preparation":{"column_height_mm":null,"dried":null,"ground":null,"solvent":null},"remarks":null},"previous":"5065abe69cdf78bec9c681b0efd640bac74c529f660e53e7892621b21369f471","reason":null,"seq":4,"subject":"01a217da-c9fc-726b-a833-496d299ddf45","supersedes":null,"when":"2026-11-26T12:35:44.252935+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(5,'01a217da-c9fe-773e-9171-d57c1407d647','sample','01a217da-c9fe-773e-9171-d57b93f7f585',NULL,'570df0d4537d51ae206b95e84f0af904ae50519b5d27a99863bff0e932886398','{"format":1,"id":"01a217da-c9fe-773e-9171-d57c1407d647","kind":"sample","payload":{"expected_substance":"acetanilide","hazards":null,"label":"U-1 with reference","origin":"Imaginary College, store room","preparation":{"column_height_mm":null,"dried":null,"ground":null,"solvent":null},"remarks":null},"previous":"d42fef5d4cdf48992a9e6eec6dbe4e3c7e1e1f6347f31524a2f9f2ec0fb0376e","reason":null,"seq":5,"subject":"01a217da-c9fe-773e-9171-d57b93f7f585","supersedes":null,"when":"2026-11-26T12:35:44.254341+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(6,'01a217da-ca00-7616-9342-293a1e633dff','run','01a217da-c9ff-7456-8fe9-fda7f6d81927',NULL,'004ce369ddebb200f79353734c1dce962d57d9148d744e7568b8514f49e039a8','{"format":1,"id":"01a217da-ca00-7616-9342-293a1e633dff","kind":"run","payload":{"bench":null,"load":[{"place":1,"sample":"01a217da-c9f4-7787-aaf3-51901916ba2e"},{"place":2,"sample":"01a217da-c9fc-726b-a833-496d299ddf45"},{"place":3,"sample":"01a217da-c9fe-773e-9171-d57b93f7f585"}],"remarks":null,"state":"ended"},"previous":"570df0d4537d51ae206b95e84f0af904ae50519b5d27a99863bff0e932886398","reason":null,"seq":6,"subject":"01a217da-c9ff-7456-8fe9-fda7f6d81927","supersedes":null,"when":"2026-11-26T12:35:44.255956+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(7,'01a217da-ca00-7616-9342-293b5b460653','recording','01a217da-c9ff-7456-8fe9-fda8db15506b',NULL,'2187954fb6afdd6d8e844e82ae9594dc11e7e3c15dfba3ecba7b5f14ed63468a','{"format":1,"id":"01a217da-ca00-7616-9342-293b5b460653","kind":"recording","payload":{"end":{"cut":false,"end_s":null,"frames":0,"highest_c":null,"lowest_c":null,"manifest":"44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a","start_s":null},"run":"01a217da-c9ff-7456-8fe9-fda7f6d81927","source":{"from":"camera"}},"previous":"004ce369ddebb200f79353734c1dce962d57d9148d744e7568b8514f49e039a8","reason":null,"seq":7,"subject":"01a217da-c9ff-7456-8fe9-fda8db15506b","supersedes":null,"when":"2026-11-26T12:35:44.255956+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(8,'01a217da-ca03-7612-b232-1b97dcc89be3','reading','01a217da-ca02-72fa-ad2d-6ffcbf339f01',NULL,'6c99a6dad048729ddd3b56f809db151a1ab9125550d7b403e5f62b5eab632ecd','{"format":1,"id":"01a217da-ca03-7612-b232-1b97dcc89be3","kind":"reading","payload":{"curves":null,"notes":[],"quality":[],"reader":{"by":"engine","program":"meltrange 0.1.0"},"recording":"01a217da-c9ff-7456-8fe9-fda8db15506b","tubes":[{"first_liquid":{"standard_uncertainty_c":0.1,"temperature_c":113.4,"time_s":100},"frame_px":null,"heating_rate_c_per_min":1,"last_crystal":{"standard_uncertainty_c":0.1,"temperature_c":114.3,"time_s":160},"outcome":"melted","place":1,"remarks":[],"sample":"01a217da-c9f4-7787-aaf3-51901916ba2e"},{"first_liquid":{"standard_uncertainty_c":0.1,"temperature_c":113.4,"time_s":100},"frame_px":null,"heating_rate_c_per_min":1,"last_crystal":{"standard_uncertainty_c":0.1,"temperature_c":114.3,"time_s":160},"outcome":"melted","place":2,"remarks":[],"sample":"01a217da-c9fc-726b-a833-496d299ddf45"},{"first_liquid":{"standard_uncertainty_c":0.1,"temperature_c":113.4,"time_s":100},"frame_px":null,"heating_rate_c_per_min":1,"last_crystal":{"standard_uncertainty_c":0.1,"temperature_c":114.3,"time_s":160},"outcome":"melted","place":3,"remarks":[],"sample":"01a217da-c9fe-773e-9171-d57b93f7f585"}]},"previous":"2187954fb6afdd6d8e844e82ae9594dc11e7e3c15dfba3ecba7b5f14ed63468a","reason":null,"seq":8,"subject":"01a217da-ca02-72fa-ad2d-6ffcbf339f01","supersedes":null,"when":"2026-11-26T12:35:44.258572+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(9,'01a217da-ca04-760c-91fa-5f7fd38cc1a3','determination','01a217da-ca04-760c-91fa-5f7e5c8e0682',NULL,'e56c5680855034a0f4f82f36d42c00ce8284be8faba8505fc8faa4324b168a56','{"format":1,"id":"01a217da-ca04-760c-91fa-5f7fd38cc1a3","kind":"determination","payload":{"agreed":false,"convention":"as_logged","first_liquid":null,"from":[{"place":1,"reading":"01a217da-ca02-72fa-ad2d-6ffcbf339f01"}],"further_runs_needed":1,"last_crystal":null,"range_text":"113.4–114.3 °C (uncorrected)","sample":"01a217da-c9f4-7787-aaf3-51901916ba2e","spread_c":null},"previous":"6c99a6dad048729ddd3b56f809db151a1ab9125550d7b403e5f62b5eab632ecd","reason":null,"seq":9,"subject":"01a217da-ca04-760c-91fa-5f7e5c8e0682","supersedes":null,"when":"2026-11-26T12:35:44.260526+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(10,'01a217da-ca06-769d-8301-8f9d1b511c35','sample_verdict','01a217da-ca05-77c7-a4e6-806341ef7f7c',NULL,'b621ac6057bee3b08be7de687e1f3b7ad4db9c32e743f18ed94d9f8ef6982d35','{"format":1,"id":"01a217da-ca06-769d-8301-8f9d1b511c35","kind":"sample_verdict","payload":{"candidates":{"among":8429,"credible_95":640,"likeliest":[{"cas":"103-84-4","name":"acetanilide","probability":0.02}],"own_list_only":false,"unlisted_probability":0.05},"cautions":["a range alone does not identify"],"determination":"01a217da-ca04-760c-91fa-5f7e5c8e0682","identity":{"says":"consistent_with","substance":{"cas":"103-84-4","name":"acetanilide"}},"mixed_meltings":[{"mixture_c":[113.4,114.3],"mixture_tube":{"place":3,"reading":"01a217da-ca02-72fa-ad2d-6ffcbf339f01"},"recording":"01a217da-c9ff-7456-8fe9-fda8db15506b","reference":{"cas":"103-84-4","name":"acetanilide"},"reference_c":[113.4,114.3],"reference_tube":{"place":2,"reading":"01a217da-ca02-72fa-ad2d-6ffcbf339f01"},"sample_c":[113.4,114.3],"sample_tube":{"place":1,"reading":"01a217da-ca02-72fa-ad2d-6ffcbf339f01"},"standard_uncertainty_c":0.2,"verdict":"consistent_with_same","words":"not depressed: consistent with the same, not proof"}],"other_evidence":"infrared spectrum of the same day, folder 3","purities":[{"hfus_j_per_mol":21650,"hfus_source":"a paper","impurity_mole_fraction":0.002,"interval_95":[0,0.008],"method":"width","pure_melting_c":114.5,"standard_uncertainty":0.002}],"range_text":"113.4–114.3 °C (uncorrected)","result_record":"01a217da-ca04-760c-91fa-5f7fd38cc1a3","sample":"01a217da-c9f4-7787-aaf3-51901916ba2e","words":"Consistent with acetanilide."},"previous":"e56c5680855034a0f4f82f36d42c00ce8284be8faba8505fc8faa4324b168a56","reason":null,"seq":10,"subject":"01a217da-ca05-77c7-a4e6-806341ef7f7c","supersedes":null,"when":"2026-11-26T12:35:44.261862+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
INSERT INTO record VALUES(11,'01a217da-ca08-749e-b023-f15a076ae761','sample_verdict','01a217da-ca05-77c7-a4e6-806341ef7f7c','01a217da-ca06-769d-8301-8f9d1b511c35','fa636963665e48d9da3080d7e38e09e2af641674a5199cae8f899d95e503bab6','{"format":1,"id":"01a217da-ca08-749e-b023-f15a076ae761","kind":"sample_verdict","payload":{"candidates":{"among":8429,"credible_95":640,"likeliest":[{"cas":"103-84-4","name":"acetanilide","probability":0.02}],"own_list_only":false,"unlisted_probability":0.05},"cautions":["a range alone does not identify"],"determination":"01a217da-ca04-760c-91fa-5f7e5c8e0682","identity":{"says":"open","substance":null},"mixed_meltings":[{"mixture_c":[113.4,114.3],"mixture_tube":{"place":3,"reading":"01a217da-ca02-72fa-ad2d-6ffcbf339f01"},"recording":"01a217da-c9ff-7456-8fe9-fda8db15506b","reference":{"cas":"103-84-4","name":"acetanilide"},"reference_c":[113.4,114.3],"reference_tube":{"place":2,"reading":"01a217da-ca02-72fa-ad2d-6ffcbf339f01"},"sample_c":[113.4,114.3],"sample_tube":{"place":1,"reading":"01a217da-ca02-72fa-ad2d-6ffcbf339f01"},"standard_uncertainty_c":0.2,"verdict":"consistent_with_same","words":"not depressed: consistent with the same, not proof"}],"other_evidence":"infrared spectrum of the same day, folder 3","purities":[{"hfus_j_per_mol":21650,"hfus_source":"a paper","impurity_mole_fraction":0.002,"interval_95":[0,0.008],"method":"width","pure_melting_c":114.5,"standard_uncertainty":0.002}],"range_text":"113.4–114.3 °C (uncorrected)","result_record":"01a217da-ca04-760c-91fa-5f7fd38cc1a3","sample":"01a217da-c9f4-7787-aaf3-51901916ba2e","words":"Nothing can be said of it yet."},"previous":"b621ac6057bee3b08be7de687e1f3b7ad4db9c32e743f18ed94d9f8ef6982d35","reason":"the reference was of another lot","seq":11,"subject":"01a217da-ca05-77c7-a4e6-806341ef7f7c","supersedes":"01a217da-ca06-769d-8301-8f9d1b511c35","when":"2026-11-26T12:35:44.26444+00:00","who":"01a217da-c9ef-7782-b85a-31eb763a437c"}');
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
INSERT INTO person VALUES(2,'01a217da-c9ef-7782-b85a-31eb763a437c',2,'R. Amsel','r. amsel','supervisor');
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
INSERT INTO sample VALUES(3,'01a217da-c9f4-7787-aaf3-51901916ba2e',3,'U-1','u-1','u-000000000001','Imaginary College, store room','acetanilide',NULL,replace('u-1\nimaginary college, store room\nacetanilide','\n',char(10)),'2026-11-26T12:35:44.244767+00:00','not_agreed',1,'113.4–114.3 °C (uncorrected)');
INSERT INTO sample VALUES(4,'01a217da-c9fc-726b-a833-496d299ddf45',4,'reference','reference','reference','Imaginary College, store room','acetanilide',NULL,replace('reference\nimaginary college, store room\nacetanilide','\n',char(10)),'2026-11-26T12:35:44.252935+00:00','read',1,NULL);
INSERT INTO sample VALUES(5,'01a217da-c9fe-773e-9171-d57b93f7f585',5,'U-1 with reference','u-1 with reference','u-000000000001 with reference','Imaginary College, store room','acetanilide',NULL,replace('u-1 with reference\nimaginary college, store room\nacetanilide','\n',char(10)),'2026-11-26T12:35:44.254341+00:00','read',1,NULL);
CREATE TABLE run (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    begun   TEXT NOT NULL,
    state   TEXT NOT NULL
) STRICT;
INSERT INTO run VALUES(6,'01a217da-c9ff-7456-8fe9-fda7f6d81927',6,'2026-11-26T12:35:44.255956+00:00','ended');
CREATE TABLE run_tube (
    run    TEXT NOT NULL,
    place  INTEGER NOT NULL,
    sample TEXT,
    PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
INSERT INTO run_tube VALUES('01a217da-c9ff-7456-8fe9-fda7f6d81927',1,'01a217da-c9f4-7787-aaf3-51901916ba2e');
INSERT INTO run_tube VALUES('01a217da-c9ff-7456-8fe9-fda7f6d81927',2,'01a217da-c9fc-726b-a833-496d299ddf45');
INSERT INTO run_tube VALUES('01a217da-c9ff-7456-8fe9-fda7f6d81927',3,'01a217da-c9fe-773e-9171-d57b93f7f585');
CREATE TABLE recording (
    first    INTEGER PRIMARY KEY,
    subject  TEXT NOT NULL UNIQUE,
    record   INTEGER NOT NULL,
    run      TEXT NOT NULL,
    begun    TEXT NOT NULL,
    state    TEXT NOT NULL,
    readings INTEGER NOT NULL
) STRICT;
INSERT INTO recording VALUES(7,'01a217da-c9ff-7456-8fe9-fda8db15506b',7,'01a217da-c9ff-7456-8fe9-fda7f6d81927','2026-11-26T12:35:44.255956+00:00','read',1);
CREATE TABLE reading (
    first     INTEGER PRIMARY KEY,
    subject   TEXT NOT NULL UNIQUE,
    record    INTEGER NOT NULL,
    recording TEXT NOT NULL,
    by_engine INTEGER NOT NULL
) STRICT;
INSERT INTO reading VALUES(8,'01a217da-ca02-72fa-ad2d-6ffcbf339f01',8,'01a217da-c9ff-7456-8fe9-fda8db15506b',1);
CREATE TABLE reading_tube (
    reading  TEXT NOT NULL,
    place    INTEGER NOT NULL,
    sample   TEXT,
    -- Number of the latest confirmation or override.
    decision INTEGER,
    PRIMARY KEY (reading, place)
) STRICT, WITHOUT ROWID;
INSERT INTO reading_tube VALUES('01a217da-ca02-72fa-ad2d-6ffcbf339f01',1,'01a217da-c9f4-7787-aaf3-51901916ba2e',NULL);
INSERT INTO reading_tube VALUES('01a217da-ca02-72fa-ad2d-6ffcbf339f01',2,'01a217da-c9fc-726b-a833-496d299ddf45',NULL);
INSERT INTO reading_tube VALUES('01a217da-ca02-72fa-ad2d-6ffcbf339f01',3,'01a217da-c9fe-773e-9171-d57b93f7f585',NULL);
CREATE TABLE determination (
    first   INTEGER PRIMARY KEY,
    subject TEXT NOT NULL UNIQUE,
    record  INTEGER NOT NULL,
    sample  TEXT NOT NULL,
    agreed  INTEGER NOT NULL,
    range_text TEXT NOT NULL
) STRICT;
INSERT INTO determination VALUES(9,'01a217da-ca04-760c-91fa-5f7e5c8e0682',9,'01a217da-c9f4-7787-aaf3-51901916ba2e',0,'113.4–114.3 °C (uncorrected)');
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
INSERT INTO verdict VALUES(10,'01a217da-ca05-77c7-a4e6-806341ef7f7c',11,'01a217da-c9f4-7787-aaf3-51901916ba2e');
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
COMMIT;
