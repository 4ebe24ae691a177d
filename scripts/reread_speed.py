"""How reading again gets faster with more workers on one machine.

Usage: reread_speed.py MELTRANGE [RECORDINGS], beside the PostgreSQL of scripts/with-postgres.sh. A scene with three tubes is simulated
once and imported RECORDINGS times (24); then all of them are read again by one worker and by two, three times each in turn, and the times
from the first to the last recording that was kept are compared (what the workers need to open the book is left out).
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import uuid
from pathlib import Path

PROGRAM = str(Path(sys.argv[1]).resolve())
RECORDINGS = int(sys.argv[2]) if len(sys.argv) > 2 else 24
CLUSTER = os.environ["MELTRANGE_TEST_POSTGRES"]

SCENE = """
name = "three"
seed = 7
[picture]
width = 640
height = 480
[programme]
start_c = 111.0
end_c = 116.0
rate_c_per_min = 2.0
soak_s = 10.0
tail_s = 10.0
[timing]
frames_per_s = 2.0
[output]
container = "{container}"
[[tube]]
melts_at_c = 113.7
[[tube]]
melts_at_c = 113.6
[[tube]]
melts_at_c = 113.8
"""


def meltrange(local: Path, *arguments: object) -> dict:
    environment = {**os.environ, "MELTRANGE_LOCAL": str(local), "MELTRANGE_NO_PROGRESS": "1"}
    command = [PROGRAM, "--quiet", *map(str, arguments), "--json"]
    done = subprocess.run(command, env=environment, capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(command)}: status {done.returncode}\n{done.stdout}{done.stderr}")
    return json.loads(done.stdout)


def psql(database: str, query: str) -> str:
    command = ["psql", f"{CLUSTER}/{database}", "-XAtqc", query]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


def read_by(workers: int, book: str, database: str, room: Path) -> float:
    """Recordings a second."""
    begun = meltrange(room / "desk", "reread", "begin", book, "--all", "--by", "R. Amsel")
    running = []
    for number in range(workers):
        environment = {**os.environ, "MELTRANGE_LOCAL": str(room / f"w{number}"), "MELTRANGE_NO_PROGRESS": "1"}
        command = [PROGRAM, "--quiet", "reread", "work", book]
        running.append(subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL))
    for process in running:
        if process.wait() != 0:
            sys.exit("a worker failed")
    count, span_s = psql(
        database,
        "SELECT count(*) - 1, extract(epoch FROM max(done_at) - min(done_at)) FROM book.reread_recording"
        f" WHERE rereading = '{begun['rereading']}' AND state = 'read'",
    ).split("|")
    meltrange(room / "desk", "reread", "drop", book, "--by", "R. Amsel")
    return int(count) / float(span_s)


def main() -> None:
    for container in ("mp4", "frames"):
        with tempfile.TemporaryDirectory() as name:
            room = Path(name)
            database = f"r{uuid.uuid4().hex}"
            psql("postgres", f"CREATE DATABASE {database}")
            book = f"{CLUSTER}/{database}"
            (room / "depot").mkdir()
            new = ["book", "new", book, "--title", "Evening practical", "--by", "R. Amsel"]
            meltrange(room / "desk", *new, "--recordings", f"file://{room}/depot")
            (room / "scene.toml").write_text(SCENE.format(container=container))
            command = [PROGRAM, "--quiet", "simulate", str(room / "scene.toml"), "--out", str(room / "run")]
            subprocess.run(command, check=True, capture_output=True)
            media = next((one for one in (room / "run").iterdir() if one.suffix in (".mp4", ".mkv")), None)
            media = media or next(one for one in (room / "run").iterdir() if one.is_dir())
            log = next((room / "run").glob("*.csv"))
            for _ in range(RECORDINGS):
                order = ["import", book, media, "--temperature", log, "--no-pictures", "--by", "R. Amsel"]
                meltrange(room / "desk", *order)
            rates = {1: [], 2: []}
            for _ in range(3):
                for workers in rates:
                    rates[workers].append(read_by(workers, book, database, room))
            one, two = (statistics.median(rates[workers]) for workers in (1, 2))
            print(
                f"{container}: 1 worker {60 * one:.1f}/min, 2 workers {60 * two:.1f}/min: {two / one:.2f} times"
                f" (of {RECORDINGS} recordings; medians of 3; {os.cpu_count()} cores)",
                flush=True,
            )


main()
