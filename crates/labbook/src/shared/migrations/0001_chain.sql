-- The chain of a shared book. What the records come to stands in the copy that each process keeps; here
-- are the records alone, and the rules that hold for everybody, whatever program writes.
CREATE TABLE book.record (
    seq        bigint PRIMARY KEY,
    id         text NOT NULL UNIQUE,
    kind       text NOT NULL,
    subject    text NOT NULL,
    supersedes text UNIQUE REFERENCES book.record (id),
    hash       text NOT NULL UNIQUE,
    content    text NOT NULL
);

CREATE TABLE book.attachment (
    sha256 text PRIMARY KEY,
    bytes  bytea NOT NULL
);

-- Where recordings are kept. Changed by the owner alone.
CREATE TABLE book.place (
    what    text PRIMARY KEY,
    address text NOT NULL
);

CREATE FUNCTION book.nothing_changes() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% of a lab book are never changed or removed', TG_ARGV[0];
END
$$;

CREATE TRIGGER record_is_not_changed BEFORE UPDATE OR DELETE OR TRUNCATE ON book.record
    FOR EACH STATEMENT EXECUTE FUNCTION book.nothing_changes('records');

CREATE TRIGGER attachment_is_not_changed BEFORE UPDATE OR DELETE OR TRUNCATE ON book.attachment
    FOR EACH STATEMENT EXECUTE FUNCTION book.nothing_changes('attachments');

-- A record takes the next number, names the hash of the one before, and has the hash of its own text.
-- The lock makes writers take turns, also one that does not ask for it; without it the primary key would
-- still refuse the second of two records with one number.
CREATE FUNCTION book.record_comes_last() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last_seq  bigint;
    last_hash text;
    said      json;
BEGIN
    PERFORM pg_advisory_xact_lock(7236898);
    SELECT seq, hash INTO last_seq, last_hash FROM book.record ORDER BY seq DESC LIMIT 1;
    IF NEW.seq IS DISTINCT FROM coalesce(last_seq, 0) + 1 THEN
        RAISE EXCEPTION 'record % is not the next: records are only added at the end, after %',
            NEW.seq, coalesce(last_seq, 0);
    END IF;
    IF NEW.hash IS DISTINCT FROM encode(sha256(convert_to(NEW.content, 'UTF8')), 'hex') THEN
        RAISE EXCEPTION 'record % does not have the hash of its text', NEW.seq;
    END IF;
    said := NEW.content::json;
    IF said ->> 'previous' IS DISTINCT FROM last_hash THEN
        RAISE EXCEPTION 'record % does not name the hash of the record before', NEW.seq;
    END IF;
    IF (said ->> 'seq')::bigint IS DISTINCT FROM NEW.seq
        OR said ->> 'id' IS DISTINCT FROM NEW.id
        OR said ->> 'kind' IS DISTINCT FROM NEW.kind
        OR said ->> 'subject' IS DISTINCT FROM NEW.subject
        OR said ->> 'supersedes' IS DISTINCT FROM NEW.supersedes
    THEN
        RAISE EXCEPTION 'record % is not what its text says', NEW.seq;
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER record_comes_last BEFORE INSERT ON book.record
    FOR EACH ROW EXECUTE FUNCTION book.record_comes_last();

CREATE FUNCTION book.attachment_is_its_digest() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.sha256 IS DISTINCT FROM encode(sha256(NEW.bytes), 'hex') THEN
        RAISE EXCEPTION 'attachment % does not have this digest', NEW.sha256;
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER attachment_is_its_digest BEFORE INSERT ON book.attachment
    FOR EACH ROW EXECUTE FUNCTION book.attachment_is_its_digest();

-- Heard by every process that has the book open.
CREATE FUNCTION book.tell() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('book_record', '');
    RETURN NULL;
END
$$;

CREATE TRIGGER record_is_told AFTER INSERT ON book.record
    FOR EACH STATEMENT EXECUTE FUNCTION book.tell();

-- What writes in the book may add and nothing else. One role for all books of a cluster; where the owner
-- may not make roles, whoever runs the cluster makes it and runs the grants below.
DO $$
BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'meltrange_writer') THEN
        CREATE ROLE meltrange_writer NOLOGIN;
    END IF;
    EXECUTE format('GRANT meltrange_writer TO %I', current_user);
EXCEPTION
    -- Another book is made at this moment.
    WHEN duplicate_object OR unique_violation THEN NULL;
    WHEN insufficient_privilege THEN
        RAISE NOTICE 'the role meltrange_writer was not made or not granted';
END
$$;

DO $$
BEGIN
    IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'meltrange_writer') THEN
        GRANT USAGE ON SCHEMA book TO meltrange_writer;
        GRANT SELECT, INSERT ON book.record, book.attachment TO meltrange_writer;
        GRANT SELECT ON book.place, book._sqlx_migrations TO meltrange_writer;
    END IF;
END
$$;
