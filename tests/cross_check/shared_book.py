"""A shared book with its recordings in an S3 store that others wrote, on two machines' worth of folders.

Usage: shared_book.py MELTRANGE, beside the PostgreSQL of scripts/with-postgres.sh. moto is the store, hashlib and
PostgreSQL's own client the second opinion:
- a book in a folder is copied into the database and back; every digest and link is worked out by hashlib from
  what psql prints, and from what boto3 finds in the store;
- a recording imported on one "machine" is exported on another that never saw it;
- the store is stopped while a recording is imported: the import is kept, and handed over when the store is back;
- an object that was exchanged is found by "book verify".
Ends with status 1 and the first difference.
"""

import hashlib
import json
import logging
import os
import shutil
import subprocess
import sys
import tempfile
import uuid
from pathlib import Path

import boto3
from moto.server import ThreadedMotoServer

PROGRAM = sys.argv[1]
CLUSTER = os.environ["MELTRANGE_TEST_POSTGRES"]
BUCKET = "melting"

SCENE = """
name = "practical"
seed = 31
[picture]
width = 240
height = 180
[programme]
start_c = 120.6
end_c = 122.6
rate_c_per_min = 2.0
soak_s = 2.0
tail_s = 2.0
[output]
container = "mkv"
[[tube]]
melts_at_c = 121.8
"""

failures = 0


def check(what: str, holds: bool, found: object = "") -> None:
    global failures
    if not holds:
        failures += 1
    print(f"{'agrees' if holds else 'DIFFERS'}: {what}{'' if holds else f' ({found})'}")


def meltrange(local: Path, *arguments: object, fails: bool = False) -> dict:
    environment = {**os.environ, "MELTRANGE_LOCAL": str(local), "MELTRANGE_NO_PROGRESS": "1"}
    command = [PROGRAM, "--quiet", *map(str, arguments), "--json"]
    done = subprocess.run(command, env=environment, capture_output=True, text=True)
    if (done.returncode != 0) != fails:
        sys.exit(f"{' '.join(command)}: status {done.returncode}\n{done.stdout}{done.stderr}")
    return json.loads(done.stdout) if done.stdout else {}


def rows(database: str, query: str) -> list[list[str]]:
    # Texts hold no character 1 or 2: canonical JSON escapes them.
    command = ["psql", f"{CLUSTER}/{database}", "-XAt", "-F", "\x01", "-R", "\x02", "-c", query]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    return [line.split("\x01") for line in text.rstrip("\n").split("\x02") if line]


def new_database() -> str:
    name = f"x{uuid.uuid4().hex}"
    subprocess.run(["psql", f"{CLUSTER}/postgres", "-Xqc", f"CREATE DATABASE {name}"], check=True)
    return name


def follow_chain(database: str) -> None:
    before, count = None, 0
    for number, (seq, given, text) in enumerate(
        rows(database, "SELECT seq, hash, content FROM book.record ORDER BY seq"), start=1
    ):
        said = json.loads(text)
        holds = hashlib.sha256(text.encode()).hexdigest() == given and said["previous"] == before
        if not holds or int(seq) != number or said["seq"] != number:
            check(f"record {seq} of the chain", False, given)
            return
        before, count = given, number
    check(f"{count} records, each with the hash of its text and of the one before", count > 0)


def look_at_store(store: object, prefix: str, database: str) -> int:
    manifests = {}
    for (text,) in rows(database, "SELECT content FROM book.record WHERE kind = 'recording' ORDER BY seq"):
        said = json.loads(text)
        if said["payload"].get("end"):
            manifests[said["subject"]] = said["payload"]["end"]["manifest"]
    for recording, digest in manifests.items():
        def get(name: str) -> bytes:
            key = f"{prefix}/recordings/{recording}/{name}"
            return store.get_object(Bucket=BUCKET, Key=key)["Body"].read()

        text = get("manifest.json")
        good = hashlib.sha256(text).hexdigest() == digest
        for file in json.loads(text)["files"]:
            good = good and hashlib.sha256(get(file["name"])).hexdigest() == file["sha256"]
        check(f"recording {recording} in the store is as the chain has it", good)
    return len(manifests)


def main() -> None:
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    endpoint = f"http://{host}:{port}"
    os.environ.update(
        AWS_ENDPOINT=endpoint,
        AWS_ALLOW_HTTP="true",
        AWS_REGION="us-east-1",
        AWS_ACCESS_KEY_ID="nobody",
        AWS_SECRET_ACCESS_KEY="secret",
    )
    store = boto3.client("s3", endpoint_url=endpoint, region_name="us-east-1",
                         aws_access_key_id="nobody", aws_secret_access_key="secret")
    store.create_bucket(Bucket=BUCKET)
    with tempfile.TemporaryDirectory() as room:
        room = Path(room)
        north, south = room / "north", room / "south"
        (room / "scene.toml").write_text(SCENE)
        subprocess.run([PROGRAM, "--quiet", "simulate", room / "scene.toml", "--out", room / "film"], check=True)
        media = next((room / "film").glob("*.mkv"))
        log = next((room / "film").glob("*.csv"))
        book = room / "book"
        meltrange(north, "book", "new", book, "--by", "R. Amsel")
        meltrange(north, "sample", "add", book, "U-1")
        take_in = ("--temperature", log, "--sample", "U-1", "--no-pictures")
        meltrange(north, "import", book, media, *take_in)

        database = new_database()
        shared = f"{CLUSTER}/{database}"
        copied = meltrange(north, "book", "copy", book, shared, "--recordings", f"s3://{BUCKET}/practical")
        check("one recording went into the store", copied["recordings"] == 1, copied)
        follow_chain(database)
        check("the store has it", look_at_store(store, "practical", database) == 1)

        # Another machine, which has neither copy nor pictures.
        taken = meltrange(south, "import", shared, media, *take_in)
        check("two recordings are in the store", look_at_store(store, "practical", database) == 2)
        shutil.rmtree(south)
        film = room / "film.mkv"
        meltrange(north, "recording", "export", shared, taken["recording"], "--out", film)
        check("a machine that never saw it exports it", film.stat().st_size > 1000)

        # The store goes away; what is recorded meanwhile stays on the machine that recorded it.
        place = store.meta.endpoint_url
        os.environ["AWS_ENDPOINT"] = "http://127.0.0.1:9"
        kept = meltrange(south, "import", shared, media, *take_in)
        os.environ["AWS_ENDPOINT"] = place
        unverified = meltrange(north, "book", "verify", shared, fails=True)
        check("until it is handed over, it is missing in the store",
              [finding["recording"] for finding in unverified["findings"]] == [kept["recording"]], unverified)
        # The next command of that machine hands it over.
        meltrange(south, "sample", "list", shared)
        check("three recordings are in the store", look_at_store(store, "practical", database) == 3)
        verified = meltrange(north, "book", "verify", shared)
        check("the shared book verifies", verified["sound"] and verified["recordings"] == 3, verified)

        again = room / "again"
        meltrange(north, "book", "copy", shared, again)
        verified = meltrange(north, "book", "verify", again)
        check("so does its copy in a folder", verified["sound"] and verified["recordings"] == 3, verified)

        # A backup as whoever runs the database makes it.
        dump = room / "book.dump"
        subprocess.run(["pg_dump", "-Fc", "-f", dump, shared], check=True)
        restored = new_database()
        subprocess.run(["pg_restore", "-d", f"{CLUSTER}/{restored}", dump], check=True)
        verified = meltrange(north, "book", "verify", f"{CLUSTER}/{restored}")
        check("a book restored from a dump of the database verifies", verified["sound"], verified)
        follow_chain(restored)

        key = f"practical/recordings/{taken['recording']}/{media_name(store, taken['recording'])}"
        store.put_object(Bucket=BUCKET, Key=key, Body=b"something else")
        found = meltrange(north, "book", "verify", shared, fails=True)
        check("an exchanged object is found",
              any(finding.get("recording") == taken["recording"] for finding in found["findings"]), found)
    server.stop()
    sys.exit(1 if failures else 0)


def media_name(store: object, recording: str) -> str:
    listed = store.list_objects_v2(Bucket=BUCKET, Prefix=f"practical/recordings/{recording}/video")
    return listed["Contents"][0]["Key"].rsplit("/", 1)[1]


if __name__ == "__main__":
    main()
