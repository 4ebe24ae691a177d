"""Readers of the openly licensed tables; nothing else of the package `chemicals` is opened here.

Temperatures leave this module in degrees Celsius, rounded to 0.01; CAS numbers as "65-85-0".
"""

import csv
import os
import re
import sys
import zipfile
from dataclasses import dataclass
from importlib import metadata, util
from pathlib import Path

PACKAGE = "chemicals"
PACKAGE_VERSION = "1.5.2"
# Its PubChem lists still held biphenyl, cholesterol and some 180 others.
OLDER_VERSION = "1.1.5"
MORE_COLUMNS = ("cas", "smiles", "systematic", "names")
OPEN_NOTEBOOK = "Phase Change/OpenNotebook Melting Points.tsv"
WIKIDATA = "Misc/wikidata_properties.tsv"
# The first file that knows a CAS number wins.
IDENTIFIERS = (
    "Identifiers/chemical identifiers pubchem small.tsv",
    "Identifiers/chemical identifiers pubchem large.tsv",
)
# Columns of the identifier files, counted from 0: PubChem number, CAS, formula, molar mass, SMILES, InChI,
# InChIKey, systematic name, title, then synonyms.
CAS_COLUMN, SMILES_COLUMN, SYSTEMATIC_COLUMN, NAMES_COLUMN = 1, 4, 7, 8

ICE_POINT_K = 273.15


class SourceError(Exception):
    """A table that cannot be used: what was found, where, and what was expected."""


@dataclass(frozen=True)
class Identifier:
    """What a substance is called and how it is built."""

    cas: str
    smiles: str
    systematic: str
    names: tuple


@dataclass(frozen=True)
class NotebookRow:
    """One row of the full open notebook table."""

    key: str
    name: str
    smiles: str
    melting_c: float
    csid: str
    source: str
    do_not_use: bool


def cas_text(written):
    """CAS number with dashes, from "65-85-0" or "65850"; None when its check digit does not fit."""
    digits = str(written).strip().replace("-", "")
    if not digits.isdigit() or not 5 <= len(digits) <= 10:
        return None
    weighed = sum(place * int(digit) for place, digit in enumerate(reversed(digits[:-1]), start=1))
    if weighed % 10 != int(digits[-1]):
        return None
    return f"{digits[:-3]}-{digits[-3:-1]}-{digits[-1]}"


def cas_number(cas):
    """A CAS number as an integer, to sort by."""
    return int(cas.replace("-", ""))


def celsius_from_kelvin(kelvin):
    """[K] to [°C], rounded to 0.01: Wikidata's Fahrenheit values arrive as 418.70556 K."""
    return round(float(kelvin) - ICE_POINT_K, 2) + 0.0


def package_folder():
    """Folder of the installed `chemicals` 1.5.2, without importing it.

    Raises SourceError when it is missing or another version, since another version may hold other data.
    """
    spec = util.find_spec(PACKAGE)
    if spec is None:
        raise SourceError(f"the package {PACKAGE} is not installed; run pip install -r data/requirements.txt")
    found = metadata.version(PACKAGE)
    if found != PACKAGE_VERSION:
        raise SourceError(f"{PACKAGE} {found} is installed; expected {PACKAGE_VERSION}: install data/requirements.txt")
    return Path(os.path.dirname(spec.origin))


def rows(path):
    """Cells of a tab-separated file, quotes being plain characters."""
    with open(path, encoding="utf-8", newline="") as lines:
        for line in lines:
            yield line.rstrip("\r\n").split("\t")


def temperatures(path, column, drop):
    """CAS to [°C] from one column of a table of kelvins; `drop` counts what cannot be used."""
    table = rows(path)
    head = next(table)
    for name in ("CAS", column):
        if name not in head:
            raise SourceError(f"{path}: no column {name}; found {', '.join(head)}")
    cas_at, value_at = head.index("CAS"), head.index(column)
    found = {}
    for row in table:
        if len(row) <= value_at or not row[value_at].strip():
            continue
        cas = cas_text(row[cas_at])
        if cas is None:
            drop("values with a wrong CAS check digit")
            continue
        found[cas] = celsius_from_kelvin(row[value_at])
    return found


def add_identifiers(found, lines, drop):
    """Adds lines of a PubChem file to `found`; the first that knows a CAS number wins."""
    for row in lines:
        cas = cas_text(row[CAS_COLUMN])
        if cas is None:
            drop("identifiers with a wrong CAS check digit")
            continue
        if cas not in found:
            names = tuple(cell.strip() for cell in row[NAMES_COLUMN:] if cell.strip())
            found[cas] = Identifier(cas, row[SMILES_COLUMN], row[SYSTEMATIC_COLUMN].strip(), names)


def identifiers(folder, drop):
    """CAS to Identifier from the two PubChem files."""
    found = {}
    for name in IDENTIFIERS:
        add_identifiers(found, rows(folder / name), drop)
    return found


def identifiers_of_wheel(path):
    """CAS to Identifier from the two PubChem files of the package's older version, as a wheel."""
    found = {}
    with zipfile.ZipFile(path) as wheel:
        version = next((name for name in wheel.namelist() if name.endswith(".dist-info/METADATA")), "")
        if OLDER_VERSION not in version:
            raise SourceError(f"{path}: holds {version or 'no package'}; expected {PACKAGE} {OLDER_VERSION}")
        for name in IDENTIFIERS:
            text = wheel.read(f"{PACKAGE}/{name}").decode("utf-8")
            add_identifiers(found, (line.rstrip("\r").split("\t") for line in text.split("\n") if line), lambda _: None)
    return found


def hand_table(path, columns):
    """Rows of one of our own small tables as dictionaries; lines beginning with # are remarks."""
    with open(path, encoding="utf-8", newline="") as text:
        lines = [line.rstrip("\n") for line in text if line.strip() and not line.startswith("#")]
    head = lines[0].split("\t")
    if head != list(columns):
        raise SourceError(f"{path}, line 1: found {head}; expected {list(columns)}")
    table = []
    for number, line in enumerate(lines[1:], start=2):
        cells = line.split("\t")
        if len(cells) != len(columns):
            raise SourceError(f"{path}, row {number}: {len(cells)} cells; expected {len(columns)}: {line}")
        table.append(dict(zip(columns, cells)))
    return table


def open_notebook_rows(path):
    """Rows of the full open notebook table (figshare 1031637, CC0), .csv or .xlsx, in the order of the file.

    Returns the rows and how many were left out because their temperature is no number.
    """
    path = Path(path)
    if path.suffix.lower() == ".xlsx":
        import pandas

        records = pandas.read_excel(path, dtype=str, keep_default_na=False).to_dict("records")
    else:
        csv.field_size_limit(sys.maxsize)
        with open(path, encoding="utf-8-sig", newline="") as text:
            records = list(csv.DictReader(text))
    if not records:
        raise SourceError(f"{path}: no rows")
    missing = {"key", "name", "smiles", "mpC", "csid", "source", "donotuse"} - set(records[0])
    if missing:
        raise SourceError(f"{path}: no column {', '.join(sorted(missing))}; found {', '.join(records[0])}")
    read, no_number = [], 0
    for record in records:
        cell = {name: str(value or "").strip() for name, value in record.items() if name}
        try:
            melting_c = round(float(cell["mpC"]), 2) + 0.0
        except ValueError:
            no_number += 1
            continue
        read.append(
            NotebookRow(
                key=cell["key"],
                name=cell["name"],
                smiles=cell["smiles"],
                melting_c=melting_c,
                csid=re.sub(r"\.0$", "", cell["csid"]),
                source=cell["source"],
                do_not_use=cell["donotuse"].lower() not in ("", "0", "false", "no", "nan"),
            )
        )
    return read, no_number
