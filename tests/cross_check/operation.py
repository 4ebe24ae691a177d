"""Running a shared book: numbers, log lines, workers that are killed, backups, a database that is away.

Usage: operation.py MELTRANGE, beside the PostgreSQL of scripts/with-postgres.sh. The second opinion is the parser for
OpenMetrics of the package prometheus_client, the JSON parser of Python, and PostgreSQL's own client:
- what /metrics tells can be parsed by others, and counts the requests that were sent;
- every line of the log is one JSON object, and says who asked for what;
- workers that read recordings again are killed (SIGKILL) until all was read: each recording was read once, and each new
  reading is in the book once after the acceptance was killed, too;
- while the database lets nobody in, the server is "apart" and answers from its copy;
- a backup is brought up to date, verifies, and has the chain that psql prints.
Ends with status 1 and the first difference.
"""

import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
import uuid
from pathlib import Path

from prometheus_client.openmetrics.parser import text_string_to_metric_families

PROGRAM = sys.argv[1]
CLUSTER = os.environ["MELTRANGE_TEST_POSTGRES"]
RECORDINGS = 12

SCENE = """
name = "practical"
seed = 7
[picture]
width = 320
height = 240
[programme]
start_c = 111.5
end_c = 115.5
rate_c_per_min = 2.0
soak_s = 10.0
tail_s = 4.0
[timing]
frames_per_s = 1.0
[output]
container = "mkv"
[[tube]]
melts_at_c = 113.7
impurity_mole_fraction = 0.001
"""

failures = 0


def check(what: str, holds: bool, found: object = "") -> None:
    global failures
    if not holds:
        failures += 1
    print(f"{'agrees' if holds else 'DIFFERS'}: {what}{'' if holds else f' ({found})'}", flush=True)


def environment(local: Path) -> dict:
    return {**os.environ, "MELTRANGE_LOCAL": str(local), "MELTRANGE_NO_PROGRESS": "1"}


def meltrange(local: Path, *arguments: object) -> dict:
    command = [PROGRAM, "--quiet", *map(str, arguments), "--json"]
    done = subprocess.run(command, env=environment(local), capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(command)}: status {done.returncode}\n{done.stdout}{done.stderr}")
    return json.loads(done.stdout) if done.stdout else {}


def psql(database: str, query: str) -> str:
    command = ["psql", f"{CLUSTER}/{database}", "-XAtqc", query]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


def fetch(address: str, **headers: str) -> tuple[int, str]:
    request = urllib.request.Request(address, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=30) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()


def until(what: str, is_so, seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if is_so():
            return
        time.sleep(0.1)
    sys.exit(f"{what}: not within {seconds} s")


class Server:
    """A book served with numbers and JSON lines."""

    def __init__(self, local: Path, book: str, room: Path) -> None:
        self.log = room / "server.log"
        out = room / "server.out"
        command = [PROGRAM, "serve", book, "--port", "0", "--no-open", "--observe", "127.0.0.1:0"]
        command += ["--log", "info", "--log-format", "json"]
        self.process = subprocess.Popen(
            command, env=environment(local), stdout=out.open("w"), stderr=self.log.open("w")
        )
        until("the server is ready", lambda: "Ctrl-C" in out.read_text())
        lines = out.read_text().split()
        self.pages = next(word for word in lines if word.startswith("http") and word.endswith("/"))
        self.observed = next(word for word in lines if word.endswith("/health/ready")).removesuffix("/health/ready")

    def health(self) -> dict:
        return json.loads(fetch(f"{self.observed}/health/ready")[1])

    def end(self) -> None:
        self.process.send_signal(signal.SIGINT)
        check("an interrupted server ends by itself", self.process.wait(30) == 0)


def numbers_and_lines(server: Server, person: str) -> None:
    for _ in range(5):
        fetch(f"{server.pages}api/samples", **{"x-person": person})
    _, text = fetch(f"{server.observed}/metrics")
    families = {family.name: family for family in text_string_to_metric_families(text)}
    check("the numbers can be parsed", "http_server_request_duration_seconds" in families, sorted(families))
    counts = [
        sample.value
        for sample in families["http_server_request_duration_seconds"].samples
        if sample.name.endswith("_count") and sample.labels["http_route"] == "/api/samples"
    ]
    check("five requests were counted", counts == [5.0], counts)
    reachable = families["meltrange_shared_book_reachable"].samples[0].value
    check("the database is said to be reachable", reachable == 1.0, reachable)
    lines = [json.loads(line) for line in server.log.read_text().splitlines()]
    asked = [line for line in lines if line.get("route") == "/api/samples"]
    good = len(asked) == 5 and all(line["status"] == 200 and line["took_ms"] > 0 for line in asked)
    check(f"{len(lines)} lines of the log are JSON, five of them of those requests", good, asked[:1])


def killed_workers(book: str, database: str, room: Path) -> None:
    begun = meltrange(room / "desk", "reread", "begin", book, "--all", "--by", "R. Amsel")
    check(f"{RECORDINGS} recordings wait", begun["recordings"] == RECORDINGS, begun)
    draw = random.Random(5)
    kills = 0

    def waiting() -> int:
        query = "SELECT count(*) FROM book.reread_recording WHERE state IN ('waiting', 'taken')"
        return int(psql(database, query))

    def worker(number: int) -> subprocess.Popen:
        command = [PROGRAM, "--quiet", "reread", "work", book, "--name", f"worker {number}"]
        return subprocess.Popen(command, env=environment(room / f"w{number % 2}"), stdout=subprocess.DEVNULL)

    number = 0
    while waiting() > 0 and number < 200:
        pair = [worker(number), worker(number + 1)]
        number += 2
        # Soon enough to catch them reading, or even opening the book; in the end they are left to it.
        time.sleep(draw.uniform(0.2, 1.0) if kills < 10 else 20.0)
        for process in pair:
            if process.poll() is None:
                process.kill()
                kills += 1
            process.wait()
        # What they had taken would be free in two minutes.
        psql(database, "UPDATE book.reread_recording SET taken_until = now(), tries = 0 WHERE state = 'taken'")
    states = psql(database, "SELECT state, count(*) FROM book.reread_recording GROUP BY state")
    check(f"all was read in spite of {kills} kills", states == f"read|{RECORDINGS}" and kills >= 5, states)
    told = meltrange(room / "desk", "reread", "show", book)
    same = told["changes"] == {"same": RECORDINGS} and told["first_liquid"]["furthest_c"] == 0.0
    check("the same engine finds the same", same, told)
    for attempt in range(100):
        command = [PROGRAM, "--quiet", "reread", "accept", book, "--by", "R. Amsel"]
        process = subprocess.Popen(
            command, env=environment(room / "desk"), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
        )
        time.sleep(draw.uniform(0.05, 0.4) if attempt < 10 else 20.0)
        process.kill()
        process.wait()
        if psql(database, "SELECT state FROM book.rereading") == "accepted":
            break
    readings = psql(
        database,
        "SELECT min(n), max(n) FROM (SELECT count(*) n FROM book.record WHERE kind = 'reading'"
        " GROUP BY content::json -> 'payload' ->> 'recording') per",
    )
    check("each recording has its reading before and one new one", readings == "2|2", readings)


def backups(book: str, database: str, room: Path, label: str) -> None:
    folder = room / "backup"
    first = meltrange(room / "desk", "book", "backup", book, folder)
    meltrange(room / "desk", "sample", "add", book, label, "--by", "R. Amsel")
    second = meltrange(room / "desk", "book", "backup", book, folder)
    check("a backup brought up to date has one record more", second["records"] == 1, (first, second))
    head = meltrange(room / "desk", "book", "verify", folder)["head"]
    there = psql(database, "SELECT hash FROM book.record ORDER BY seq DESC LIMIT 1")
    check("its chain ends where psql says", there in json.dumps(head), (head, there))


def away(server: Server, database: str) -> None:
    check("the server is well", server.health()["state"] == "well", server.health())
    psql("postgres", f"ALTER DATABASE {database} WITH ALLOW_CONNECTIONS false")
    psql("postgres", f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{database}'")
    until("the server is apart", lambda: server.health()["state"] == "apart")
    status, _ = fetch(f"{server.pages}api/samples")
    check("pages are answered from the copy", status == 200, status)
    psql("postgres", f"ALTER DATABASE {database} WITH ALLOW_CONNECTIONS true")
    until("the server is well again", lambda: server.health()["state"] == "well")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        database = f"o{uuid.uuid4().hex}"
        psql("postgres", f"CREATE DATABASE {database}")
        book = f"{CLUSTER}/{database}"
        (room / "depot").mkdir()
        new = ["book", "new", book, "--title", "Evening practical", "--by", "R. Amsel"]
        meltrange(room / "desk", *new, "--recordings", f"file://{room}/depot")
        meltrange(room / "desk", "sample", "add", book, "U-1", "--by", "R. Amsel")
        (room / "scene.toml").write_text(SCENE)
        command = [PROGRAM, "--quiet", "simulate", str(room / "scene.toml"), "--out", str(room / "run")]
        subprocess.run(command, check=True, capture_output=True)
        video = next((room / "run").glob("*.mkv"))
        log = next((room / "run").glob("*.csv"))
        for _ in range(RECORDINGS):
            order = ["import", book, video, "--temperature", log, "--sample", "U-1", "--no-pictures"]
            made = meltrange(room / "desk", *order, "--by", "R. Amsel")
            read = ["read", book, made["recording"], "--by", "R. Amsel"]
            meltrange(room / "desk", *read)
        person = psql(database, "SELECT subject FROM book.record WHERE kind = 'person'")
        server = Server(room / "server", book, room)
        numbers_and_lines(server, person)
        killed_workers(book, database, room)
        away(server, database)
        backups(book, database, room, "U-2")
        server.end()
        verdict = meltrange(room / "desk", "book", "verify", book)
        check("the book verifies", verdict["sound"], verdict)
    if failures:
        sys.exit(f"{failures} differences")


main()
