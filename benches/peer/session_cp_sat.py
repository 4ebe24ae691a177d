#!/usr/bin/env python3
"""session_cp_sat.py FOLDER --planner SESSION_QUALITY: session plans beside a general-purpose solver.

Models each session of FOLDER (`session_quality --dump FOLDER`) for CP-SAT of OR-Tools and prints its makespan
beside ours as Markdown. The model is the one of docs/models/session.md: loads are slots on benches, cooling is
tau * (largest logarithm before - smallest logarithm after), scans are unions of stretches of temperature.

Discretised: every constant, logarithms included, to 1e-4 min; each bench has a limited number of slots
(`--spare` more than loads shared evenly need), so that the solver's bound holds for plans with no
more loads at any bench. The model is a plain one: no hint, no order among tubes of a sample, a horizon of 60 min for
each tube. Every plan, the solver's and ours, is re-timed exactly before makespans are compared.
"""

import argparse
import json
import math
import pathlib
import subprocess
import tomllib

from ortools.sat.python import cp_model

# Units in a minute.
UNITS = 10_000
TOUCHING_C = 1e-6
POLICY = {
    "replicates": 2,
    "independent_loads": True,
    "scan_rate_c_per_min": 1.0,
    "soak_min": 3.0,
    "start_below_c": 3.0,
    "stop_above_c": 2.0,
    "cool_below_c": 20.0,
    "load_min": 2.0,
    "resettle_min": 1.0,
}


def units(minutes):
    """Minutes as whole units."""
    return round(minutes * UNITS)


class Session:
    """A session with the windows of its samples."""

    def __init__(self, path):
        order = tomllib.loads(path.read_text())
        self.policy = {**POLICY, **order.get("policy", {})}
        self.operators = order.get("operators", 1)
        self.benches = order["bench"]
        self.samples = order["sample"]
        for sample in self.samples:
            sample.setdefault("replicates", self.policy["replicates"])
            sample["from"] = sample["first_liquid_c"] - self.policy["start_below_c"]
            sample["to"] = sample["last_crystal_c"] + self.policy["stop_above_c"]
        if not self.policy["independent_loads"]:
            raise SystemExit("session_cp_sat: only sessions with independent loads are modelled")

    def fits(self, sample, bench):
        """Whether a bench takes a sample on its own."""
        limit = min(bench["max_c"], sample.get("leave_below_c", math.inf))
        return sample["to"] <= limit + 1e-6 and sample["from"] >= bench["room_c"] + 1 - 1e-6

    def load_c(self, sample, bench):
        """Temperature at or below which a load with this lowest sample is set in."""
        return max(sample["first_liquid_c"] - self.policy["cool_below_c"], bench["room_c"] + 1)

    def retimed(self, plan):
        """Exact makespan of a plan: per bench a list of (start, samples); the starts give the turns."""
        queue = sorted((start, b, k) for b, loads in enumerate(plan) for k, (start, _) in enumerate(loads))
        free = [0.0] * len(self.benches)
        at_c = [bench["start_c"] for bench in self.benches]
        hands = []
        tubes = [0] * len(self.samples)
        for _, b, k in queue:
            bench, policy = self.benches[b], self.policy
            samples = [self.samples[s] for s in plan[b][k][1]]
            assert 0 < len(set(plan[b][k][1])) == len(samples) <= bench["places"]
            for s in plan[b][k][1]:
                tubes[s] += 1
            top = max(sample["to"] for sample in samples)
            assert top <= min(sample.get("leave_below_c", math.inf) for sample in samples) + 1e-6
            assert all(self.fits(sample, bench) for sample in samples)
            load_c = min(self.load_c(sample, bench) for sample in samples)
            ready = free[b]
            if at_c[b] > load_c:
                ratio = (at_c[b] - bench["room_c"]) / (load_c - bench["room_c"])
                ready += bench["cool_time_constant_min"] * math.log(ratio)
            start = self.first_free(hands, ready)
            hands.append(start)
            time, now_c, soak = start + policy["load_min"], min(at_c[b], load_c), policy["soak_min"]
            for low, high in self.windows(samples):
                time += (low - now_c) / bench["heat_rate_c_per_min"] + soak
                time += (high - low) / policy["scan_rate_c_per_min"]
                now_c, soak = high, policy["resettle_min"]
            free[b], at_c[b] = time, now_c
        assert tubes == [sample["replicates"] for sample in self.samples]
        return max(free, default=0.0)

    def first_free(self, hands, ready):
        """The first moment at which somebody can set a load in."""
        load_min = self.policy["load_min"]
        for start in sorted([ready] + [begun + load_min for begun in hands if begun + load_min > ready]):
            moments = [start] + [begun for begun in hands if start < begun < start + load_min - 1e-9]
            busy = [sum(b - 1e-9 <= m < b + load_min - 1e-9 for b in hands) for m in moments]
            if max(busy) < self.operators:
                return start
        raise AssertionError("after the last load somebody is free")

    @staticmethod
    def windows(samples):
        """Scans, merged where they touch."""
        merged = []
        for low, high in sorted((sample["from"], sample["to"]) for sample in samples):
            if merged and low <= merged[-1][1] + TOUCHING_C:
                merged[-1][1] = max(merged[-1][1], high)
            else:
                merged.append([low, high])
        return merged


def solved(session, seconds, workers, spare):
    """Status, bound [min] and plan of the solver."""
    policy = session.policy
    model = cp_model.CpModel()
    tubes = sum(sample["replicates"] for sample in session.samples)
    places = max(bench["places"] for bench in session.benches)
    slots = math.ceil(math.ceil(tubes / places) / len(session.benches)) + spare
    horizon = units(60.0 * tubes)
    edges = sorted({edge for sample in session.samples for edge in (sample["from"], sample["to"])})
    stretches = list(zip(edges, edges[1:]))
    makespan = model.new_int_var(0, horizon, "makespan")
    held, starts, hands = {}, {}, []
    for b, bench in enumerate(session.benches):
        room, tau = bench["room_c"], bench["cool_time_constant_min"]
        rate = bench["heat_rate_c_per_min"]
        able = [s for s, sample in enumerate(session.samples) if session.fits(sample, bench)]

        def cooled(temperature_c):
            return units(tau * math.log(temperature_c - room)) if temperature_c > room else -horizon

        def heated(temperature_c):
            return units(temperature_c / rate)

        before_cool, before_heat, before_end, before_used = (
            cooled(bench["start_c"]),
            heated(bench["start_c"]),
            0,
            None,
        )
        for k in range(slots):
            y = {s: model.new_bool_var(f"y{s},{b},{k}") for s in able}
            for s, one in y.items():
                held[s, b, k] = one
            used = model.new_bool_var("")
            model.add_max_equality(used, list(y.values()))
            model.add(sum(y.values()) <= bench["places"])
            if before_used is not None:
                model.add_implication(used, before_used)
            span = lambda values: (min(values), max(values))
            tops = {s: heated(session.samples[s]["to"]) for s in able}
            lows = {s: heated(session.load_c(session.samples[s], bench)) for s in able}
            tops_ln = {s: cooled(session.samples[s]["to"]) for s in able}
            lows_ln = {s: cooled(session.load_c(session.samples[s], bench)) for s in able}
            top, top_ln = (model.new_int_var(*span(v.values()), "") for v in (tops, tops_ln))
            low, low_ln = (model.new_int_var(*span(v.values()), "") for v in (lows, lows_ln))
            chosen_top = {s: model.new_bool_var("") for s in able}
            chosen_low = {s: model.new_bool_var("") for s in able}
            for chosen in (chosen_top, chosen_low):
                model.add(sum(chosen.values()) == used)
                for s in able:
                    model.add_implication(chosen[s], y[s])
            for s in able:
                model.add(top >= tops[s]).only_enforce_if(y[s])
                model.add(top_ln >= tops_ln[s]).only_enforce_if(y[s])
                model.add(low <= lows[s]).only_enforce_if(y[s])
                model.add(low_ln <= lows_ln[s]).only_enforce_if(y[s])
                model.add(top == tops[s]).only_enforce_if(chosen_top[s])
                model.add(top_ln == tops_ln[s]).only_enforce_if(chosen_top[s])
                model.add(low == lows[s]).only_enforce_if(chosen_low[s])
                model.add(low_ln == lows_ln[s]).only_enforce_if(chosen_low[s])
                limit = session.samples[s].get("leave_below_c")
                if limit is not None:
                    for other in able:
                        if session.samples[other]["to"] > limit + 1e-6:
                            model.add_bool_or(~y[s], ~y[other])
            begins = model.new_int_var(-horizon, horizon, "")
            model.add_min_equality(begins, [low, before_heat])
            scan, resettles, open_before = 0, 0, None
            for from_c, to_c in stretches:
                covering = [
                    y[s]
                    for s in able
                    if session.samples[s]["from"] <= from_c and to_c <= session.samples[s]["to"]
                ]
                if not covering:
                    open_before = None
                    continue
                is_open = model.new_bool_var("")
                model.add_max_equality(is_open, covering)
                scan += units((to_c - from_c) * (1 / policy["scan_rate_c_per_min"] - 1 / rate)) * is_open
                opens = model.new_bool_var("")
                if open_before is None:
                    model.add(opens == is_open)
                else:
                    model.add(opens >= is_open - open_before)
                resettles += units(policy["resettle_min"]) * opens
                open_before = is_open
            start, end = (model.new_int_var(0, horizon, "") for _ in range(2))
            cooling = model.new_int_var(0, horizon, "")
            model.add(cooling >= before_cool - low_ln).only_enforce_if(used)
            model.add(start >= before_end + cooling).only_enforce_if(used)
            fixed = units(policy["load_min"]) + units(policy["soak_min"]) - units(policy["resettle_min"])
            model.add(end == start + fixed + top - begins + scan + resettles).only_enforce_if(used)
            model.add(makespan >= end).only_enforce_if(used)
            length = units(policy["load_min"])
            hands.append(model.new_optional_fixed_size_interval_var(start, length, used, ""))
            starts[b, k] = (start, used)
            before_cool, before_heat, before_end, before_used = top_ln, top, end, used
    for s, sample in enumerate(session.samples):
        model.add(sum(one for (t, _, _), one in held.items() if t == s) == sample["replicates"])
    model.add_cumulative(hands, [1] * len(hands), session.operators)
    model.minimize(makespan)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = workers
    status = solver.solve(model)
    bound = solver.best_objective_bound / UNITS
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return solver.status_name(status), bound, None
    plan = []
    for b in range(len(session.benches)):
        used = [k for k in range(slots) if solver.value(starts[b, k][1])]
        of = lambda k: [s for (s, c, l), one in held.items() if (c, l) == (b, k) and solver.value(one)]
        plan.append([(solver.value(starts[b, k][0]), of(k)) for k in used])
    return solver.status_name(status), bound, plan


def ours(session, path, planner, seconds, seed):
    """Makespan of our plan, re-timed, and our bound."""
    said = subprocess.run(
        [planner, "--plan", path, str(seconds), str(seed)], check=True, capture_output=True, text=True
    )
    found = json.loads(said.stdout)
    numbers = {sample["id"]: number for number, sample in enumerate(session.samples)}
    loads = {bench["bench"]: bench["loads"] for bench in found["benches"]}
    plan = [
        [
            (load["load_start_min"], [numbers[tube["sample"]] for tube in load["tubes"]])
            for load in loads.get(bench["name"], [])
        ]
        for bench in session.benches
    ]
    makespan = session.retimed(plan)
    assert abs(makespan - found["makespan_min"]) < 0.01, (path, makespan, found["makespan_min"])
    return makespan, found["lower_bound_min"]


def main():
    """Print one line an instance."""
    arguments = argparse.ArgumentParser(description="session plans beside a general-purpose solver")
    arguments.add_argument("folder", type=pathlib.Path)
    arguments.add_argument("--planner", required=True, help="the program session_quality")
    arguments.add_argument("--seconds", type=float, default=60.0, help="for the solver; 60")
    arguments.add_argument("--long", type=float, default=30.0, help="seconds of our long runs, seeds 50 and 51")
    arguments.add_argument("--workers", type=int, default=2)
    arguments.add_argument("--spare", type=int, default=3, help="slots of a bench beyond an even share; 3")
    arguments.add_argument("--only", default="", help="part of the names of instances")
    given = arguments.parse_args()
    print("| instance | bound | solver's bound | CP-SAT | ours, 1 s | ours, 10 s | best known | CP-SAT over | 1 s over | 10 s over |")
    print("|---|---|---|---|---|---|---|---|---|---|", flush=True)
    for path in sorted(path for path in given.folder.glob("*.toml") if given.only in path.stem):
        session = Session(path)
        status, solver_bound, plan = solved(session, given.seconds, given.workers, given.spare)
        theirs = session.retimed(plan) if plan else math.inf
        one, bound = ours(session, path, given.planner, 1, 1)
        ten, _ = ours(session, path, given.planner, 10, 1)
        long = [ours(session, path, given.planner, given.long, seed)[0] for seed in (50, 51)]
        best = min([theirs, one, ten] + long)
        over = lambda found: "–" if math.isinf(found) else f"{100 * (found / best - 1):.2f} %"
        shown = "none" if plan is None else f"{theirs:.2f}" + (" (proved)" if status == "OPTIMAL" else "")
        print(
            f"| {path.stem} | {bound:.1f} | {solver_bound:.1f} | {shown} | {one:.2f} | {ten:.2f} | {best:.2f} "
            f"| {over(theirs)} | {over(one)} | {over(ten)} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
