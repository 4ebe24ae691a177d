-- Many recordings read again by another engine: what is to be read, who has taken it, what was found. Nothing
-- of this is in the book until somebody accepts it. So it may change, unlike records.
CREATE TABLE book.rereading (
    id         text PRIMARY KEY,
    engine     text NOT NULL,
    begun_by   text NOT NULL,
    begun_at   text NOT NULL,
    state      text NOT NULL DEFAULT 'reading' CHECK (state IN ('reading', 'accepting', 'accepted', 'dropped')),
    decided_by text,
    decided_at text,
    CHECK ((state = 'reading') = (decided_by IS NULL))
);

-- One at a time: what is compared is what the book says before it.
CREATE UNIQUE INDEX rereading_under_way ON book.rereading ((true)) WHERE state IN ('reading', 'accepting');

CREATE TABLE book.reread_recording (
    rereading   text NOT NULL REFERENCES book.rereading (id),
    recording   text NOT NULL,
    state       text NOT NULL DEFAULT 'waiting'
                CHECK (state IN ('waiting', 'taken', 'read', 'failed', 'left_out', 'accepted')),
    worker      text,
    taken_until timestamptz,
    tries       smallint NOT NULL DEFAULT 0,
    took_s      double precision,
    done_at     timestamptz,
    -- What would be recorded, under an id that was made before: so it is recorded once.
    record      text,
    reading     text,
    curves      bytea,
    why         text,
    PRIMARY KEY (rereading, recording)
);

CREATE INDEX reread_waits ON book.reread_recording (rereading, recording) WHERE state IN ('waiting', 'taken');
CREATE INDEX reread_done ON book.reread_recording (rereading, done_at);

-- What each tube's new reading is beside the engine's reading before.
CREATE TABLE book.reread_tube (
    rereading                        text NOT NULL,
    recording                        text NOT NULL,
    place                            smallint NOT NULL,
    change                           text NOT NULL CHECK (change IN ('same', 'moved', 'outcome', 'gained', 'lost')),
    outcome_before                   text,
    outcome_now                      text,
    first_liquid_moved_c             double precision,
    first_liquid_standard_uncertainty_c double precision,
    last_crystal_moved_c             double precision,
    last_crystal_standard_uncertainty_c double precision,
    -- The larger of both ends, whatever its sign.
    moved_c                          double precision,
    PRIMARY KEY (rereading, recording, place),
    FOREIGN KEY (rereading, recording) REFERENCES book.reread_recording (rereading, recording)
);

CREATE INDEX reread_most_moved ON book.reread_tube (rereading, moved_c DESC NULLS LAST);

DO $$
BEGIN
    IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'meltrange_writer') THEN
        GRANT SELECT, INSERT, UPDATE ON book.rereading, book.reread_recording, book.reread_tube TO meltrange_writer;
        GRANT DELETE ON book.reread_tube TO meltrange_writer;
    END IF;
END
$$;
