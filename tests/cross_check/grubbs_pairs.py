#!/usr/bin/env python3
"""Critical values of Grubbs' test for two outlying values, as tabulated in crates/metrology/src/comparison/critical.rs.

The statistic is the sum of squares about the mean without the two largest (or smallest) of p values, over that of all;
small is outlying. Its distribution for a normal sample is integrated, not simulated:

1. F_m(u) is the chance that the largest of m values lies no further than u above their mean, in units of the root of
   their sum of squares. Taking the largest away leaves m - 1 values whose own largest must lie below it, which gives
   F_m from F_(m-1) (F. E. Grubbs, Ann. Math. Statist. 21 (1950) 27).
2. The two largest, seen from the mean and the root of the sum of squares of the other m = p - 2, follow a bivariate t
   density that depends on their quadratic form q alone; the statistic is 1/(1 + q). In polar coordinates what is left
   is an integral of F_m of the second largest over the angle and over the statistic.

The test is for either side, so that each side has half the chance: 2.5 % and 0.5 %, as in table 5 of ISO 5725-2.

With the argument --check nothing is printed but what differs from the table in the source. Needs numpy and scipy.
"""

import re
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammaln

SIDES = {"five": 0.025, "one": 0.005}
FEWEST, MOST = 4, 40
SOURCE = Path(__file__).parent.parent.parent / "crates/metrology/src/comparison/critical.rs"
STEPS = 4001
# Twice the steps move no value of the table by more than this.
LAST_DIGIT = 2e-6


def largest_below(most):
    """Tables of F_m for m = 2 .. most: functions of the angle whose sine is u over its largest value."""
    angle = np.linspace(0.0, np.pi / 2, STEPS)
    tables = {}
    for m in range(3, most + 1):
        log_c = gammaln((m - 1) / 2) - gammaln((m - 2) / 2) - 0.5 * np.log(np.pi)
        v = np.sqrt(m / (m - 1)) * np.tan(angle)
        inner = chance(tables, m - 1, v)
        density = m * np.exp(log_c) * np.cos(angle) ** (m - 3) * inner
        if m == 3:
            # The largest of two others lies at a fixed place: the step is put where it is, not on the grid.
            start = np.arctan(np.sqrt(0.5) / np.sqrt(1.5))
            total = 3 * np.exp(log_c) * np.clip(angle - start, 0.0, None)
        else:
            total = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2 * np.diff(angle))])
        tables[m] = (angle, total / total[-1])
        assert abs(total[-1] - 1) < 1e-4, (m, total[-1])
    return tables


def chance(tables, m, u):
    """F_m(u)."""
    if m == 2:
        return (u >= np.sqrt(0.5) - 1e-12).astype(float)
    sine = np.clip(u * np.sqrt(m / (m - 1)), 0.0, 1.0)
    return np.interp(np.arcsin(sine), *tables[m])


def below(tables, p, g):
    """Chance that the statistic of the two largest of p values is at most g."""
    m, nu = p - 2, p - 3
    theta = (np.arange(1500) + 0.5) * np.pi / 1500
    q = (np.arange(400) + 0.5) / 400 * g ** (nu / 2)
    rho = np.sqrt(q ** (-2 / nu) - 1)[:, None]
    second = rho * (np.sqrt(1 + 2 / m) * np.cos(theta) - np.sin(theta)) / np.sqrt(2)
    mean = chance(tables, m, second).mean()
    return p * (p - 1) / (2 * np.pi) * np.pi * mean * g ** (nu / 2)


def main():
    tables = largest_below(MOST - 2)
    rows = []
    for p in range(FEWEST, MOST + 1):
        found = [brentq(lambda g: below(tables, p, g) - side, 1e-9, 0.9, xtol=1e-9) for side in SIDES.values()]
        rows.append(tuple(found))
    if "--check" in sys.argv[1:]:
        table = SOURCE.read_text().split("const PAIRS", 1)[1].split("];", 1)[0]
        listed = [tuple(map(float, pair)) for pair in re.findall(r"\((0\.\d+), (0\.\d+)\)", table)]
        wrong = 0
        for p, at, found in zip(range(FEWEST, MOST + 1), listed, rows, strict=True):
            if max(abs(a - b) for a, b in zip(at, found, strict=True)) > LAST_DIGIT:
                print(f"grubbs_pairs: {p} values: the source has {at}, integrated {found}", file=sys.stderr)
                wrong += 1
        sys.exit(1 if wrong else 0)
    print("\n".join(f"    ({five:.6f}, {one:.6f})," for five, one in rows))


if __name__ == "__main__":
    main()
