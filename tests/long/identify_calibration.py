#!/usr/bin/env python3
"""Is `wire.identify` right as often as it says? Simulated samples of known wires, asked about over the whole catalog.

    identify_calibration.py BINARY [--samples 2000] [--seed 1]

A true wire is drawn from the catalog by the documented weights (computed wires a fifth of listed ones). Its diameters lie
anywhere within the maker's limits, all equally likely, where the program takes a normal law; enamel has 1.35 ± 0.10 g/cm³
where the program has 0.5 % on the mass; resistivity, pitch and instruments err as documented. A random choice of two to five
measurements is made and sent. Prints a table: answers by the probability of the first candidate, and how many were right.
"None of these" is switched off, since no stranger is drawn. Exit status 1 if a row of 30 or more is off by more than three
standard deviations of its count and by more than 0.05.
"""

import argparse
import json
import math
import random
import re
import subprocess
import sys
import tempfile
import urllib.request

ALPHA = {"copper": 0.00393, "aluminium": 0.00403, "cca10": 0.0040, "cca15": 0.0040}
DENSITY = {"copper": 8.89, "aluminium": 2.703, "cca10": 3.32, "cca15": 3.63}
BINS = [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.99, 1.0001]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("binary")
    parser.add_argument("--samples", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    print(f"seed {args.seed}, {args.samples} samples")
    with tempfile.TemporaryDirectory() as folder:
        daemon = subprocess.Popen(
            [args.binary, "serve", "--data", folder + "/data", "--listen", "127.0.0.1:0"],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )
        try:
            url = next(m.group() for line in daemon.stdout if (m := re.search(r"http://[0-9.:]+", line)))
            return run(url, args.samples, random.Random(args.seed))
        finally:
            daemon.terminate()
            daemon.wait()


def ask(url, method, params):
    body = json.dumps({"jsonrpc": "2.0", "id": 1, "method": method, "params": params}).encode()
    request = urllib.request.Request(url + "/rpc", body, {"Content-Type": "application/json"})
    with urllib.request.urlopen(request, timeout=60) as reply:
        answer = json.load(reply)
    if "error" in answer:
        raise SystemExit(f"{method} {params}: {answer['error']}")
    return answer["result"]


def catalog(url):
    wires = []
    for standing in ("listed", "computed"):
        page = {"standing": standing, "limit": 1000}
        while True:
            answer = ask(url, "wire.list", page)
            wires += answer["items"]
            if "next_cursor" not in answer:
                break
            page["cursor"] = answer["next_cursor"]
    return wires


def run(url, samples, dice):
    wires = catalog(url)
    weights = [1 if w["standing"] == "listed" else 0.2 for w in wires]
    rows = [[0, 0.0, 0] for _ in BINS[1:]]
    for _ in range(samples):
        wire = dice.choices(wires, weights)[0]
        params = {"seen": sample(wire, dice), "limit": 1, "assume": {"none_prior": 0}}
        first = ask(url, "wire.identify", params)["candidates"][0]
        p = first["probability"]
        row = rows[next(i for i, top in enumerate(BINS[1:]) if p < top)]
        row[0] += 1
        row[1] += p
        row[2] += first["wire"] == wire["wire"]
    print("| said | answers | mean said | right | share right |\n|---|---:|---:|---:|---:|")
    bad = 0
    for (low, high), (n, total, right) in zip(zip(BINS, BINS[1:]), rows, strict=True):
        if n == 0:
            continue
        mean, share = total / n, right / n
        print(f"| {low:.2f}–{min(high, 1):.2f} | {n} | {mean:.3f} | {right} | {share:.3f} |")
        bad += n >= 30 and abs(share - mean) > max(0.05, 3 * math.sqrt(mean * (1 - mean) / n))
    print("calibrated" if bad == 0 else f"{bad} rows are off")
    return 1 if bad else 0


def sample(wire, dice):
    def within(figure):
        limit = figure["u"] * math.sqrt(3)
        return figure["value"] + dice.uniform(-limit, limit)

    metal = wire["conductor"]
    d, o = within(wire["bare_mm"]), within(wire["overall_mm"])
    o = max(o, d)
    nominal = wire["bare_mm"]["value"]
    r = wire["ohm_per_m"]["value"] * (nominal / d) ** 2 * dice.gauss(1, 0.005)
    enamel = dice.gauss(1.35, 0.10)
    m = math.pi / 4 * (DENSITY[metal] * d * d + enamel * (o * o - d * d))
    length = round(dice.uniform(0.5, 3), 3)
    celsius = dice.uniform(17, 27)

    def read(value, u):
        return {"value": max(dice.gauss(value, u), value / 10), "u": u}

    kinds = dice.sample(["overall", "bare", "pitch", "mass", "ohm"], dice.randint(2, 5))
    seen, piece = {}, {}
    if "overall" in kinds:
        seen["overall_mm"] = read(o, dice.choice([0.003, 0.008]))
    if "bare" in kinds:
        seen["bare_mm"] = read(d, 0.003)
    if "pitch" in kinds:
        seen["pitch_mm"] = read(dice.gauss(1.02, 0.0204) * o, 0.002)
    if "mass" in kinds:
        piece |= {"length_m": {"value": length, "u": 0.001}, "mass_g": read(m * length, 0.01 + 0.002 * m)}
    if "ohm" in kinds:
        true = r * length * (1 + ALPHA[metal] * (celsius - 20))
        piece |= {"length_m": {"value": length, "u": 0.001}, "ohm": read(true, 0.01 * true),
                  "temperature_c": {"value": celsius, "u": 0}}
    if piece:
        seen["sample"] = piece
    return seen


sys.exit(main())
