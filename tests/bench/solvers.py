#!/usr/bin/env python3
"""Sets the planner's search beside OR-tools CP-SAT and HiGHS on the same shop instances, with the same time.

    cargo build --release -p coilwright-planner --example solve
    python3 -m venv tests/bench/.venv && tests/bench/.venv/bin/pip install -r tests/bench/solvers.txt
    tests/bench/.venv/bin/python tests/bench/solvers.py target/release/examples/solve tests/fixtures/planning/shop/shop_m*.json

All solve one model: a job whole on one accepted wire or not at all, coils never joined, the safe length of a spool, begun
coils where they lie, the winder's minutes up to each due day; greatest worth. The planner has one thread, the two solvers
--threads. They get the time that the planner took, and then each of the times of --seconds; only solving is timed, not the
building of their models. The planner is given rounds, not seconds. Every plan is checked by one checker here, which knows the instance and nothing
of any solver; a plan that does not hold ends the script with 1, and so does a spoiled one that passes. Bounds are of the
whole number below.
"""

import argparse
import json
import math
import subprocess
import sys
import time
from collections import defaultdict

import highspy
import numpy as np
from ortools.sat.python import cp_model


def main():
    """Prints the table; 1 if any plan does not hold."""
    asked = argparse.ArgumentParser(description="the planner beside CP-SAT and HiGHS")
    asked.add_argument("solve", help="the built example `solve`")
    asked.add_argument("files", nargs="+", help="shop instances")
    asked.add_argument("--seconds", default="2,30", help="times given to the two solvers besides the planner's own")
    asked.add_argument("--threads", type=int, default=1, help="threads of the two solvers")
    asked.add_argument("--rounds", help="rounds of the planner; else its usual ones")
    asked.add_argument("--quick", action="store_true", help="the planner's quick bound in place of its full proof")
    args = asked.parse_args()
    print("| instance | seconds | planner | CP-SAT | HiGHS |")
    print("|---|---:|---:|---:|---:|")
    wrong = 0
    for path in args.files:
        with open(path, encoding="utf-8") as f:
            shop = Shop(json.load(f))
        took, plan, bound = planner(args, path)
        own, faults = cell(shop, "planner", took, took, plan, bound)
        wrong += faults + unseen(shop, plan)
        for given in [took, *(float(s) for s in args.seconds.split(",") if s)]:
            cells = [own if given == took else ""]
            for name, solver in (("CP-SAT", cp_sat), ("HiGHS", highs)):
                told, faults = cell(shop, name, given, *solver(shop, given, args.threads))
                cells.append(told)
                wrong += faults
            print(f"| {shop.name} | {given:.2f} | {' | '.join(cells)} |", flush=True)
    return 1 if wrong else 0


def cell(shop, name, given, took, plan, bound):
    """Worth, bound and gap in a few words, and how much is wrong with the plan."""
    faults = [] if plan is None else shop.faults(plan)
    worth = None if plan is None else shop.worth(plan)
    if worth is not None and bound is not None and worth > bound:
        faults.append(f"worth {worth} above the bound {bound}")
    for fault in faults[:5]:
        print(f"{shop.name}, {name}: {fault}", file=sys.stderr)
    told = "no plan" if worth is None else str(worth)
    if bound is not None:
        told += f" ≤ {bound}"
    if worth is not None and bound:
        told += f" ({100 * (bound - worth) / bound:.2f} %)"
    if abs(took - given) > max(0.05, 0.1 * given):
        told += f" in {took:.2f} s"
    return told, len(faults)


def unseen(shop, plan):
    """How many spoiled forms of a plan the checker takes for good ones: it must see each."""
    if not plan:
        return 0
    (job, spool, coils), rest = plan[0], plan[1:]
    of_wire = shop.spools[spool]["wire"]
    spoiled = {
        "a coil too few": [(job, spool, coils - 1), *rest] if coils > 1 else rest + [(job, spool, 0)],
        "a coil too many": [(job, spool, coils + 1), *rest],
        "a spool that is not there": [(job, "nowhere", coils), *rest],
        "given twice": [*plan, plan[0]],
        "everything on one spool": [
            (j, spool, x["coils"]) for j, x in shop.jobs.items() if shop.penalty(x, of_wire) is not None
        ],
    }
    others = [s for s, x in shop.spools.items() if shop.penalty(shop.jobs[job], x["wire"]) is None]
    if others:
        spoiled["a wire that is not accepted"] = [(job, others[0], coils), *rest]
    taken = [name for name, form in spoiled.items() if not shop.faults(form)]
    for name in taken:
        print(f"{shop.name}: the checker does not see {name}", file=sys.stderr)
    return len(taken)


class Shop:
    """An instance, and what it asks of a plan."""

    def __init__(self, file):
        self.name = file["name"]
        self.spools = {s["id"]: s for s in file["spools"]}
        self.jobs = {j["id"]: j for j in file["jobs"]}
        self.minutes_per_day = file.get("minutes_per_day")

    def penalty(self, job, wire):
        """What a wire takes off a job's worth; none if it is not accepted."""
        if wire == job["wire"]:
            return 0
        return next((a["penalty"] for a in job["alts"] if a["wire"] == wire), None)

    def limits(self):
        """Minutes up to each due day; what is begun is granted."""
        begun = defaultdict(int)
        for job in self.jobs.values():
            if any(job["started"].values()):
                begun[job["due_day"]] += job["minutes"]
        days = sorted({j["due_day"] for j in self.jobs.values()})
        return {d: max(self.minutes_per_day * d, sum(m for day, m in begun.items() if day <= d)) for d in days}

    def worth(self, plan):
        wires = {job: self.spools[spool]["wire"] for job, spool, _ in plan}
        return sum(self.jobs[j]["priority"] - (self.penalty(self.jobs[j], w) or 0) for j, w in wires.items())

    def faults(self, plan):
        """All that is wrong with a plan, a list of (job, spool, coils) with begun coils in it."""
        faults, lies, drawn, new = [], defaultdict(dict), defaultdict(int), set()
        for job, spool, coils in plan:
            if job not in self.jobs or spool not in self.spools or coils <= 0 or spool in lies[job]:
                faults.append(f"{job} on {spool}: unknown, twice or no coils")
                continue
            lies[job][spool] = coils
        for name, job in self.jobs.items():
            done = lies.get(name, {})
            if done:
                if sum(done.values()) != job["coils"]:
                    faults.append(f"{name}: {sum(done.values())} of {job['coils']} coils")
                wires = {self.spools[s]["wire"] for s in done}
                if len(wires) != 1 or self.penalty(job, next(iter(wires))) is None:
                    faults.append(f"{name}: on {wires}")
            for spool in self.spools:
                begun, there = job["started"].get(spool, 0), done.get(spool, 0)
                if done and there < begun:
                    faults.append(f"{name}: begun coils moved off {spool}")
                drawn[spool] += job["w"] * max(begun, there)
                if there > begun:
                    new.add(spool)
        for name in new:
            if drawn[name] > self.spools[name]["cap"]:
                faults.append(f"{name}: {drawn[name]} cm of {self.spools[name]['cap']}")
        if self.minutes_per_day:
            for day, limit in self.limits().items():
                used = sum(self.jobs[j]["minutes"] for j in lies if self.jobs[j]["due_day"] <= day)
                if used > limit + 1e-9:
                    faults.append(f"day {day}: {used} minutes of {limit}")
        return faults

    def model(self):
        """Ways (job, worth, coils, spools with the most coils each, w) and rooms by spool, begun coils taken off."""
        room = {name: s["cap"] for name, s in self.spools.items()}
        for job in self.jobs.values():
            for spool, n in job["started"].items():
                room[spool] -= n * job["w"]
        ways = []
        for name, job in self.jobs.items():
            rest = job["coils"] - sum(job["started"].values())
            on = {self.spools[s]["wire"] for s, n in job["started"].items() if n}
            for wire in [job["wire"], *(a["wire"] for a in job["alts"])]:
                if on and wire not in on:
                    continue
                most = {s: min(rest, room[s] // job["w"]) for s, x in self.spools.items() if x["wire"] == wire}
                most = {s: n for s, n in most.items() if n > 0}
                if sum(most.values()) >= rest:
                    ways.append((name, job["priority"] - self.penalty(job, wire), rest, most, job["w"]))
        return ways, room

    def plan(self, ways, chosen, coils):
        """A solver's numbers as a plan."""
        plan = defaultdict(int)
        for k, (job, *_) in enumerate(ways):
            if chosen[k]:
                for spool, n in self.jobs[job]["started"].items():
                    plan[job, spool] += n
        for (k, spool), n in coils.items():
            plan[ways[k][0], spool] += n
        return [(job, spool, n) for (job, spool), n in plan.items() if n]


def planner(args, path):
    command = [args.solve, path]
    command += ["--rounds", args.rounds] if args.rounds else []
    command += ["--quick"] if args.quick else []
    told = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    plan = [(a["job"], a["spool"], a["coils"]) for a in told["assign"]]
    return told["milliseconds"] / 1000, plan, told["bound"]


def cp_sat(shop, given, threads):
    ways, room = shop.model()
    model = cp_model.CpModel()
    z = [model.new_bool_var("") for _ in ways]
    x, on, of = {}, defaultdict(list), defaultdict(list)
    for k, (job, _, rest, most, w) in enumerate(ways):
        of[job].append(z[k])
        for spool, n in most.items():
            x[k, spool] = model.new_int_var(0, n, "")
            on[spool].append((x[k, spool], w))
        model.add(cp_model.LinearExpr.sum([x[k, s] for s in most]) == rest * z[k])
    for choices in of.values():
        model.add_at_most_one(choices)
    for spool, terms in on.items():
        model.add(cp_model.LinearExpr.weighted_sum(*map(list, zip(*terms, strict=True))) <= room[spool])
    for day, limit in shop.limits().items() if shop.minutes_per_day else ():
        due = [k for k, way in enumerate(ways) if shop.jobs[way[0]]["due_day"] <= day]
        minutes = [shop.jobs[ways[k][0]]["minutes"] for k in due]
        if sum(minutes) > limit:
            model.add(cp_model.LinearExpr.weighted_sum([z[k] for k in due], minutes) <= math.floor(limit))
    model.maximize(cp_model.LinearExpr.weighted_sum(z, [way[1] for way in ways]) if ways else 0)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = given
    solver.parameters.num_workers = threads
    solver.parameters.random_seed = 1
    began = time.perf_counter()
    status = solver.solve(model)
    took = time.perf_counter() - began
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    bound = whole(solver.best_objective_bound)
    if not found:
        # A bound of zero is what it says when it came to none.
        return took, None, bound or None
    coils = {key: solver.value(v) for key, v in x.items()}
    return took, shop.plan(ways, [solver.value(v) for v in z], coils), bound


def highs(shop, given, threads):
    ways, room = shop.model()
    keys = [(k, spool) for k, way in enumerate(ways) for spool in way[3]]
    at = {key: len(ways) + i for i, key in enumerate(keys)}
    upper = [1.0] * len(ways) + [float(ways[k][3][s]) for k, s in keys]
    rows, low, high = [], [], []

    def add(terms, below, above):
        rows.append(terms)
        low.append(below)
        high.append(above)

    of, on = defaultdict(list), defaultdict(list)
    for k, (job, _, rest, most, w) in enumerate(ways):
        of[job].append((k, 1.0))
        add([(at[k, s], 1.0) for s in most] + [(k, -float(rest))], 0.0, 0.0)
        for s in most:
            on[s].append((at[k, s], float(w)))
    for terms in of.values():
        add(terms, -highspy.kHighsInf, 1.0)
    for spool, terms in on.items():
        add(terms, -highspy.kHighsInf, float(room[spool]))
    for day, limit in shop.limits().items() if shop.minutes_per_day else ():
        due = [(k, float(shop.jobs[w[0]]["minutes"])) for k, w in enumerate(ways) if shop.jobs[w[0]]["due_day"] <= day]
        if sum(m for _, m in due) > limit:
            add(due, -highspy.kHighsInf, float(limit))
    n = len(upper)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = n, len(rows)
    lp.col_cost_ = np.array([-float(w[1]) for w in ways] + [0.0] * len(keys))
    lp.col_lower_, lp.col_upper_ = np.zeros(n), np.array(upper)
    lp.row_lower_, lp.row_upper_ = np.array(low), np.array(high)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * n
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0] + [len(r) for r in rows])
    lp.a_matrix_.index_ = np.array([i for r in rows for i, _ in r], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([v for r in rows for _, v in r])
    if not ways:
        return 0.0, [], 0
    h = highspy.Highs()
    for option, value in {"output_flag": False, "threads": threads, "time_limit": given, "random_seed": 1, "mip_rel_gap": 0.0}.items():
        h.setOptionValue(option, value)
    h.passModel(lp)
    began = time.perf_counter()
    h.run()
    took = time.perf_counter() - began
    info = h.getInfo()
    bound = whole(-info.mip_dual_bound)
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return took, None, bound
    told = np.rint(h.getSolution().col_value).astype(int)
    return took, shop.plan(ways, told[: len(ways)], {key: int(told[i]) for key, i in at.items()}), bound


def whole(bound):
    """The whole number at or below a bound; none if the solver came to none."""
    return math.floor(bound + 1e-6) if math.isfinite(bound) else None


if __name__ == "__main__":
    sys.exit(main())
