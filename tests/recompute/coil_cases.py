"""Random coils to ask about: every one can be wound, and every optional param is there in some and absent in others."""

import math
import random

from coil_model import ASSUMED, CONDUCTORS, FORMERS, turns

RESISTIVITY = {"copper": 1 / 58, "aluminium": 0.028264, "cca10": 0.02671, "cca15": 0.02589}  # Ω·mm²/m
ENAMEL_DENSITY = 1.35  # g/cm³, derived from published masses


def make(count, seed):
    """`count` params objects; the same seed gives the same ones."""
    dice = random.Random(seed)
    made = []
    while len(made) < count:
        params = one(dice)
        if clear_of_a_tie(params):
            made.append(params)
    return made


def one(dice):
    wire = some_wire(dice)
    o = wire["overall_mm"]
    assume = some_assumptions(dice, wire)
    winding = some_winding(dice, o, assume)
    inside = round(dice.uniform(19, 102), 2)
    wall = round(dice.uniform(0.05, 0.25), 3)
    counts, pitch, width = turns(winding, o, ASSUMED | assume)

    former = {"material": dice.choice(sorted(FORMERS)), "inside_diameter_mm": inside, "wall_mm": wall}
    if dice.random() < 0.8:
        former["height_mm"] = round(width + dice.uniform(8, 25), 1)
    if dice.random() < 0.5:
        former["slit_mm"] = dice.choice([0, 0.5, 1.0, 1.5])
    if dice.random() < 0.7:
        former["shims_mm"] = dice.choice([[0.05], [0.03], [0.05, 0.05], [0.1, 0.03]])

    params = {"wire": wire, "former": former, "winding": winding}
    for name, choices in (
        ("leads_m", [0, 0.08, 0.10, 0.12, 0.2]),
        ("tails_m", [0.3, 0.4, 0.5]),
        ("threading_m", [0.5, 0.6, 1.0]),
        ("bench_c", [15, 20, 21.5, 23, 28]),
        ("hot_c", [120, 155, 180, 220]),
        ("offset_mm", [0, 0.5, -0.5]),
    ):
        if dice.random() < 0.8:
            params[name] = dice.choice(choices)
    if dice.random() < 0.8:
        params["gap"] = some_gap(dice, inside, wall, len(counts) * o, width)
    if dice.random() < 0.5:
        target = round(dice.uniform(2, 16), 1)
        params["target"] = {
            "dcr_ohm": target,
            "tolerance_pct": dice.choice([1, 3, 5]),
            "rated_ohm": dice.choice([4, 8, 16]),
        }
    if assume or dice.random() < 0.5:
        params["assume"] = assume
    return params


def some_wire(dice):
    conductor = dice.choice(sorted(CONDUCTORS))
    bare = round(dice.uniform(0.10, 0.50), 4)
    overall = round(bare + dice.uniform(0.015, 0.05), 5)
    limit = dice.uniform(0.004, 0.009)
    # Real wires stray a little from their nominal figures.
    ohm = RESISTIVITY[conductor] / (math.pi / 4 * bare**2) * dice.uniform(0.995, 1.005)
    enamel = ENAMEL_DENSITY * (overall**2 - bare**2)
    grams = math.pi / 4 * (CONDUCTORS[conductor]["density"] * bare**2 + enamel) * dice.uniform(0.995, 1.005)
    return {
        "conductor": conductor,
        "bare_mm": bare,
        "overall_mm": overall,
        "overall_min_mm": round(overall - limit, 5),
        "overall_max_mm": round(overall + limit, 5),
        "ohm_per_m": round(ohm, 6),
        "g_per_m": round(grams, 6),
    }


def some_assumptions(dice, wire):
    pitch = round(dice.uniform(1.0, 1.06), 3)
    # Round wires cannot nest deeper than their pitch lets them.
    nesting = round(dice.uniform(max(0.87, math.sqrt(1 - pitch**2 / 4) + 0.001), 1.0), 3)
    drawn = {
        "pitch_factor": pitch,
        "nesting": nesting,
        "resistance_excess_pct": round(dice.uniform(0, 2), 2),
        "elongation_pct": round(dice.uniform(0, 0.6), 2),
        "glue_mm": dice.choice([0, 0.005, 0.01, 0.02]),
        "skin_mm": dice.choice([0, 0.01, 0.02, 0.03]),
        "wrap_mm": dice.choice([0, 0.05, 0.1]),
        "alternate_layer_turns": dice.choice(["one_less", "equal"]),
    }
    kept = dice.choice([0, 0.5, 1])
    assume = {name: value for name, value in drawn.items() if dice.random() < kept}
    # A pitch alone beside the default nesting is possible too: its floor at 1.0 is 0.866, below the default 0.90.
    return assume


def some_winding(dice, o, assume):
    layers = dice.randint(1, 6)
    width = round(dice.uniform(max(5, 12 * o), 25), 1)
    form = dice.choice(["width", "width", "full", "counts", "both"])
    pitch = (ASSUMED | assume)["pitch_factor"] * o
    if form == "width":
        return {"layers": layers, "width_mm": width}
    if form == "full":
        # A width made for whole turns: the count must not fall by one to rounding.
        return {"layers": layers, "width_mm": dice.randint(11, 80) * pitch + o}
    most = math.floor((width - o) / (o * dice.uniform(1.001, 1.06)))
    counts = [most] + [most - dice.randint(0, 2) for _ in range(layers - 1)]
    winding = {"layers": layers, "turns_per_layer": counts}
    if form == "both":
        winding["width_mm"] = width
    return winding


def some_gap(dice, inside, wall, radial, width):
    gap = {
        "pole_mm": round(inside - 2 * dice.uniform(0.1, 0.4), 2),
        # Some do not fit: the figures are wanted all the same.
        "bore_mm": round(inside + 2 * (wall + radial + dice.uniform(-0.1, 0.6)), 2),
        "plate_mm": round(dice.uniform(3, width * 1.2), 1),
        "min_inner_mm": 0.2,
        "min_outer_mm": 0.25,
    }
    if dice.random() < 0.2:
        del gap[dice.choice(sorted(gap))]
    return gap


def clear_of_a_tie(params):
    """Whether rounding cannot change the number of turns: on a whole turn (which 1e-9 keeps), or well off one."""
    if "turns_per_layer" in params["winding"]:
        return True
    o = params["wire"]["overall_mm"]
    pitch = (ASSUMED | params.get("assume", {}))["pitch_factor"] * o
    held = (params["winding"]["width_mm"] - o) / pitch
    off = abs(held - round(held))
    return off < 1e-11 or off > 1e-6
