"""Screens of melting values. A screen marks; nothing is deleted.

| mark | a value is marked when |
|---|---|
| `donotuse` | the open notebook itself says so |
| `range` | it lies outside -200 to 600 °C |
| `boiling` | it equals the boiling point listed by Wikidata within 0.05 °C |
| `unit` | it equals the value of the other source with °C and °F, or °C and K, confused, within 1.5 °C |
| `disagrees` | it differs by more than 15 °C from the other value of its substance, or from the median of three or more |
| `median` | it is the median of values that stand in the same row one by one (full open notebook table only) |

The first mark that fits stands. Values already marked `donotuse`, `range`, `boiling` or `unit` are no measure for
the others.

A slip of units joins two values without saying which of them slipped. It is told by roundness: people write whole and
half degrees, so that of two values the converted, uneven one is the slip. Where that does not decide, both are marked
`disagrees`.
"""

from dataclasses import dataclass
from statistics import median

RANGE_C = (-200.0, 600.0)
# Values are rounded to 0.01 °C on both sides, some kept in whole kelvins.
BOILING_WITHIN_C = 0.05
UNIT_WITHIN_C = 1.5
DISAGREES_C = 15.0
# Distance to a whole or half degree within which a value was likely written down as one.
ROUND_WITHIN_C = 0.03
ICE_POINT_K = 273.15


@dataclass
class Value:
    """One melting value [°C], its source code and the screen that marked it, if any."""

    melting_c: float
    source: str
    mark: str = ""

    def text(self):
        """As it stands in the table: VALUE@SOURCE or VALUE@SOURCE!MARK."""
        number = f"{self.melting_c:.2f}".rstrip("0").rstrip(".")
        return f"{number}@{self.source}" + (f"!{self.mark}" if self.mark else "")


def is_round(value):
    """Whether a value looks written down in whole or half degrees."""
    return abs(value * 2 - round(value * 2)) / 2 <= ROUND_WITHIN_C


def slipped(first_c, second_c):
    """Which of two values [°C] is a slip of units of the other: "first", "second", "either" or None.

    Four slips: a number in °F or K written down as °C makes a value too high; a number in °C taken for °F or K and
    converted makes one too low.
    """
    low, high = sorted((first_c, second_c))
    name = {low: "first" if low == first_c else "second", high: "first" if high == first_c else "second"}
    fahrenheit = abs(low * 1.8 + 32 - high) <= UNIT_WITHIN_C
    kelvin = abs(low + ICE_POINT_K - high) <= UNIT_WITHIN_C
    if not (fahrenheit or kelvin):
        return None
    if is_round(low) == is_round(high):
        return "either"
    return name[high] if is_round(low) else name[low]


def screen(values, boiling_c):
    """Marks the values of one substance in place; `boiling_c` may be None."""
    for value in values:
        if value.mark:
            continue
        if not RANGE_C[0] <= value.melting_c <= RANGE_C[1]:
            value.mark = "range"
        elif boiling_c is not None and abs(value.melting_c - boiling_c) <= BOILING_WITHIN_C:
            value.mark = "boiling"
    left = [value for value in values if not value.mark]
    if len(left) == 2:
        screen_pair(*left)
    elif len(left) > 2:
        middle = median(value.melting_c for value in left)
        for value in left:
            if abs(value.melting_c - middle) > DISAGREES_C:
                value.mark = "disagrees"


def screen_pair(first, second):
    """Marks two values that contradict each other."""
    if abs(first.melting_c - second.melting_c) <= DISAGREES_C:
        return
    slip = slipped(first.melting_c, second.melting_c)
    if slip == "first":
        first.mark = "unit"
    elif slip == "second":
        second.mark = "unit"
    else:
        first.mark = second.mark = "disagrees"
