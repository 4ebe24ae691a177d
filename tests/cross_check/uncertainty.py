"""The program's calibrations and budgets against GTC, a general package for uncertainty.

Usage: uncertainty.py MELTRANGE [SEED]. Random standards and readings are made, given to the program
as files, and worked out again by GTC: least-squares lines (unweighted and weighted) with their
uncertainty and degrees of freedom at several temperatures, and means of runs with effective degrees
of freedom and coverage factors. Ends with status 1 and the first difference.
"""

import json
import math
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import GTC

PROGRAM = sys.argv[1]
SEED = int(sys.argv[2]) if len(sys.argv) > 2 else 1
CASES = 25
# Both sides work in doubles; GTC's Student's t is good to about 1e-6.
SAME = 1e-6

compared = 0


def same(what: str, found: float, expected: float, within: float = SAME) -> None:
    global compared
    compared += 1
    if not math.isclose(found, expected, rel_tol=within, abs_tol=1e-9):
        sys.exit(f"{what}: the program says {found!r}, GTC {expected!r}")


def ask(*arguments: str) -> dict:
    done = subprocess.run([PROGRAM, *arguments, "--json"], capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{arguments}: {done.stderr}")
    return json.loads(done.stdout)


def line(chance: random.Random, folder: Path, weighted: bool) -> None:
    count = chance.randint(4, 12)
    indicated = sorted(round(chance.uniform(40.0, 260.0), 2) for _ in range(count))
    spread = chance.uniform(0.05, 0.3)
    correction = [0.4 + 0.004 * (t - 150.0) + chance.gauss(0.0, spread) for t in indicated]
    u = [round(chance.uniform(0.05, 0.4), 3) for _ in indicated]
    rows = ["substance,reference_c,indicated_c" + (",reference_u_c" if weighted else "")]
    for place, (t, c) in enumerate(zip(indicated, correction, strict=True)):
        rows.append(f"s{place},{t + c!r},{t!r}" + (f",{u[place]!r}" if weighted else ""))
    path = folder / "standards.csv"
    path.write_text("\n".join(rows) + "\n")
    at = [60.0, 150.0, 240.0]
    wanted = [part for t in at for part in ("--at", str(t))]
    found = ask("calibrate", str(path), "--degree", "1", "--origin", "150", *wanted)
    x = [t - 150.0 for t in indicated]
    y = [float(row.split(",")[1]) - t for row, t in zip(rows[1:], indicated, strict=True)]
    if weighted:
        fit = GTC.type_b.line_fit_wls([GTC.constant(v) for v in x], [GTC.ureal(v, s) for v, s in zip(y, u, strict=True)], u)
        # The program widens by Birge's ratio where the scatter contradicts what was stated.
        if found["uncertainty_from"] != "stated":
            return
    else:
        fit = GTC.type_a.line_fit(x, y)
    a, b = fit.a_b
    same("constant", found["coefficients"][0], a.x)
    same("slope", found["coefficients"][1], b.x)
    same("u(constant)", found["standard_uncertainties"][0], a.u)
    same("u(slope)", found["standard_uncertainties"][1], b.u)
    same("covariance", found["covariance"][0][1], a.u * b.u * GTC.get_correlation(a, b), 1e-5)
    for t, part in zip(at, found["at"], strict=True):
        corrected = a + b * (t - 150.0)
        same(f"correction at {t}", part["correction_c"], corrected.x)
        same(f"its u at {t}", part["standard_uncertainty_c"], corrected.u)
    if not weighted:
        same("degrees of freedom", found["degrees_of_freedom"], (a + 90.0 * b).df)


def determination(chance: random.Random, folder: Path) -> None:
    count = chance.randint(2, 6)
    u = round(chance.uniform(0.01, 0.04), 3)
    first = [round(121.5 + chance.gauss(0.0, 0.12), 3) for _ in range(count)]
    rows = ["run,tube,first_liquid_c,last_crystal_c,u_first_c,u_last_c"]
    rows += [f"{run},1,{value!r},{value + 1.0!r},{u!r},{u!r}" for run, value in enumerate(first, 1)]
    path = folder / "readings.csv"
    path.write_text("\n".join(rows) + "\n")
    found = ask("determine", str(path), "--agree-within", "9")["first_liquid"]
    mean = GTC.type_a.mean(first)
    scatter = GTC.type_a.standard_deviation(first)
    # Readings and what the runs scatter beyond them: the larger of the two in all.
    beyond = math.sqrt(max(0.0, scatter**2 - u**2) / count)
    parts = [GTC.ureal(0.0, u / math.sqrt(count))]
    if beyond > 0.0:
        parts.append(GTC.ureal(0.0, beyond, count - 1))
    result = mean + sum(parts)
    same("mean", found["value_c"], result.x)
    same("u", found["standard_uncertainty_c"], result.u)
    freedom = found["effective_degrees_of_freedom"]
    same("degrees of freedom", math.inf if freedom is None else freedom, result.df)
    same("k", found["coverage_factor"], GTC.reporting.k_factor(result.df, 95.0), 1e-5)


with tempfile.TemporaryDirectory() as name:
    chance = random.Random(SEED)
    for _ in range(CASES):
        line(chance, Path(name), weighted=False)
        line(chance, Path(name), weighted=True)
        determination(chance, Path(name))
print(f"cross-check with GTC {GTC.version}: {compared} numbers agree")
