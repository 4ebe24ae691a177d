"""Merges the full open notebook table into the substances by structure."""

import re

from .screens import Value

LONGEST_SLUG = 40


def source_code(source):
    """Code of one source of the table: "on:" and its name in small letters, digits and dashes."""
    slug = re.sub(r"[^a-z0-9]+", "-", source.lower()).strip("-")
    return f"on:{slug[:LONGEST_SLUG].strip('-') or 'unnamed'}"


def value_of(row):
    """The value of one row with its own source; rows the notebook itself distrusts stay, marked."""
    return Value(row.melting_c, source_code(row.source), "donotuse" if row.do_not_use else "")


def add_values(values, new):
    """Values of one substance with those of the table: the median by CAS is made of them and marked `median`."""
    for value in values:
        if value.source == "on":
            value.mark = "median"
    values.extend(sorted(new, key=lambda value: (value.source, value.melting_c, value.mark)))
