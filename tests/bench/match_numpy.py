#!/usr/bin/env python3
"""Sets the search of `coil.match` beside the same search in vectorised numpy, in one run on one machine.

    cargo build --release -p coilwright-catalog --example match_speed
    tests/.venv/bin/python tests/bench/match_numpy.py target/release/examples/match_speed

The program searches the whole catalog for eight targets; this script searches the same wires for the same targets twice
over, each a single pass of array operations: by trial of every whole count of turns, and by solving for the counts as the
program does. Both must find the same coils, or the script ends with 1. Reported are the middle times of each.
"""

import json
import math
import subprocess
import sys
import time

import numpy as np

ROUNDS = 25
LAYERS = np.arange(1, 7)


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    told = json.loads(subprocess.run([sys.argv[1]], check=True, capture_output=True, text=True).stdout)
    print(f"{'candidates':>10} {'found':>6} {'Rust µs':>9} {'answer ms':>9} {'trial ms':>9} {'ratio':>7} {'solved µs':>9} {'ratio':>6}")
    worst, wrong, rates = [math.inf, math.inf, 0.0], 0, []
    for case in told:
        wires = np.array(case["wires"]).T.copy()
        found = {tuple(f) for f in case["found"]}
        trial_s, by_trial = timed(trial, wires, case["target"])
        solved_s, by_solving = timed(solved, wires, case["target"])
        for name, other in (("trial", by_trial), ("solving", by_solving)):
            if other != found:
                wrong += 1
                print(f"{case['target']}: {name} finds {sorted(other ^ found)[:5]} that the other does not")
        rust = case["search_s"]
        rates.append(case["candidates"] / rust)
        worst = [min(worst[0], trial_s / rust), min(worst[1], solved_s / rust), max(worst[2], case["answer_s"])]
        print(
            f"{case['candidates']:10} {len(found):6} {rust * 1e6:9.1f} {case['answer_s'] * 1e3:9.2f} {trial_s * 1e3:9.2f}"
            f" {trial_s / rust:7.0f} {solved_s * 1e6:9.0f} {solved_s / rust:6.1f}"
        )
    print(f"{min(rates) / 1e6:.0f} to {max(rates) / 1e6:.0f} million candidates a second")
    print(f"at least {worst[0]:.0f} × numpy by trial, {worst[1]:.1f} × numpy by solving; slowest answer {worst[2] * 1e3:.2f} ms")
    print(f"{len(told) * 2 - wrong} comparisons agree, {wrong} do not")
    return 1 if wrong else 0


def timed(search, wires, target):
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        found = search(wires, target)
        times.append(time.perf_counter() - began)
    return sorted(times)[len(times) // 2], set(zip(*(a.tolist() for a in found[:3]), strict=True))


def rows(wires, t):
    """Wire in a first turn and in one turn of each upper layer, and the diameter at the cross-over: wires by layers."""
    overall, pitch, step, glue, over = (wires[i][:, None] for i in (0, 1, 2, 9, 11))
    base = t["outside_m"] + 2 * glue
    turn = np.hypot(np.pi * (base + overall + 2 * (LAYERS - 1) * step), pitch)
    first = turn[:, :1]
    above = np.cumsum(turn, axis=1) - first
    return first, above, base + 2 * LAYERS * overall + 2 * over, base


def counts(wires, t):
    """Fewest and most turns on the first layer in the range of widths: wires by layers."""
    overall, pitch, less = (wires[i][:, None] for i in (0, 1, 8))
    narrow = np.maximum(t["width_min_m"], 2 * overall)
    fewest = np.floor((narrow - overall) / pitch + 1e-9)
    most = np.floor((t["width_max_m"] - overall) / pitch + 1e-9)
    return np.maximum(fewest, np.where(LAYERS > 1, 1 + less, 1)), most


def mass(wires, at, layers, n, length, base, width):
    """Mass of the coils found, as the program computes it for each of its own."""
    overall, _, step, _, _, kg, shrink, leads, _, glue, skin, _, adhesive = wires[:, at]
    wound = length * shrink
    build = overall + step * (LAYERS[layers] - 1)
    void = np.pi * (base + build) * width * build - wound * np.pi / 4 * overall**2
    film = np.pi * base * width * glue
    skins = np.pi * (base + 2 * build) * width * skin
    return kg * (wound + leads) + adhesive * (np.maximum(void, 0) + film + skins)


def trial(wires, t):
    """Every wire, layer count and whole count of turns, each decided for itself."""
    first, above, crossover, base = rows(wires, t)
    fewest, most = counts(wires, t)
    n = np.arange(1, int(most.max()) + 1)
    ohm, excess, leads, less = (wires[i][:, None, None] for i in (3, 4, 7, 8))
    length = n * (first + above)[:, :, None] - less * above[:, :, None]
    dcr = ohm * (length * excess + leads)
    good = (n >= fewest[:, :, None]) & (n <= most[:, :, None])
    good &= ((t["bore_m"] - crossover) / 2 >= t["min_outer_m"] - 1e-9)[:, :, None]
    good &= np.abs(dcr / t["dcr_ohm"] - 1) <= t["tolerance"] * (1 + 1e-9)
    at, layers, turns = np.nonzero(good)
    width = np.maximum(n[turns] * wires[1][at] + wires[0][at], t["width_min_m"])
    weighs = mass(wires, at, layers, n[turns], length[at, layers, turns], base[at, 0], width)
    return at, LAYERS[layers], n[turns], weighs


def solved(wires, t):
    """The gap first, then the counts solved for, as the program does."""
    first, above, crossover, base = rows(wires, t)
    fits = (t["bore_m"] - crossover) / 2 >= t["min_outer_m"] - 1e-9
    fewest, most = counts(wires, t)
    ohm, excess, leads, less = (wires[i][:, None] for i in (3, 4, 7, 8))

    def turns_for(dcr):
        return ((dcr / ohm - leads) / excess + less * above) / (first + above)

    low = np.maximum(np.floor(turns_for(t["dcr_ohm"] * (1 - t["tolerance"]))), fewest)
    high = np.minimum(np.ceil(turns_for(t["dcr_ohm"] * (1 + t["tolerance"]))), most)
    at, layers = np.nonzero(fits & (high >= low))
    many = (high - low)[at, layers].astype(int) + 1
    at, layers, low = np.repeat(at, many), np.repeat(layers, many), np.repeat(low[at, layers], many)
    n = low + np.arange(len(low)) - np.repeat(np.cumsum(many) - many, many)
    length = n * (first[at, 0] + above[at, layers]) - wires[8][at] * above[at, layers]
    dcr = wires[3][at] * (length * wires[4][at] + wires[7][at])
    good = np.abs(dcr / t["dcr_ohm"] - 1) <= t["tolerance"] * (1 + 1e-9)
    at, layers, n, length = at[good], layers[good], n[good], length[good]
    width = np.maximum(n * wires[1][at] + wires[0][at], t["width_min_m"])
    weighs = mass(wires, at, layers, n, length, base[at, 0], width)
    return at, LAYERS[layers], n.astype(int), weighs


if __name__ == "__main__":
    sys.exit(main())
