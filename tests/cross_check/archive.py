"""Archives against what others wrote to check and read such things.

Usage: archive.py MELTRANGE. A small book is made by the program and exported. Then:
- roc-validator holds the archive against every REQUIRED rule of RO-Crate 1.2. It works without network: the JSON-LD
  context that the description names is served from the package rocrate, which brings that of version 1.3; the terms
  used here mean the same in both.
- hashlib works out the digest of every file and every record, and follows the chain.
- pyarrow reads every Parquet table, which must be the CSV table cell by cell, with types.
- icalendar reads the calendar of a session plan.
- the archive is restored and exported again: byte for byte the same.
Ends with status 1 and the first difference.
"""

import csv
import datetime
import hashlib
import json
import subprocess
import sys
import tempfile
from importlib import resources
from pathlib import Path

import icalendar
import pyarrow
import pyarrow.parquet
from rocrate_validator import models, services
from rocrate_validator.utils import http

PROGRAM = sys.argv[1]
CONTEXT = "https://w3id.org/ro/crate/1.2/context"

SCENE = """
name = "practical"
seed = 20
[picture]
width = 320
height = 240
[programme]
start_c = 119.6
end_c = 123.2
rate_c_per_min = 1.0
soak_s = 5.0
tail_s = 5.0
[log]
video_start_s = 7.5
[output]
container = "mkv"
[[tube]]
melts_at_c = 121.8
impurity_mole_fraction = 0.0015
[[tube]]
content = "empty"
"""

SESSION = """
length_min = 120
operators = 1
[[bench]]
name = "north, by the window"
places = 3
room_c = 22
start_c = 22
heat_rate_c_per_min = 10
cool_time_constant_min = 12
max_c = 260
[[sample]]
id = "U-1; the first"
first_liquid_c = 113.0
last_crystal_c = 114.5
[[sample]]
id = "U-2"
first_liquid_c = 94.0
last_crystal_c = 95.0
"""


def fail(what: str) -> None:
    sys.exit(f"archive: {what}")


def call(*arguments: object) -> str:
    done = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True)
    if done.returncode != 0:
        fail(f"{arguments}: {done.stderr}")
    return done.stdout


def make_book(room: Path) -> Path:
    book = room / "practical"
    call("book", "new", book, "--title", 'Evening practical, "A" & Söhne', "--by", "R. Amsel")
    call("sample", "add", book, "U-1", "--expected", "2-naphthol", "--dried", "yes", "--column-height", "2.5")
    call("sample", "add", book, "U-2", "--origin", "store, second shelf", "--ground", "no")
    scene = room / "scene.toml"
    scene.write_text(SCENE)
    call("simulate", scene, "--out", room / "recording")
    video = room / "recording" / "video.mkv"
    log = room / "recording" / "temperature.csv"
    options = ["--video-start", "7.5", "--sample", "U-1", "--sample", "-", "--no-pictures", "--json"]
    imported = json.loads(call("import", book, video, "--temperature", log, *options))
    call("read", book, imported["recording"], "--json")
    return book


class Served:
    """What the validator gets instead of a page on the network."""

    status_code = 200
    headers = {"Content-Type": "application/ld+json"}

    def __init__(self) -> None:
        self.text = resources.files("rocrate.data").joinpath("ro-crate.jsonld").read_text()

    def json(self) -> dict:
        return json.loads(self.text)


def validate(archive: Path) -> None:
    asked = []

    def get(_self: object, url: str, *_rest: object, **_named: object) -> Served:
        asked.append(url)
        if url != CONTEXT:
            fail(f"the description makes a reader ask for {url}")
        return Served()

    http.HttpRequester.get = get
    for severity in (models.Severity.REQUIRED, models.Severity.RECOMMENDED):
        settings = models.ValidationSettings(
            rocrate_uri=str(archive),
            profile_identifier="ro-crate-1.2",
            requirement_severity=severity,
            abort_on_first=False,
        )
        result = services.validate(settings)
        issues = [f"{issue.severity.name} {issue.check.identifier}: {issue.message}" for issue in result.get_issues()]
        if severity == models.Severity.REQUIRED and issues:
            fail("\n".join(["rules of RO-Crate 1.2 are broken:", *issues]))
        if severity == models.Severity.RECOMMENDED:
            for issue in sorted(set(issues)):
                print(f"archive: recommended, not followed: {issue}")
    if CONTEXT not in asked:
        fail("the validator never looked at the context: nothing was validated")
    # A check that cannot fail is none: the same without what the specification asks for.
    with tempfile.TemporaryDirectory() as room:
        broken = Path(room) / "broken"
        subprocess.run(["cp", "-r", archive, broken], check=True)
        described = json.loads((broken / "ro-crate-metadata.json").read_text())
        root = next(entity for entity in described["@graph"] if entity["@id"] == "./")
        del root["datePublished"]
        (broken / "ro-crate-metadata.json").write_text(json.dumps(described))
        settings = models.ValidationSettings(rocrate_uri=str(broken), profile_identifier="ro-crate-1.2")
        if services.validate(settings).passed():
            fail("the validator passes an archive without datePublished")


def digests(archive: Path) -> int:
    described = json.loads((archive / "ro-crate-metadata.json").read_text())
    files = [entity for entity in described["@graph"] if entity["@type"] == "File"]
    for entity in files:
        found = (archive / entity["@id"]).read_bytes()
        if hashlib.sha256(found).hexdigest() != entity["sha256"] or str(len(found)) != entity["contentSize"]:
            fail(f"{entity['@id']} is not as it is described")
    previous = None
    for number, line in enumerate((archive / "records.jsonl").read_text().splitlines(), 1):
        record = json.loads(line)
        content = json.loads(record["content"])
        if hashlib.sha256(record["content"].encode()).hexdigest() != record["hash"]:
            fail(f"record {number} does not have its hash")
        if (content["seq"], content["previous"]) != (number, previous):
            fail(f"record {number} does not follow")
        previous = record["hash"]
    return len(files)


def tables(archive: Path) -> int:
    cells = 0
    for path in sorted(archive.glob("*.csv")):
        table = pyarrow.parquet.read_table(archive / "tables" / f"{path.stem}.parquet")
        with path.open(newline="") as text:
            rows = list(csv.reader(text))
        if table.column_names != rows[0] or table.num_rows != len(rows) - 1:
            fail(f"{path.name} has another shape as Parquet")
        for column, name in enumerate(rows[0]):
            kind = table.schema.field(name).type
            if name.endswith(("_c", "_s", "_mm")) and kind != pyarrow.float64():
                fail(f"{path.name}, {name} is {kind}; expected doubles")
            for row, value in zip(rows[1:], table.column(name).to_pylist(), strict=True):
                cell = row[column]
                same = {
                    type(None): cell == "",
                    bool: cell == ("yes" if value else "no"),
                }.get(type(value))
                if same is None:
                    same = cell == value if isinstance(value, str) else float(cell) == value
                if not same:
                    fail(f"{path.name}, {name}: {value!r}; expected {cell!r}")
                cells += 1
    return cells


def sessions(room: Path) -> int:
    session = room / "session.toml"
    session.write_text(SESSION)
    out = room / "session.ics"
    start = "2026-11-26T18:00:00+01:00"
    options = ["--time-limit", "1", "--calendar", out, "--start", start, "--person", "R. Amsel"]
    plan = json.loads(call("session", session, *options, "--json"))
    calendar = icalendar.Calendar.from_ical(out.read_bytes())
    events = list(calendar.walk("VEVENT"))
    begin = datetime.datetime.fromisoformat(start)
    expected = [
        (
            begin + datetime.timedelta(seconds=round(load["load_start_min"] * 60)),
            f"{bench['bench']}: set in "
            + ", ".join(f"{tube['sample']} ({tube['replicate']})" for tube in load["tubes"]),
        )
        for bench in plan["benches"]
        for load in bench["loads"]
    ]
    found = [(event.decoded("DTSTART"), str(event["SUMMARY"])) for event in events]
    for one in expected:
        if one not in found:
            fail(f"{one} is not in the calendar: {found}")
    if len(events) != len(expected) + len(plan["benches"]):
        fail(f"{len(events)} events for {len(expected)} loads")
    for event in events:
        if str(event["LOCATION"]) != "north, by the window" or event.decoded("DTEND") <= event.decoded("DTSTART"):
            fail(f"an event is not as planned: {event}")
    if calendar.errors or any(event.errors for event in events):
        fail("the calendar has errors")
    return len(events)


def same_again(room: Path, archive: Path) -> None:
    call("book", "restore", archive, "--out", room / "again")
    call("book", "export", room / "again", "--out", room / "again-out")
    dated = {"ro-crate-metadata.json", "README.md"}
    for path in sorted(archive.rglob("*")):
        name = path.relative_to(archive)
        if path.is_file() and str(name) not in dated and path.read_bytes() != (room / "again-out" / name).read_bytes():
            fail(f"{name} is another one after restoring")


with tempfile.TemporaryDirectory() as folder:
    ROOM = Path(folder)
    BOOK = make_book(ROOM)
    ARCHIVE = ROOM / "archive"
    call("book", "export", BOOK, "--out", ARCHIVE, "--licence", "https://spdx.org/licenses/CC-BY-4.0")
    validate(ARCHIVE)
    PLAIN = ROOM / "plain"
    call("book", "export", BOOK, "--out", PLAIN)
    validate(PLAIN)
    SAMPLE = ROOM / "sample"
    call("sample", "export", BOOK, "U-1", "--out", SAMPLE)
    validate(SAMPLE)
    FILES = digests(ARCHIVE)
    CELLS = tables(ARCHIVE)
    EVENTS = sessions(ROOM)
    same_again(ROOM, PLAIN)
    print(f"archive: {FILES} files, {CELLS} cells and {EVENTS} events are as others read them; no required rule broken")
