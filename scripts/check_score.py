#!/usr/bin/env python3
"""check_score.py SCORE.json: compare a grading with what meltrange promises.

Fails on what must never happen (a failed run, a tube missed or invented, a wrong outcome, a first
liquid called on something else, a moment left out, an error above 0.5 °C at up to 2 °C/min).
The targets for medians and 90th percentiles are printed as met or missed.
"""

import json
import sys

MOMENTS = ("first_liquid", "last_crystal")
SLOW_C_PER_MIN = 2.0
LARGEST_ERROR_C = 0.5
# Median and 90th percentile of the absolute error at up to 2 °C/min [°C].
TARGETS_C = {"first_liquid": (0.06, 0.20), "last_crystal": (0.04, 0.12)}
COVERAGE = (0.90, 0.99)


def quantile(values, share):
    """Quantile by straight lines between order statistics."""
    ordered = sorted(values)
    place = share * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def slow_errors_c(recordings, moment):
    """Recording name and error [°C] of every graded moment at up to 2 °C/min."""
    for recording in recordings:
        for tube in recording["tubes"]:
            error = tube.get("err", {}).get(moment)
            if not error:
                continue
            seconds = error["rate_s"]
            rate_c_per_min = 60.0 * error["c"] / seconds if seconds else 0.0
            if abs(rate_c_per_min) <= SLOW_C_PER_MIN:
                yield recording["name"], error["c"]


def main():
    """Print promises and targets; status 1 when a promise is broken."""
    with open(sys.argv[1], encoding="utf-8") as file:
        score = json.load(file)
    overall = score["overall"]
    broken = []
    for name in ("failed_runs", "missed", "invented", "false_first_liquid"):
        if overall[name]:
            broken.append(f"{name} is {overall[name]}, expected 0")
    if overall["outcome_accuracy"] != 1.0:
        broken.append(f"outcome_accuracy is {overall['outcome_accuracy']:.3f}, expected 1")
    for moment in MOMENTS:
        for name in ("missing", "spurious"):
            if overall[moment][name]:
                broken.append(f"{moment}: {name} {overall[moment][name]}, expected 0")
        errors = list(slow_errors_c(score["recordings"], moment))
        broken += [
            f"{recording}: {moment} is {error_c:+.2f} °C off, expected at most {LARGEST_ERROR_C} °C"
            for recording, error_c in errors
            if abs(error_c) > LARGEST_ERROR_C
        ]
        if errors:
            sizes = [abs(error_c) for _, error_c in errors]
            found = (quantile(sizes, 0.5), quantile(sizes, 0.9))
            words = ", ".join(
                f"{name} {value:.3f} of {target:.2f} °C {'met' if value <= target else 'MISSED'}"
                for name, value, target in zip(("median", "90 %"), found, TARGETS_C[moment])
            )
            print(f"target {moment}: {words} ({len(sizes)} moments)")
        coverage = overall[moment]["coverage_2u"]
        if coverage is not None:
            met = COVERAGE[0] <= coverage <= COVERAGE[1]
            print(
                f"target {moment}: {100 * coverage:.0f} % within 2u of {COVERAGE[0]:.0%} to "
                f"{COVERAGE[1]:.0%} {'met' if met else 'MISSED'} ({overall[moment]['n_with_u']} moments)"
            )
    for line in broken:
        print(f"score: {line}", file=sys.stderr)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
