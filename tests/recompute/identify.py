#!/usr/bin/env python3
"""Asks `wire.identify` about random samples among random wires, and checks its probabilities against a second computation.

    identify.py --make 60 --seed 7 > questions.jsonl        lines of params
    identify.py --check answers.jsonl --at-least 60         lines of {"params": …, "answer": …}

Written from the formulae alone: x ~ N(μ, diag(u²) + J·diag(τ²)·Jᵀ + model terms), with derivatives written out by hand, where
the program takes differences over one uncertainty on either side. Exit status 1 on any difference.
"""

import json
import math
import random
import sys

import asked
import numpy as np
from scipy.stats import multivariate_normal

RESISTIVITY = {"copper": 1 / 58, "aluminium": 0.028264}  # Ω·mm²/m at 20 °C
ALPHA = {"copper": 0.00393, "aluminium": 0.00403}
DENSITY = {"copper": 8.89, "aluminium": 2.703}
ENAMEL = 1.35
# Differences over ± u of 1/d² against its derivative: 2·(u/d)² of the slope, below 4e-4 where u is 1.4 % of d or less. A
# slope enters the probability through Σ, which moves ln p by that share of the misfit at most. On 200 questions of seed 11 the worst is 1.5e-4.
CLOSE = 1e-3


def make(count, seed):
    dice = random.Random(seed)
    for _ in range(count):
        yield question(dice)


def question(dice):
    size = math.exp(dice.uniform(math.log(0.08), math.log(0.6)))
    among = []
    for _ in range(dice.randint(3, 12)):
        bare = round(size * dice.uniform(0.92, 1.08), 5)
        overall = round(bare * dice.uniform(1.06, 1.18), 5)
        among.append({
            "conductor": dice.choice(["copper", "copper", "aluminium"]),
            "bare_mm": {"value": bare, "u": bare * dice.uniform(0.002, 0.014)},
            "overall_mm": {"value": overall, "u": overall * dice.uniform(0.004, 0.02)},
        })
    true = dice.choice(among)
    d, o = true["bare_mm"]["value"], true["overall_mm"]["value"]

    def near(value, share):
        u = value * dice.uniform(share / 3, share)
        return {"value": value + dice.gauss(0, u), "u": u}

    length = {"value": round(dice.uniform(0.3, 4), 3), "u": 0.001}
    celsius = round(dice.uniform(15, 30), 1)
    sample = {}
    if dice.random() < 0.6:
        sample |= {"length_m": length, "mass_g": near(mass(true, d, o) * length["value"], 0.03)}
    if dice.random() < 0.6:
        hot = 1 + ALPHA[true["conductor"]] * (celsius - 20)
        ohm = near(resistance(true, d) * hot * length["value"], 0.03)
        leads = round(dice.uniform(0, 0.3), 2)
        sample |= {"length_m": length, "temperature_c": {"value": celsius, "u": dice.choice([0, 1.0])},
                   "ohm": {"value": ohm["value"] + leads, "u": ohm["u"]}, "test_leads_ohm": leads}
    seen = {"sample": sample} if sample else {}
    if dice.random() < 0.7 or not seen:
        seen["overall_mm"] = near(o, 0.02)
    if dice.random() < 0.5:
        seen["bare_mm"] = near(d, 0.01)
    if dice.random() < 0.4:
        seen["pitch_mm"] = near(1.02 * o, 0.02)
    return {"seen": seen, "among": among, "limit": 50, "assume": {"none_prior": dice.choice([0, 0.05, 0.3])}}


def mass(w, d, o):
    return math.pi / 4 * (DENSITY[w["conductor"]] * d * d + ENAMEL * (o * o - d * d))


def resistance(w, d):
    return RESISTIVITY[w["conductor"]] / (math.pi / 4 * d * d)


def probabilities(p):
    seen, sample = p["seen"], p["seen"].get("sample", {})
    none = p["assume"]["none_prior"]
    logs = [log_density(w, seen, sample) + math.log((1 - none) / len(p["among"])) for w in p["among"]]
    if none:
        spreads = {"overall": 26, "bare": 26, "pitch": 26, "mass": 11.8 / 0.0053, "ohm": 14.4 / 0.0130}
        far = sum(-math.log(x * math.log(spreads[kind])) for kind, x, _ in observed(seen, sample))
        logs.append(far + math.log(none))
    share = np.exp(np.array(logs) - max(logs))
    return share / share.sum()


def observed(seen, sample):
    """Kind, value and u in mm, kg and Ω to fit the program's units, whose "none" densities are per unit."""
    for kind in ("overall", "bare", "pitch"):
        if kind + "_mm" in seen:
            yield kind, seen[kind + "_mm"]["value"] / 1000, seen[kind + "_mm"]["u"] / 1000
    if "mass_g" in sample:
        yield "mass", sample["mass_g"]["value"] / 1000, sample["mass_g"]["u"] / 1000
    if "ohm" in sample:
        yield "ohm", sample["ohm"]["value"] - sample["test_leads_ohm"], sample["ohm"]["u"]


def log_density(w, seen, sample):
    metal = w["conductor"]
    d, o = w["bare_mm"]["value"], w["overall_mm"]["value"]
    length = sample.get("length_m", {"value": 1, "u": 0})
    t = sample.get("temperature_c", {"value": 20, "u": 0})
    # Columns: bare, overall, mass model, resistivity, pitch factor, length, temperature; each times its u.
    us = [w["bare_mm"]["u"], w["overall_mm"]["u"], 0.005, 0.005, 0.0204, length["u"], t["u"]]
    r, m, hot = resistance(w, d), mass(w, d, o), 1 + ALPHA[metal] * (t["value"] - 20)
    ll = length["value"]
    shows = {
        "overall": (o / 1000, [0, 1e-3, 0, 0, 0, 0, 0]),
        "bare": (d / 1000, [1e-3, 0, 0, 0, 0, 0, 0]),
        "pitch": (1.02 * o / 1000, [0, 1.02e-3, 0, 0, o / 1000, 0, 0]),
        "mass": (m * ll / 1000, [math.pi / 2 * (DENSITY[metal] - ENAMEL) * d * ll / 1000,
                                 math.pi / 2 * ENAMEL * o * ll / 1000, m * ll / 1000, 0, 0, m / 1000, 0]),
        "ohm": (r * ll * hot, [-2 * r / d * ll * hot, 0, 0, r * ll * hot, 0, r * hot, r * ll * ALPHA[metal]]),
    }
    met = list(observed(seen, sample))
    mean = np.array([shows[kind][0] for kind, _, _ in met])
    columns = np.array([shows[kind][1] for kind, _, _ in met]) * us
    x, u = np.array([x for _, x, _ in met]), np.array([u for _, _, u in met])
    # In units of the values, so that no covariance is near the end of a double.
    scale = np.abs(x)
    cov = (columns @ columns.T + np.diag(u**2)) / np.outer(scale, scale)
    return multivariate_normal.logpdf((x - mean) / scale, cov=cov) - np.log(scale).sum()


def check(cases, at_least):
    passed = failed = 0
    worst = 0.0
    for number, case in enumerate(cases, 1):
        p, answer = case["params"], case["answer"]
        want = probabilities(p)
        got = {json.dumps(c["wire"], sort_keys=True): c["probability"] for c in answer["candidates"]}
        off = [abs(got[json.dumps(w, sort_keys=True)] - want[i]) for i, w in enumerate(p["among"])]
        off.append(abs(answer["none_probability"] - (want[-1] if p["assume"]["none_prior"] else 0.0)))
        worst = max(worst, *off)
        good = max(off) <= CLOSE
        passed, failed = passed + good, failed + (not good)
        if not good:
            print(f"case {number}: off by {max(off):.2e}: {json.dumps(p)}")
    if passed + failed < at_least:
        print(f"only {passed + failed} cases of at least {at_least}")
        failed += at_least - passed - failed
    print(f"worst difference of a probability {worst:.1e}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(asked.main(__doc__, make, check))
