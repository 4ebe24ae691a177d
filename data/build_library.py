#!/usr/bin/env python3
"""Builds data/library/substances.tsv, the compound library, from openly licensed tables.

Sources: the open notebook melting points (CC0), Wikidata's melting points (CC0) and PubChem's identifiers
(public domain), all as carried by the package `chemicals` 1.5.2; PubChem identifiers of common substances that its lists
lost since version 1.1.5 (library/more_identifiers.tsv). With --open-notebook FILE also the full open notebook
table (figshare 1031637, CC0), joined by structure.

    python data/build_library.py                 write the table
    python data/build_library.py --check         build in memory and compare with the table as committed
    python data/build_library.py --gather-identifiers chemicals-1.1.5-py3-none-any.whl
                                                 write library/more_identifiers.tsv anew (pip download gets the wheel)
    python data/build_library.py --self-check    check screens, classes, names and the join on small made-up tables

One row a substance, sorted by CAS number. Values stay apart: `80.26@on 80@wd`, a mark behind each that a
screen doubts; the screens are described in library_build/screens.py. Nothing is deleted.
"""

import argparse
import sys
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path

from library_build import names, open_notebook, screens, sources, structures

HERE = Path(__file__).resolve().parent / "library"
TABLE = HERE / "substances.tsv"
BY_HAND = HERE / "usual_names.tsv"
BY_HAND_COLUMNS = ("cas", "name", "smiles", "synonyms")
MORE_IDENTIFIERS = HERE / "more_identifiers.tsv"
REMARKS = HERE / "remarks.tsv"
COLUMNS = (
    "cas", "name", "synonyms", "formula", "molar_mass_g_per_mol", "smiles", "melting_c", "donors", "acceptors", "classes",
)
REMARK_COLUMNS = ("cas", "kind", "text", "source")
REMARK_KINDS = frozenset((
    "sublimes", "decomposes", "hydrate", "polymorphs", "isomer_mixture", "wet_melts_low", "toxic", "reacts", "gas",
    "unreliable_value",
))
# A substance belongs into the library when it may melt on a usual bench.
MELTS_WITHIN_C = (25.0, 350.0)
# Marks that say the number is no melting point of the substance at all.
NO_MELTING_POINT = frozenset(("range", "boiling", "unit"))


@dataclass
class Substance:
    """One row before it is written."""

    cas: str
    name: str
    synonyms: tuple
    structure: structures.Structure
    values: list

    def row(self):
        """The row as text."""
        structure = self.structure
        return "\t".join((
            self.cas,
            self.name,
            "|".join(self.synonyms),
            structure.formula,
            f"{structure.molar_mass_g_per_mol:.3f}",
            structure.smiles,
            " ".join(value.text() for value in self.values),
            str(structure.donors),
            str(structure.acceptors),
            "|".join(structure.classes),
        ))


class Steps:
    """Counts what each step keeps and leaves out, in the order of the steps."""

    def __init__(self):
        self.counts = {}

    def count(self, step, by=1):
        """Adds to a step."""
        self.counts[step] = self.counts.get(step, 0) + by

    def print(self, to):
        """One line a step."""
        for step, number in self.counts.items():
            print(f"{number:8d}  {step}", file=to)


def may_melt_here(values):
    """Whether at least one value that may be a melting point lies within MELTS_WITHIN_C."""
    low, high = MELTS_WITHIN_C
    return any(low <= value.melting_c <= high and value.mark not in NO_MELTING_POINT for value in values)


def known_identifiers(folder, steps):
    """CAS to Identifier: the lists of the package, gaps filled from more_identifiers.tsv, structures set by hand."""
    known = sources.identifiers(folder, steps.count)
    steps.count("identifiers in the PubChem lists of the package", len(known))
    for entry in sources.hand_table(MORE_IDENTIFIERS, sources.MORE_COLUMNS):
        cas = entry["cas"]
        if sources.cas_text(cas) != cas or cas in known:
            raise sources.SourceError(
                f"{MORE_IDENTIFIERS.name}: {cas} is no CAS number or stands in the package's lists; remove it"
            )
        known[cas] = sources.Identifier(cas, entry["smiles"], entry["systematic"], tuple(entry["names"].split("|")))
        steps.count("identifiers of more_identifiers.tsv")
    for entry in sources.hand_table(BY_HAND, BY_HAND_COLUMNS):
        cas = entry["cas"]
        if sources.cas_text(cas) != cas:
            raise sources.SourceError(f"{BY_HAND.name}: {cas} is no CAS number; correct it")
        if entry["smiles"]:
            synonyms = tuple(one for one in entry["synonyms"].split("|") if one)
            known[cas] = sources.Identifier(cas, entry["smiles"], "", synonyms)
            steps.count("identifiers entered by hand")
    return known


def gather_identifiers(wheel):
    """Writes more_identifiers.tsv: what the PubChem lists of an older package knew and the present ones lack."""
    folder = sources.package_folder()
    present = sources.identifiers(folder, lambda _: None)
    low, high = MELTS_WITHIN_C
    wanted = {
        cas
        for name in (sources.OPEN_NOTEBOOK, sources.WIKIDATA)
        for cas, melting_c in sources.temperatures(folder / name, "Tm", lambda _: None).items()
        if low <= melting_c <= high
    }
    wanted -= {entry["cas"] for entry in sources.hand_table(BY_HAND, BY_HAND_COLUMNS) if entry["smiles"]}
    older = sources.identifiers_of_wheel(wheel)
    lines = ["\t".join(sources.MORE_COLUMNS)]
    for cas in sorted(wanted & set(older) - set(present), key=sources.cas_number):
        one = older[cas]
        if structures.why_not(one.smiles)[0]:
            continue
        spoken = [name for name in one.names if "|" not in name][: names.DEPTH]
        lines.append("\t".join((cas, one.smiles, one.systematic, "|".join(spoken))))
    MORE_IDENTIFIERS.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    print(f"{len(lines) - 1} identifiers written to {MORE_IDENTIFIERS.name}", file=sys.stderr)
    return 0


def substance(cas, identifier, values, usual, steps):
    """The Substance of an identifier, or None with the reason counted."""
    reason, molecule = structures.why_not(identifier.smiles)
    if reason:
        steps.count(f"left out: {reason}")
        return None
    structure = structures.describe(identifier.smiles, molecule)
    has_nitrogen = any(atom.GetAtomicNum() == 7 for atom in molecule.GetAtoms())
    is_acid = "carboxylic_acid" in structure.classes and "ester" not in structure.classes
    name, synonyms = names.choose(identifier, usual, has_nitrogen, is_acid)
    if name is None:
        steps.count("left out: no name but registry codes")
        return None
    return Substance(cas, name, synonyms, structure, values)


def build(notebook_path=None, steps=None, folder=None):
    """The substances in order. `folder` is that of the package `chemicals`; the installed one when None."""
    steps = steps or Steps()
    folder = folder or sources.package_folder()
    notebook = sources.temperatures(folder / sources.OPEN_NOTEBOOK, "Tm", steps.count)
    wikidata = sources.temperatures(folder / sources.WIKIDATA, "Tm", steps.count)
    boiling = sources.temperatures(folder / sources.WIKIDATA, "Tb", lambda _: None)
    steps.count("melting values of the open notebook", len(notebook))
    steps.count("melting values of Wikidata", len(wikidata))
    known = known_identifiers(folder, steps)
    usual = {entry["cas"]: entry["name"] for entry in sources.hand_table(BY_HAND, BY_HAND_COLUMNS)}
    listed = sorted(set(notebook) | set(wikidata), key=sources.cas_number)
    steps.count("CAS numbers with at least one value", len(listed))
    found = []
    for cas in listed:
        values = [
            screens.Value(table[cas], code) for table, code in ((notebook, "on"), (wikidata, "wd")) if cas in table
        ]
        if cas not in known:
            steps.count("left out: no identifier")
            continue
        one = substance(cas, known[cas], values, usual.get(cas), steps)
        if one:
            found.append(one)
    steps.count("organic substances of one component, at any temperature", len(found))
    if notebook_path:
        found.extend(merge(found, notebook_path, steps))
    kept = []
    for one in found:
        screens.screen(one.values, boiling.get(one.cas))
        for value in one.values:
            if value.mark:
                steps.count(f"values marked {value.mark}, at any temperature")
        if may_melt_here(one.values):
            kept.append(one)
        else:
            steps.count("left out: no usable value within 25 to 350 °C")
    disambiguate(kept, set(usual), steps)
    steps.count("substances in the library", len(kept))
    return kept


def merge(found, path, steps):
    """Adds the rows of the full open notebook table to `found` by structure; returns substances it alone has.

    A structure that several CAS numbers share gets the values under each of them: the table does not say which was meant.
    """
    rows, no_number = sources.open_notebook_rows(path)
    steps.count("rows of the full open notebook table", len(rows))
    steps.count("rows of the full table without a temperature", no_number)
    by_structure = defaultdict(list)
    for one in found:
        by_structure[one.structure.inchi_key].append(one)
    groups = defaultdict(list)
    molecules = {}
    for row in rows:
        reason, molecule = structures.why_not(row.smiles)
        if reason:
            steps.count(f"rows of the full table left out: {reason}")
            continue
        key = structures.describe(row.smiles, molecule).inchi_key
        molecules.setdefault(key, molecule)
        groups[key].append(row)
    new = []
    for key in sorted(groups):
        values = [open_notebook.value_of(row) for row in groups[key]]
        if key in by_structure:
            steps.count("structures of the full table already in the library")
            for one in by_structure[key]:
                copies = [screens.Value(value.melting_c, value.source, value.mark) for value in values]
                open_notebook.add_values(one.values, copies)
            continue
        first = groups[key][0]
        identifier = sources.Identifier("", first.smiles, "", tuple(dict.fromkeys(row.name for row in groups[key])))
        number = min((row.csid for row in groups[key] if row.csid), default="")
        one = substance(f"csid:{number}" if number else f"key:{key}", identifier, [], None, steps)
        if one:
            open_notebook.add_values(one.values, values)
            new.append(one)
            steps.count("structures that only the full table has")
    return sorted(new, key=lambda one: one.cas)


def disambiguate(substances, by_hand, steps):
    """Names shared by several rows: all but one take a synonym nobody else has, if there is one.

    The name stays with the row it was set for by hand, else with the one that has more values, else with the older number.
    """
    taken = Counter(one.name for one in substances)
    shared = defaultdict(list)
    for one in substances:
        if taken[one.name] > 1:
            shared[one.name].append(one)
    used = set(taken)
    for name in sorted(shared):
        ranked = sorted(shared[name], key=lambda one: (one.cas not in by_hand, -len(one.values), len(one.cas), one.cas))
        for one in ranked[1:]:
            free = next((synonym for synonym in one.synonyms if synonym not in used), None)
            if free is None:
                steps.count("rows that share their name with another row")
                continue
            one.synonyms = tuple(synonym for synonym in (*one.synonyms, name) if synonym != free)[: names.MOST_SYNONYMS]
            one.name = free
            used.add(free)
            steps.count("rows renamed because another row has the same name")


def table_text(substances):
    """The whole file."""
    return "\n".join(["\t".join(COLUMNS), *(one.row() for one in substances)]) + "\n"


def count_values(substances, steps):
    """Counts values, pairs and marks of what is in the library."""
    for one in substances:
        steps.count("substances with two or more values" if len(one.values) > 1 else "substances with one value")
        for value in one.values:
            steps.count(f"values from {value.source.split(':')[0]}")
            if value.mark:
                steps.count(f"values marked {value.mark} in the library")
        for name in one.structure.classes:
            if name in structures.REFUSED_NAMES:
                steps.count(f"substances in refused class {name}")
        if set(one.structure.classes) & set(structures.REFUSED_NAMES):
            steps.count("substances in any refused class")


def check_remarks(substances):
    """Complaints about remarks.tsv, and notes on remarks whose substance is not in the table."""
    known = {one.cas for one in substances}
    complaints, notes = [], []
    for number, remark in enumerate(sources.hand_table(REMARKS, REMARK_COLUMNS), start=1):
        where = f"remarks.tsv, remark {number} ({remark['cas']})"
        if remark["kind"] not in REMARK_KINDS:
            complaints.append(f"{where}: kind {remark['kind']}; expected one of {', '.join(sorted(REMARK_KINDS))}")
        if sources.cas_text(remark["cas"]) != remark["cas"]:
            complaints.append(f"{where}: no CAS number with a fitting check digit")
        if not remark["text"] or not remark["source"]:
            complaints.append(f"{where}: text or source is missing")
        if remark["cas"] not in known:
            notes.append(f"{where}: not in substances.tsv")
    return complaints, notes


def check(text, substances):
    """Compares with the committed table; returns the exit status."""
    complaints, notes = check_remarks(substances)
    for note in notes:
        print(f"note: {note}")
    for complaint in complaints:
        print(complaint, file=sys.stderr)
    committed = TABLE.read_text(encoding="utf-8") if TABLE.exists() else ""
    if committed != text:
        there, here = committed.splitlines(), text.splitlines()
        first = next(
            (at for at, (one, other) in enumerate(zip(there, here), start=1) if one != other), min(len(there), len(here)) + 1
        )
        print(
            f"{TABLE.name}, line {first}: differs from what the sources give ({len(there)} lines committed, "
            f"{len(here)} built with {structures.toolkit()}); run data/build_library.py and commit the table",
            file=sys.stderr,
        )
        return 1
    if not complaints:
        print(f"{TABLE.name} is what the sources give: {len(substances)} substances")
    return 1 if complaints else 0


def main():
    """Command line; returns the exit status."""
    parser = argparse.ArgumentParser(description="Builds data/library/substances.tsv.")
    parser.add_argument("--open-notebook", metavar="FILE", help="full open notebook table, .csv or .xlsx")
    parser.add_argument("--check", action="store_true", help="compare with the committed table, write nothing")
    parser.add_argument("--self-check", action="store_true", help="check this script on made-up tables")
    parser.add_argument(
        "--gather-identifiers", metavar="WHEEL", help="write more_identifiers.tsv from the wheel of chemicals 1.1.5"
    )
    asked = parser.parse_args()
    if asked.gather_identifiers:
        return gather_identifiers(asked.gather_identifiers)
    if asked.self_check:
        from library_build import self_check

        return self_check.run()
    steps = Steps()
    try:
        substances = build(asked.open_notebook, steps)
    except (sources.SourceError, OSError) as error:
        print(error, file=sys.stderr)
        return 2
    text = table_text(substances)
    if asked.check:
        return check(text, substances)
    count_values(substances, steps)
    steps.print(sys.stderr)
    TABLE.write_text(text, encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
