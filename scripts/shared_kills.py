"""Kill database, line to the store, servers and workers of a shared book at random, and look whether anything is lost or doubled.

Usage: .venv-check/bin/python scripts/shared_kills.py MELTRANGE [KILLS]   (500; as root or as a user)

A PostgreSQL of its own, an S3 store (moto, in memory: so what is killed is the line to it, a relay in a process of its own, not the store), two
servers to which samples are posted without pause, imports from a third folder, two workers that read recordings again. Each kill is SIGKILL;
what was killed is begun again at once. Whatever was acknowledged must be there once in the end, nothing may be there twice, and the book must verify.
"""

import json
import logging
import os
import random
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections import Counter
from pathlib import Path

import boto3
from moto.server import ThreadedMotoServer

PROGRAM = str(Path(sys.argv[1]).resolve())
KILLS = int(sys.argv[2]) if len(sys.argv) > 2 else 500
LOOKED_AT_EVERY = 100

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

RELAY = """
import socket, sys, threading
def carry(a, b):
    try:
        while piece := a.recv(65536):
            b.sendall(piece)
    except OSError:
        pass
    for one in (a, b):
        try:
            one.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass
listener = socket.create_server(("127.0.0.1", int(sys.argv[1])))
while True:
    here, _ = listener.accept()
    there = socket.create_connection(("127.0.0.1", int(sys.argv[2])))
    threading.Thread(target=carry, args=(here, there), daemon=True).start()
    threading.Thread(target=carry, args=(there, here), daemon=True).start()
"""


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Department:
    def __init__(self, room: Path) -> None:
        self.room = room
        self.environment = {**os.environ, "MELTRANGE_NO_PROGRESS": "1"}
        self.port = free_port()
        self.book = f"postgres://meltrange@127.0.0.1:{self.port}/department"
        bins = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
        self.bins = str(bins[-1]) if bins else os.path.dirname(shutil.which("postgres") or "")
        self.who = []
        if os.getuid() == 0:
            self.who = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", "env", f"HOME={room}"]
        self.processes: dict[str, subprocess.Popen] = {}
        self.server_ports = {"server A": free_port(), "server B": free_port()}

    def database(self, *arguments: str) -> list[str]:
        return [*self.who, f"{self.bins}/{arguments[0]}", *arguments[1:]]

    def begin(self, what: str) -> None:
        environment = {**self.environment, "MELTRANGE_LOCAL": str(self.room / what.replace(" ", "-"))}
        if what == "database":
            (self.room / "data" / "postmaster.pid").unlink(missing_ok=True)
            command = self.database("postgres", "-D", f"{self.room}/data", "-p", str(self.port), "-k", str(self.room), "-F")
        elif what == "line":
            command = [sys.executable, "-c", RELAY, str(self.line), str(self.store)]
        elif what in self.server_ports:
            command = [PROGRAM, "serve", self.book, "--port", str(self.server_ports[what]), "--no-open"]
        else:
            command = [PROGRAM, "--quiet", "reread", "work", self.book, "--wait"]
        out = (self.room / f"{what}.log").open("a")
        self.processes[what] = subprocess.Popen(command, env=environment, stdout=out, stderr=out, cwd="/")

    def kill(self, what: str) -> None:
        process = self.processes[what]
        process.send_signal(signal.SIGKILL)
        process.wait()
        if what == "database":
            # Its children notice by themselves, and only then another can begin in this folder.
            until("the database's children are gone", lambda: not self.children())

    def children(self) -> bool:
        for process in Path("/proc").glob("[0-9]*"):
            try:
                if os.readlink(process / "cwd") == f"{self.room}/data":
                    return True
            except OSError:
                continue
        return False

    def run(self, *arguments: str, folder: str = "desk") -> tuple[int, dict]:
        environment = {**self.environment, "MELTRANGE_LOCAL": str(self.room / folder)}
        done = subprocess.run(
            [PROGRAM, "--quiet", *arguments, "--json"], env=environment, capture_output=True, text=True, cwd="/"
        )
        return done.returncode, json.loads(done.stdout) if done.stdout.startswith("{") else {"said": done.stderr}

    def surely(self, *arguments: str) -> dict:
        status, found = self.run(*arguments)
        if status != 0:
            sys.exit(f"{arguments}: status {status}: {found}")
        return found

    def psql(self, query: str, database: str = "department") -> str:
        command = ["psql", f"postgres://meltrange@127.0.0.1:{self.port}/{database}", "-XAtqc", query]
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()

    def is_up(self) -> bool:
        command = ["psql", f"postgres://meltrange@127.0.0.1:{self.port}/postgres", "-XAtqc", "SELECT 1"]
        return subprocess.run(command, capture_output=True).returncode == 0


def until(what: str, is_so, seconds: float = 120.0) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if is_so():
            return
        time.sleep(0.05)
    sys.exit(f"{what}: not within {seconds} s")


class Writers:
    """What was acknowledged."""

    def __init__(self, department: Department, video: Path, log: Path) -> None:
        self.department, self.video, self.log = department, video, log
        self.samples: set[str] = set()
        self.tried = 0
        self.recordings: set[str] = set()
        self.imports = 0
        self.stopping = threading.Event()
        self.threads = [threading.Thread(target=self.post, args=(name,)) for name in department.server_ports]
        self.threads.append(threading.Thread(target=self.bring))

    def post(self, server: str) -> None:
        person = self.department.psql("SELECT subject FROM book.record WHERE kind = 'person' ORDER BY seq LIMIT 1")
        address = f"http://127.0.0.1:{self.department.server_ports[server]}/api/samples"
        number = 0
        while not self.stopping.is_set():
            number += 1
            label = f"{server[-1]}-{number}"
            headers = {"x-person": person, "content-type": "application/json"}
            request = urllib.request.Request(address, json.dumps({"label": label}).encode(), headers)
            self.tried += 1
            try:
                with urllib.request.urlopen(request, timeout=40) as answer:
                    if answer.status == 201:
                        self.samples.add(label)
            except OSError:
                time.sleep(0.1)
            time.sleep(0.05)

    def bring(self) -> None:
        # A recording to begin with is there; these come during the kills.
        while not self.stopping.wait(8.0):
            self.imports += 1
            order = ["import", self.department.book, str(self.video), "--temperature", str(self.log), "--no-pictures"]
            status, found = self.department.run(*order, "--by", "R. Amsel", folder="importing")
            if status == 0:
                self.recordings.add(found["recording"])


def look(department: Department, writers: Writers) -> None:
    department.surely("book", "verify", department.book)
    rows = department.psql("SELECT content FROM book.record WHERE kind = 'sample'").splitlines()
    labels = Counter(json.loads(row)["payload"]["label"] for row in rows)
    lost = [label for label in writers.samples if labels[label] == 0]
    doubled = [label for label, count in labels.items() if count > 1]
    ids = set(department.psql("SELECT subject FROM book.record WHERE kind = 'recording'").splitlines())
    missing = writers.recordings - ids
    print(
        f"  {len(labels)} samples in the book, {len(writers.samples)} acknowledged of {writers.tried} tried;"
        f" {len(writers.recordings)} recordings acknowledged of {writers.imports} tried;"
        f" lost {len(lost) + len(missing)}, doubled {len(doubled)}; the book verifies",
        flush=True,
    )
    if lost or doubled or missing:
        sys.exit(f"lost {lost} {missing}, doubled {doubled}")


def reread_on(department: Department) -> int:
    """Accept what was read and begin anew; how many rounds were accepted in all."""
    state = department.psql("SELECT state FROM book.rereading ORDER BY id DESC LIMIT 1")
    waiting = department.psql("SELECT count(*) FROM book.reread_recording WHERE state IN ('waiting', 'taken')")
    # What a killed worker had taken is free after two minutes; here at once.
    department.psql(
        "UPDATE book.reread_recording SET taken_until = now() WHERE state = 'taken' AND taken_until < now() + interval '90 s'"
    )
    if state in ("reading", "accepting") and waiting == "0":
        department.run("reread", "accept", department.book, "--by", "R. Amsel")
    elif state in ("", "accepted", "dropped"):
        department.run("reread", "begin", department.book, "--all", "--by", "R. Amsel")
    return int(department.psql("SELECT count(*) FROM book.rereading WHERE state = 'accepted'"))


def main() -> None:
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    draw = random.Random(11)
    room = Path(tempfile.mkdtemp())
    room.chmod(0o755)
    department = Department(room)
    if department.who:
        shutil.chown(room, "postgres", "postgres")
    initdb = ["initdb", "-D", f"{room}/data", "-U", "meltrange", "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"]
    subprocess.run(department.database(*initdb), check=True, capture_output=True, cwd="/")
    moto = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    moto.start()
    department.store = moto.get_host_and_port()[1]
    department.line = free_port()
    department.environment |= {
        "AWS_ENDPOINT": f"http://127.0.0.1:{department.line}",
        "AWS_ALLOW_HTTP": "true",
        "AWS_REGION": "us-east-1",
        "AWS_ACCESS_KEY_ID": "somebody",
        "AWS_SECRET_ACCESS_KEY": "something",
    }
    client = boto3.client(
        "s3",
        endpoint_url=f"http://127.0.0.1:{department.store}",
        region_name="us-east-1",
        aws_access_key_id="somebody",
        aws_secret_access_key="something",
    )
    client.create_bucket(Bucket="melting")
    everything = ["database", "line", "server A", "server B", "worker 1", "worker 2"]
    try:
        department.begin("database")
        until("the database is up", department.is_up)
        department.psql("CREATE DATABASE department", "postgres")
        department.begin("line")
        time.sleep(0.5)
        new = ["book", "new", department.book, "--title", "Department", "--by", "R. Amsel"]
        department.surely(*new, "--recordings", "s3://melting/department")
        scene = room / "scene.toml"
        scene.write_text(SCENE)
        subprocess.run([PROGRAM, "--quiet", "simulate", str(scene), "--out", str(room / "run")], check=True, capture_output=True)
        video, log = next((room / "run").glob("*.mkv")), next((room / "run").glob("*.csv"))
        for what in everything[2:]:
            department.begin(what)
        writers = Writers(department, video, log)
        for thread in writers.threads:
            thread.start()
        killed = Counter()
        began = time.monotonic()
        rounds = 0
        for number in range(1, KILLS + 1):
            time.sleep(draw.uniform(0.1, 1.2))
            what = draw.choice(everything)
            department.kill(what)
            killed[what] += 1
            time.sleep(draw.uniform(0.0, 0.4))
            department.begin(what)
            if what == "database":
                until("the database is up", department.is_up)
            if number % 25 == 0:
                rounds = reread_on(department)
            if number % LOOKED_AT_EVERY == 0:
                print(f"{number} kills in {time.monotonic() - began:.0f} s: {dict(killed)}; {rounds} re-readings accepted", flush=True)
                look(department, writers)
        writers.stopping.set()
        for thread in writers.threads:
            thread.join()

        def all_handed() -> bool:
            found = {one["Key"].split("/")[2] for page in client.get_paginator("list_objects_v2").paginate(Bucket="melting")
                     for one in page.get("Contents", []) if one["Key"].endswith("manifest.json")}
            # Whatever opens that folder hands over what waits in it.
            department.run("sample", "list", department.book, folder="importing")
            return writers.recordings <= found

        until("all recordings are in the store", all_handed)
        end = time.monotonic() + 240
        while time.monotonic() < end:
            rounds = reread_on(department)
            if department.psql("SELECT count(*) FROM book.rereading WHERE state IN ('reading', 'accepting')") == "0":
                break
            if rounds and department.psql("SELECT state FROM book.rereading ORDER BY id DESC LIMIT 1") == "accepted":
                break
            time.sleep(2)
        doubled = department.psql(
            "SELECT count(*) FROM (SELECT 1 FROM book.reread_recording r JOIN book.record c ON c.id = r.record"
            " WHERE r.state = 'accepted' GROUP BY r.rereading, r.recording HAVING count(*) <> 1) x"
        )
        accepted = department.psql("SELECT count(*) FROM book.reread_recording WHERE state = 'accepted'")
        readings = department.psql("SELECT count(*) FROM book.record WHERE kind = 'reading'")
        print(f"{accepted} new readings accepted in {rounds} re-readings, {readings} in the book, {doubled} not once")
        look(department, writers)
        if doubled != "0" or accepted != readings:
            sys.exit("readings are lost or doubled")
    finally:
        for process in department.processes.values():
            process.kill()
        subprocess.run(["pkill", "-KILL", "-f", f"{room}/data"], check=False)
        shutil.rmtree(room, ignore_errors=True)


main()
