#!/usr/bin/env python3
"""check_score.py SCORE.json RECORDINGS: compare a grading with what meltrange promises.

RECORDINGS is the folder that was graded; its truth.json files say how wide each true range is.
Prints every promise as kept, just missed or BROKEN; status 1 when one is broken. Medians and
percentiles over a few dozen moments scatter: they are broken only when they miss by a quarter.
"""

import json
import sys
from pathlib import Path

MOMENTS = ("first_liquid", "last_crystal")
# A controller's cycling moves the rate of one moment by some 5 % around that of the programme: a
# programme of 2 °C/min counts as slow throughout.
SLOW_C_PER_MIN = 2.2
# Largest error at up to 2 °C/min [°C].
LARGEST_ERROR_C = 0.5
# Median and 90th percentile of the absolute error at up to 2 °C/min [°C].
TARGETS_C = {"first_liquid": (0.06, 0.20), "last_crystal": (0.04, 0.12)}
# Nine in ten first liquids of a wide range may be off by this part of the range instead.
PART_OF_RANGE = {"first_liquid": 0.06, "last_crystal": 0.0}
# The same when heating is faster, in seconds.
TARGETS_S = (3.0, 10.0)
# A median or percentile above its target by more than this factor is clearly missed.
CLEARLY = 1.25
# A median or percentile of fewer moments says nothing.
FEWEST_MOMENTS = 5
# How often the truth lies within 2u. Promised are 90 to 99 %; a count over a few dozen moments
# scatters by several percent, so that only clear misses count here.
COVERAGE = (0.85, 1.0)


def quantile(values, share):
    """Quantile by straight lines between order statistics."""
    ordered = sorted(values)
    place = share * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


class Promises:
    """Prints promises as they are checked and remembers whether all were kept."""

    def __init__(self):
        self.broken = 0

    def check(self, kept, words):
        """A promise that is kept or not."""
        self.say("kept" if kept else "BROKEN", words)

    def check_quantile(self, found, most, words):
        """A promise about a median or a percentile."""
        if found <= most:
            self.say("kept", words)
        else:
            self.say("BROKEN" if found > CLEARLY * most else "just missed", words)

    def say(self, verdict, words):
        """Print one promise and count it when broken."""
        print(f"promise {verdict + ':':12} {words}")
        self.broken += verdict == "BROKEN"


def width_c(recordings, name, tube):
    """True width of the range of a tube [°C]; 0 where a moment has no truth."""
    truth = json.loads((recordings / name / "truth.json").read_text(encoding="utf-8"))
    for true_tube in truth["tubes"]:
        if true_tube["tube"] == tube:
            first, last = (true_tube[moment] for moment in MOMENTS)
            return last["temperature_c"] - first["temperature_c"] if first and last else 0.0
    return 0.0


def graded(score, moment):
    """Name of the recording, number of the tube, and error of every graded moment."""
    for recording in score["recordings"]:
        for tube in recording["tubes"]:
            error = tube.get("err", {}).get(moment)
            if error:
                yield recording["name"], tube["tube"], error


def is_slow(error):
    """Whether the block was heated at up to 2 °C/min at this moment."""
    seconds = error["rate_s"]
    return not seconds or abs(60.0 * error["c"] / seconds) <= SLOW_C_PER_MIN


def check_moment(promises, score, recordings, moment):
    """Errors and uncertainties of one moment over all tubes."""
    overall = score["overall"][moment]
    for name in ("missing", "spurious"):
        promises.check(overall[name] == 0, f"{moment}: {name} {overall[name]}, expected 0")
    slow = [entry for entry in graded(score, moment) if is_slow(entry[2])]
    fast = [entry for entry in graded(score, moment) if not is_slow(entry[2])]
    median_c, most_c = TARGETS_C[moment]
    if len(slow) >= FEWEST_MOMENTS:
        errors_c = [abs(error["c"]) for _, _, error in slow]
        found_c = quantile(errors_c, 0.5)
        promises.check_quantile(
            found_c,
            median_c,
            f"{moment}: median error {found_c:.3f} °C, at most {median_c} °C ({len(slow)} moments)",
        )
        # Wide ranges are measured by their own allowance, brought to the common scale.
        scaled_c = [
            abs(error["c"])
            * min(1.0, most_c / max(1e-9, PART_OF_RANGE[moment] * width_c(recordings, name, tube)))
            for name, tube, error in slow
        ]
        found_c = quantile(scaled_c, 0.9)
        promises.check_quantile(
            found_c,
            most_c,
            f"{moment}: 90 % of errors within {found_c:.3f} °C, at most {most_c} °C"
            + (f" or {PART_OF_RANGE[moment]:.0%} of the range" if PART_OF_RANGE[moment] else ""),
        )
    if slow:
        name, tube, worst = max(slow, key=lambda entry: abs(entry[2]["c"]))
        promises.check(
            abs(worst["c"]) <= LARGEST_ERROR_C,
            f"{moment}: largest error {worst['c']:+.3f} °C ({name}, tube {tube}), at most {LARGEST_ERROR_C} °C",
        )
    if len(fast) >= FEWEST_MOMENTS:
        errors_s = [abs(error["rate_s"]) for _, _, error in fast]
        for share, most_s in zip((0.5, 0.9), TARGETS_S):
            found_s = quantile(errors_s, share)
            promises.check_quantile(
                found_s,
                most_s,
                f"{moment}, fast heating: {share:.0%} of errors within {found_s:.1f} s, at most {most_s} s ({len(fast)} moments)",
            )
    coverage = overall["coverage_2u"]
    promises.check(
        coverage is not None and COVERAGE[0] <= coverage <= COVERAGE[1],
        f"{moment}: "
        + ("no uncertainty was stated" if coverage is None else f"{coverage:.0%} of truths within 2u")
        + f", expected {COVERAGE[0]:.0%} to {COVERAGE[1]:.0%} ({overall['n_with_u']} moments)",
    )


def main():
    """Print promises; status 1 when one is broken."""
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    score = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    recordings = Path(sys.argv[2])
    promises = Promises()
    overall = score["overall"]
    for name in ("failed_runs", "missed", "invented", "false_first_liquid"):
        promises.check(overall[name] == 0, f"{name} {overall[name]}, expected 0")
    promises.check(
        overall["outcome_accuracy"] == 1.0,
        f"outcomes {overall['outcome_accuracy']:.0%} right, expected 100%",
    )
    for moment in MOMENTS:
        check_moment(promises, score, recordings, moment)
    if promises.broken:
        print(f"score: {promises.broken} promise(s) broken", file=sys.stderr)
    return 1 if promises.broken else 0


if __name__ == "__main__":
    sys.exit(main())
