#!/usr/bin/env python3
"""Asks the bench's methods, the uncertainties of a design, the inductance and a spool's length about random things, and
checks the answers against a second computation.

    physics.py --make 120 --seed 7 > questions.jsonl        lines of {"family": …, "calls": [{"method": …, "params": …}]}
    physics.py --check answers.jsonl --at-least 120         the same with the last call's "answer"

Written from the trade's formulae alone. Uncertainties go by derivatives (the package `uncertainties`), where the program
nudges each input by one u on either side; verdicts by another quadrature; inductance by elliptic integrals of scipy, and
Nagaoka's coefficient by those of mpmath; spools by a least-squares solver. A `spool` of null in a call is the one received
before. Exit status 1 on any difference, or if too little was compared.
"""

import json
import math
import random
import sys

try:
    import mpmath
    import numpy as np
    from scipy.integrate import quad
    from scipy.optimize import least_squares
    from scipy.special import ellipe, ellipkm1
    from scipy.stats import norm
    from uncertainties import ufloat
    from uncertainties.umath import log10, sqrt
except ImportError as missing:
    sys.exit(f"{missing}: tests/.venv is older than requirements.txt; run tests/run once, which makes it anew")

import asked
from coil_cases import RESISTIVITY
from coil_model import ADHESIVE_DENSITY, CONDUCTORS, MU0

# Values: some dozens of operations in double precision from the same decimal inputs.
CLOSE = 1e-9
# Uncertainties by derivatives against one u on either side: apart by (u/x)²/6 times the third derivative. The worst input
# is 1.5 % of an overall diameter: 4e-5 times at most 12. The void that adhesive fills is a small difference of volumes.
CLOSE_U, CLOSE_U_ADHESIVE = 5e-4, 5e-3
# Per cent of coils: a quadrature to 1e-12 of a probability on each of some fifty pieces.
CLOSE_PCT = 1e-7
# Two quadratures with 32 and 40 nodes.
CLOSE_HENRY = 1e-10
# Shares of u: the program fits reading after reading, this all at once; both are linear only about the answer.
CLOSE_FIT = 1e-4
ONE_SIDED_95 = 1.64
ENAMEL, ENAMEL_U = 1.35, 0.10  # g/cm³, derived from published masses
# Coils of a count that comes once in thousands: so many more than expected are not met by chance (1e-9, Poisson).
RARE = 12
UNEVEN = 0.01  # of one turn, common practice


def make(count, seed):
    dice = random.Random(seed)
    for i in range(count):
        family = sorted(FAMILIES)[i % len(FAMILIES)]
        yield {"family": family, "calls": FAMILIES[family][0](dice)}


# ---- a design with its uncertainties -------------------------------------------------------------------------------


def some_coil(dice):
    metal = dice.choice(sorted(CONDUCTORS))
    bare = round(dice.uniform(0.08, 0.45), 4)
    overall = round(bare * dice.uniform(1.05, 1.2), 4)
    ohm = RESISTIVITY[metal] / (math.pi / 4 * bare**2) * dice.uniform(0.98, 1.02)
    wire = {"conductor": metal, "bare_mm": bare, "overall_mm": overall}
    if dice.random() < 0.5:
        wire["overall_min_mm"], wire["overall_max_mm"] = round(overall * 0.98, 5), round(overall * 1.025, 5)
    if dice.random() < 0.7:
        wire["ohm_per_m"] = round(ohm, 6) if dice.random() < 0.5 else known(ohm, 0.003 * ohm, 6)
    coil = {
        "wire": wire,
        "former": {
            "material": {"density_g_per_cm3": known(dice.uniform(0.9, 2.7), 0.05, 3)},
            "inside_diameter_mm": known(dice.uniform(19, 102), 0.02, 2),
            "wall_mm": known(dice.uniform(0.05, 0.2), 0.004, 3),
            "height_mm": known(dice.uniform(25, 60), 0.1, 1),
        },
        "winding": {"turns_per_layer": [dice.randint(20, 70)] * dice.randint(1, 4)},
        "leads_m": known(dice.uniform(0.05, 0.3), 0.01, 2),
        "gap": {"pole_mm": known(18.5, 0.01, 2), "bore_mm": known(150, 0.02, 2), "plate_mm": known(8, 0.03, 2)},
        "bench_c": dice.choice([15, 20, 24.5]),
    }
    if dice.random() < 0.5:
        most = max(coil["winding"]["turns_per_layer"])
        coil["winding"]["width_mm"] = known(overall * (1.02 * most + 1), 0.05, 2)
    return coil


def known(value, u, digits):
    return {"value": round(value, digits), "u": round(u, digits + 2)}


def number(given):
    """A measurement, or a number without doubt."""
    return ufloat(given["value"], given["u"]) if isinstance(given, dict) else ufloat(given, 0)


def ask_design(dice):
    return [{"method": "coil.design", "params": some_coil(dice)}]


def design(p):
    """Figures with their uncertainties, inputs shared as they are: lengths in mm and m as named."""
    wire, former, gap = p["wire"], p["former"], p["gap"]
    metal = CONDUCTORS[wire["conductor"]]
    d0, o0 = wire["bare_mm"], wire["overall_mm"]
    bare = ufloat(d0, 0.006 * d0)
    limits = "overall_max_mm" in wire
    overall = ufloat(o0, (wire["overall_max_mm"] - wire["overall_min_mm"]) / 2 / math.sqrt(3) if limits else 0.015 * o0)
    by_rho = RESISTIVITY[wire["conductor"]] / (math.pi / 4 * d0**2)
    given = wire.get("ohm_per_m", by_rho)
    if isinstance(given, dict):
        r20 = ufloat(given["value"], given["u"])
    else:
        r20 = given * (d0 / bare) ** 2 * ufloat(1, 0.005)
    per_m = math.pi / 4 * (metal["density"] * d0**2 + ENAMEL * (o0**2 - d0**2))  # g/m
    own = math.hypot(0.005, math.pi / 4 * ENAMEL_U * (o0**2 - d0**2) / per_m)
    g_per_m = math.pi / 4 * (metal["density"] * bare**2 + ENAMEL * (overall**2 - bare**2)) * ufloat(1, own)

    k, b = ufloat(1.02, 0.01), ufloat(0.90, 0.04)
    excess, stretch = ufloat(metal["excess_pct"], 0.5) / 100, ufloat(0.2, 0.2) / 100
    glue, skin = ufloat(0.01, 0.005), ufloat(0.02, 0.01)
    tails, threading = ufloat(0.40, 0.05), ufloat(0.60, 0.10)
    inside, wall, height = (number(former[n]) for n in ("inside_diameter_mm", "wall_mm", "height_mm"))
    leads = number(p["leads_m"])
    counts = p["winding"]["turns_per_layer"]
    n, most = len(counts), max(counts)
    if "width_mm" in p["winding"]:
        width = number(p["winding"]["width_mm"])
        pitch = (width - overall) / most
    else:
        pitch = k * overall
        width = most * pitch + overall
    base = inside + 2 * wall + 2 * glue
    diameters = [base + overall + 2 * i * b * overall for i in range(n)]
    build = overall * (1 + b * (n - 1))
    length = sum(c * sqrt((math.pi * d) ** 2 + pitch**2) for c, d in zip(counts, diameters, strict=True)) / 1000
    wound = length / (1 + stretch)
    crossover = base + 2 * n * overall + 2 * skin
    dcr = r20 * (length * (1 + excess) + leads)
    void = math.pi * (base + build) * width * build - wound * 1000 * math.pi / 4 * overall**2
    film, cover = math.pi * base * width * glue, math.pi * (base + 2 * build) * width * skin
    return {
        "pitch_mm": pitch,
        "wound_width_mm": most * pitch + overall,
        "base_diameter_mm": base,
        "length_m": length,
        "need_m": length + tails + threading,
        "draw_m": wound + tails + threading,
        "dcr_ohm": dcr,
        "dcr_bench_ohm": dcr * (1 + metal["alpha"] * (p["bench_c"] - 20)),
        "outside_nested_mm": base + 2 * build,
        "outside_crossover_mm": crossover,
        "clearance_inner_mm": (inside - number(gap["pole_mm"])) / 2,
        "clearance_outer_mm": (number(gap["bore_mm"]) - crossover) / 2,
        "overhang_mm": (width - number(gap["plate_mm"])) / 2,
        "turn_ohm": r20 * (1 + excess) * math.pi * diameters[-1] / 1000,
        "mass.conductor_g": metal["density"] * math.pi / 4 * bare**2 * (wound + leads),
        "mass.wire_g": g_per_m * (wound + leads),
        "mass.former_g": number(former["material"]["density_g_per_cm3"]) * math.pi * (inside + wall) * wall * height / 1000,
        "mass.adhesive_g": ADHESIVE_DENSITY * (void + film + cover) * ufloat(1, 0.20) / 1000,
        "wire": {"r20": r20, "excess": excess, "diameters": diameters, "pitch": pitch},
    }


def check_design(p, answer):
    for path, want in design(p).items():
        if path != "wire":
            yield path, at(answer, path), want.n, CLOSE * max(abs(want.n), 1e-3)
            close = CLOSE_U_ADHESIVE if path == "mass.adhesive_g" else CLOSE_U
            yield f"{path}.u", at(answer, path, "u"), want.s, close * want.s


# ---- the bench -----------------------------------------------------------------------------------------------------


def some_meter(dice):
    if dice.random() < 0.5:
        return {"pct": dice.choice([0.1, 0.5, 0.8]), "digits": dice.choice([1, 3]), "resolution_ohm": dice.choice([0.001, 0.01])}
    reference = dice.choice([3.3, 5.6, 8.2])
    meter = {"reference_ohm": reference, "reference_pct": dice.choice([0.1, 1]), "resolution_ohm": dice.choice([0.001, 0.01])}
    if dice.random() < 0.5:
        meter["reference_reading_ohm"] = round(reference * dice.uniform(0.97, 1.03) + 0.2, 3)
    return meter


def of_meter(meter, shown, leads):
    """What the meter shows for an ohm, the u it gives a reading, and how much of the leads' error ends in the coil."""
    step = meter["resolution_ohm"]
    if "reference_ohm" not in meter:
        return 1.0, (meter["pct"] / 100 * shown + meter["digits"] * step) / math.sqrt(3), 1.0
    reference = meter["reference_ohm"]
    gain = (meter["reference_reading_ohm"] - leads) / reference if "reference_reading_ohm" in meter else 1.0
    coil = (shown - leads) / gain
    digits = step / math.sqrt(12) * math.hypot(1, coil / reference)
    return gain, gain * math.hypot(meter["reference_pct"] / 100 * coil / math.sqrt(3), digits), 1 - coil / reference


def ask_reading(dice):
    dcr = dice.uniform(2.5, 9)
    params = {
        "dcr_ohm": known(dcr, dcr * dice.uniform(0.003, 0.03), 3),
        "conductor": dice.choice(sorted(CONDUCTORS)),
        "target_ohm": round(dcr * dice.uniform(0.97, 1.03), 2),
        "tolerance_pct": round(dice.uniform(0.5, 6), 2),
        "temperature_c": known(dice.uniform(12, 32), dice.uniform(0.1, 1.5), 1),
        "test_leads_ohm": known(dice.uniform(0.05, 0.4), 0.005, 2),
        "meter": some_meter(dice),
    }
    return [{"method": "coil.reading", "params": params}]


def check_reading(p, answer):
    dcr, t, leads = number(p["dcr_ohm"]), number(p["temperature_c"]), number(p["test_leads_ohm"])
    alpha, wanted, tolerance = CONDUCTORS[p["conductor"]]["alpha"], p["target_ohm"], p["tolerance_pct"] / 100
    warm = 1 + alpha * (t.n - 20)
    gain = of_meter(p["meter"], 1.0, leads.n)[0]
    near = gain * wanted * warm + leads.n
    _, u_meter, share = of_meter(p["meter"], near, leads.n)
    expect = gain * dcr * (1 + alpha * (t - 20)) + leads
    yield "expect", at(answer, "expect_ohm"), expect.n, CLOSE * expect.n
    yield "expect.u", at(answer, "expect_ohm", "u"), expect.s, CLOSE_U * expect.s
    u = math.sqrt(u_meter**2 + (gain * wanted * alpha * t.s) ** 2 + (share * leads.s) ** 2)
    yield "reading_u", at(answer, "reading_u_ohm"), u, CLOSE * u
    good = [gain * wanted * (1 + s * tolerance) * warm + leads.n for s in (-1, 1)]
    accept = [good[0] + ONE_SIDED_95 * u, good[1] - ONE_SIDED_95 * u]
    decides = accept[0] < accept[1]
    yield "can_decide", answer.get("can_decide"), decides, 0
    for name, want in zip(("min", "max"), accept, strict=True):
        yield name, at(answer, f"accept_ohm.{name}"), want if decides else None, CLOSE * 10
    taken = accept if decides else good
    middle, spread = expect.n, gain * dcr.s * warm

    def density(r):
        return norm.pdf(r, middle, spread)

    def is_taken(r):
        return norm.cdf((taken[1] - r) / u) - norm.cdf((taken[0] - r) / u)

    def integral(f, low, high):
        if low >= high:
            return 0.0
        inside = [x for limit in taken for j in range(-8, 9) for x in [limit + j * u] if low < x < high]
        cuts = sorted({low, high, *inside, *[middle + j * spread for j in range(-9, 10) if low < middle + j * spread < high]})
        return sum(quad(f, a, b, epsabs=1e-12, epsrel=1e-12)[0] for a, b in zip(cuts, cuts[1:], strict=False))

    ends = middle - 9 * spread, middle + 9 * spread
    bad_taken = integral(lambda r: density(r) * is_taken(r), ends[0], min(good[0], ends[1]))
    bad_taken += integral(lambda r: density(r) * is_taken(r), max(good[1], ends[0]), ends[1])
    good_refused = integral(lambda r: density(r) * (1 - is_taken(r)), max(good[0], ends[0]), min(good[1], ends[1]))
    yield "bad_taken", at(answer, "bad_taken_pct"), 100 * bad_taken, CLOSE_PCT
    yield "good_refused", at(answer, "good_refused_pct"), 100 * good_refused, CLOSE_PCT


def ask_trim(dice):
    coil = some_coil(dice)
    figures = design(coil)
    alpha = CONDUCTORS[coil["wire"]["conductor"]]["alpha"]
    t, leads, meter = round(dice.uniform(12, 32), 1), round(dice.uniform(0.05, 0.4), 2), some_meter(dice)
    gain = of_meter(meter, 1.0, leads)[0]
    dcr = figures["dcr_ohm"].n * dice.uniform(0.98, 1.03)
    turn = figures["turn_ohm"].n
    params = {
        "coil": coil,
        "reading_ohm": round(gain * dcr * (1 + alpha * (t - 20)) + leads, 3),
        "test_leads_ohm": {"value": leads, "u": 0.003},
        "temperature_c": {"value": t, "u": round(dice.uniform(0.1, 1), 2)},
        "target_ohm": round(dcr - turn * dice.uniform(0.2, 6), 3),
        "tolerance_ohm": round(max(turn * dice.uniform(0.3, 1.5), 0.001 * dcr), 4),
        "meter": meter,
    }
    return [{"method": "coil.trim", "params": params}]


def check_trim(p, answer):
    coil = design(p["coil"])
    alpha = CONDUCTORS[p["coil"]["wire"]["conductor"]]["alpha"]
    leads, t, shown = number(p["test_leads_ohm"]), number(p["temperature_c"]), p["reading_ohm"]
    gain, u_meter, share = of_meter(p["meter"], shown, leads.n)
    net = ufloat(shown - leads.n, u_meter) - ufloat(0, abs(share) * leads.s)
    dcr = net / gain / (1 + alpha * (t - 20))
    wire, r20 = coil["wire"], coil["wire"]["r20"].n
    lead_m = number(p["coil"]["leads_m"])
    magnet_wire = ufloat(r20 * lead_m.n, r20 * lead_m.s)
    planned = coil["dcr_ohm"].n - magnet_wire.n
    ratio = (dcr - magnet_wire) / planned
    even = ufloat(1, UNEVEN)
    turns = [r20 * (1 + wire["excess"].n) * math.pi * d.n / 1000 for d in wire["diameters"]]
    counts = p["coil"]["winding"]["turns_per_layer"]
    outer = ratio * turns[-1] * even
    for name, path, want in (("dcr", "dcr_ohm", dcr), ("ratio", "ratio", ratio), ("turn", "turn_ohm", outer)):
        yield name, at(answer, path), want.n, CLOSE * abs(want.n)
        yield f"{name}.u", at(answer, path, "u"), want.s, CLOSE_U * want.s
    yield "meter_u", at(answer, "meter_u_ohm"), u_meter, CLOSE * u_meter

    def off(unwound):
        """Planned ohms of so many turns from outside."""
        gone = 0.0
        for turn, count in zip(reversed(turns), reversed(counts), strict=True):
            here = min(unwound, count)
            gone, unwound = gone + here * turn, unwound - here
        return gone

    def value(unwound):
        return dcr - (dcr - magnet_wire) * (off(unwound) / planned) * even

    warm = gain * (1 + alpha * (t.n - 20))
    for step in answer["steps"]:
        then = value(step["turns"])
        name = f"{step['turns']} turns"
        yield name, at(step, "dcr_ohm"), then.n, CLOSE * then.n
        yield f"{name}.u", at(step, "dcr_ohm", "u"), then.s, CLOSE_U * then.s
        reading = shown - (dcr.n - then.n) * warm
        yield f"{name} reads", at(step, "reading_ohm"), reading, CLOSE * reading
        yield f"{name} exit", step["exit"], "same" if step["turns"] % 1 == 0 else "opposite", 0
    target, tolerance = p["target_ohm"], p["tolerance_ohm"]
    yield "stop", at(answer, "stop_ohm"), (target - tolerance) * warm + leads.n, CLOSE * shown
    # All whole turns there are, then all halves; the nearest within, of two as near the one with more left.
    choice = None
    for first in (0.0, 0.5):
        within = [(abs(value(first + i).n - target), first + i) for i in range(sum(counts) - 1)]
        within = [w for w in within if w[0] <= tolerance * (1 + 1e-9)]
        if choice is None and within:
            choice = min(within)[1]
    if choice is None:
        choice = max(i for i in range(sum(counts)) if i == 0 or value(i).n >= target)
    decides = u_meter / outer.n <= 1
    yield "unwind", answer.get("unwind_turns"), float(choice) if decides else None, 0


def ask_heat(dice):
    cold = dice.uniform(2.5, 9)
    params = {
        "cold_ohm": known(cold, 0.01, 2),
        "cold_c": known(dice.uniform(12, 32), 0.5, 1),
        "hot_ohm": known(cold * dice.uniform(1.02, 1.7), 0.015, 2),
        "test_leads_ohm": known(dice.uniform(0.05, 0.4), 0.005, 2),
        "conductor": dice.choice(sorted(CONDUCTORS)),
        "limits_c": [180, 130, 155],
    }
    return [{"method": "coil.heat", "params": params}]


def check_heat(p, answer):
    cold, at_c, hot, leads = (number(p[n]) for n in ("cold_ohm", "cold_c", "hot_ohm", "test_leads_ohm"))
    alpha = CONDUCTORS[p["conductor"]]["alpha"]
    ratio = (hot - leads) / (cold - leads)
    t = (ratio - 1) * (1 + alpha * (at_c - 20)) / alpha + at_c
    lost = 20 * log10(ratio)
    for name, path, want in (("t", "temperature_c", t), ("dB", "db_lost", lost)):
        yield name, at(answer, path), want.n, CLOSE * max(abs(want.n), 1)
        yield f"{name}.u", at(answer, path, "u"), want.s, CLOSE_U * want.s
    for margin, limit in zip(answer["margins"], sorted(p["limits_c"]), strict=True):
        yield "limit", at(margin, "limit_c"), float(limit), 0
        stop = (cold - leads) * (1 + alpha * (limit - 20)) / (1 + alpha * (at_c - 20)) + leads
        yield "stop", at(margin, "stop_ohm"), stop.n, CLOSE * stop.n
        yield "stop.u", at(margin, "stop_ohm", "u"), stop.s, CLOSE_U * stop.s
        beyond = 100 * norm.sf((limit - t.n) / at(answer, "temperature_c", "u"))
        yield "exceeded", at(margin, "exceeded_pct"), beyond, 1e-9


# ---- a width filled by eye -----------------------------------------------------------------------------------------


def ask_filled(dice):
    coil = some_coil(dice)
    o, layers = coil["wire"]["overall_mm"], dice.randint(1, 4)
    coil["winding"] = {"layers": layers, "width_mm": o * (1.02 * (dice.randint(20, 70) + dice.uniform(-0.08, 0.08)) + 1)}
    return [{"method": "coil.design", "params": coil}]


def check_filled(p, answer):
    """The same draws by another generator, a hundred times as many: within five standard errors of the program's."""
    dice = np.random.default_rng(5)
    wire, many = p["wire"], 200_000
    o0, width, layers = wire["overall_mm"], p["winding"]["width_mm"], p["winding"]["layers"]
    limits = "overall_max_mm" in wire
    o_u = (wire["overall_max_mm"] - wire["overall_min_mm"]) / 2 / math.sqrt(3) if limits else 0.015 * o0
    o, k = dice.normal(o0, o_u, many), dice.normal(1.02, 0.01, many)
    first = np.floor((width - o) / (k * o) + 1e-9)
    filled = answer.get("if_filled")
    if filled is None:
        yield "if_filled", None, "there", 0
        return
    n = filled["draws"]
    yield "holds", filled["holds_turns"], (width - o0) / (1.02 * o0), CLOSE * 100
    total = first + (layers - 1) * (first - 1)
    yield "turns", at(filled, "turns"), total.mean(), 5 * total.std() / math.sqrt(n)
    yield "turns.u", at(filled, "turns", "u"), total.std(), 5 * total.std() / math.sqrt(2 * n)
    shares = {c["turns"]: c["share_pct"] / 100 for c in filled["first_layer"]}
    for count in np.unique(first):
        share = np.mean(first == count)
        yield f"{count:.0f} turns", shares.get(int(count), 0.0), share, 5 * math.sqrt(share * (1 - share) / n) + RARE / n


# ---- inductance ----------------------------------------------------------------------------------------------------


def ask_inductance(dice):
    return [{"method": "coil.inductance", "params": {"coil": some_coil(dice)}}]


def check_inductance(p, answer):
    figures, counts = design(p["coil"]), p["coil"]["winding"]["turns_per_layer"]
    r1, r2 = figures["base_diameter_mm"].n / 2000, figures["outside_nested_mm"].n / 2000
    length, n = max(counts) * figures["pitch_mm"].n / 1000, sum(counts)
    exact = thick(n, r1, r2, length)
    yield "exact", at(answer, "exact_uh"), 1e6 * exact, CLOSE_HENRY * 1e6 * exact
    # The current sheet on the mean radius, by mpmath: above the thick coil by what its depth costs, less than a fifth here.
    u = mpmath.mpf(r1 + r2) / length
    m = u * u / (1 + u * u)
    big_k, e = mpmath.ellipk(m), mpmath.ellipe(m)
    nagaoka = 4 / (3 * mpmath.pi) * mpmath.sqrt(1 + u * u) * ((big_k - e) / (u * u) + e - mpmath.sqrt(m))
    sheet = float(MU0 * mpmath.pi * ((r1 + r2) / 2) ** 2 * n**2 / length * nagaoka)
    yield "below the sheet", 0.8 * sheet < at(answer, "exact_uh") * 1e-6 < sheet, True, 0


def thick(n, r1, r2, length):
    """Mean of the mutual inductance of coaxial circles over the section, the peak of each pair tamed by a fourth power."""
    node, weight = np.polynomial.legendre.leggauss(40)
    x, w = (node + 1) / 2, weight / 2
    depth = r2 - r1
    s, z = depth * x**4, length * x**4
    ws, wz = w * 4 * depth * x**3, w * 4 * length * x**3
    span = depth - s
    a = r1 + span[:, None, None] * x[None, :, None]
    b = a + s[:, None, None]
    far = (a + b) ** 2 + z[None, None, :] ** 2
    m1 = ((a - b) ** 2 + z[None, None, :] ** 2) / far
    k2 = 4 * a * b / far
    mutual = MU0 * np.sqrt(a * b / k2) * ((2 - k2) * ellipkm1(m1) - 2 * ellipe(1 - m1))
    total = np.einsum("i,i,j,k,k,ijk->", ws, span, w, wz, length - z, mutual)
    return n**2 * total * 2 / depth**2 * 2 / length**2


# ---- a spool -------------------------------------------------------------------------------------------------------


def ask_spool(dice):
    bare = 0.254
    ohm, gram = 0.34026 * dice.uniform(0.98, 1.02), 0.463 * dice.uniform(0.98, 1.02)
    wire = {
        "conductor": "copper", "bare_mm": bare, "overall_mm": 0.27686,
        "ohm_per_m": known(ohm, 0.01 * ohm, 6), "g_per_m": known(gram, 0.012 * gram, 6),
    }
    left, tare = dice.uniform(15, 120), dice.uniform(60, 120)
    receive = {"wire": wire, "gross_g": round(tare + left * gram + dice.gauss(0, 0.3), 2), "tare_g": {"value": round(tare, 1), "u": 0.8}, "scale_u_g": 0.06}
    measure = {"spool": None, "ohm": round(left * ohm * dice.gauss(1, 0.005) + 0.2, 2), "test_leads_ohm": 0.2, "temperature_c": 20, "meter_u_ohm": 0.15}
    return [
        {"method": "spool.receive", "params": receive},
        {"method": "spool.measure", "params": measure},
        {"method": "spool.show", "params": {"spool": None}},
    ]


def check_spool(calls, answer):
    receive, measure = calls[0]["params"], calls[1]["params"]
    m, r, t = (number(x) for x in (receive["wire"]["g_per_m"], receive["wire"]["ohm_per_m"], receive["tare_g"]))
    ohm = measure["ohm"] - measure["test_leads_ohm"]

    def residuals(x):
        length, per_m, tare, ohm_per_m = x
        return [
            (tare + per_m * length - receive["gross_g"]) / receive["scale_u_g"],
            (ohm_per_m * length - ohm) / measure["meter_u_ohm"],
            (per_m - m.n) / m.s,
            (tare - t.n) / t.s,
            (ohm_per_m - r.n) / r.s,
        ]

    fit = least_squares(residuals, [ohm / r.n, m.n, t.n, r.n], x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    covariance = np.linalg.inv(fit.jac.T @ fit.jac)
    u = math.sqrt(covariance[0, 0])
    yield "left", at(answer, "left_m"), fit.x[0], CLOSE_FIT * u
    yield "left.u", at(answer, "left_m", "u"), u, CLOSE_FIT * u
    yield "g_per_m", at(answer, "estimate.g_per_m"), fit.x[1], CLOSE_FIT * m.s
    yield "tare", at(answer, "estimate.tare_g"), fit.x[2], CLOSE_FIT * t.s


FAMILIES = {
    "design": (ask_design, check_design),
    "filled": (ask_filled, check_filled),
    "heat": (ask_heat, check_heat),
    "inductance": (ask_inductance, check_inductance),
    "reading": (ask_reading, check_reading),
    "spool": (ask_spool, check_spool),
    "trim": (ask_trim, check_trim),
}


def check(cases, at_least):
    passed, failed, compared, worst = 0, 0, 0, {}
    for place, case in enumerate(cases, 1):
        family, answer = case["family"], case.get("answer")
        subject = case["calls"] if family == "spool" else case["calls"][-1]["params"]
        complaints = [] if isinstance(answer, dict) else [f"no answer: {answer}"]
        for name, met, want, allowed in FAMILIES[family][1](subject, answer) if not complaints else ():
            compared += 1
            same = met == want if isinstance(want, (bool, str, type(None))) or met is None else abs(met - want) <= allowed
            if not same:
                complaints.append(f"{name}: answer {met!r}; recomputed {want!r} ± {allowed!r}")
            elif isinstance(want, float) and allowed:
                worst[family] = max(worst.get(family, 0.0), abs(met - want) / allowed)
        passed, failed = passed + (not complaints), failed + bool(complaints)
        if complaints:
            print(f"case {place}: {family} {json.dumps(case['calls'])}")
            print("\n".join(f"  {c}" for c in complaints))
    if passed + failed < at_least:
        print(f"only {passed + failed} cases of at least {at_least}")
        failed += at_least - passed - failed
    shares = ", ".join(f"{family} {share:.2g}" for family, share in sorted(worst.items()))
    print(f"{compared} figures compared; the worst of each family in shares of what is allowed: {shares}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


def at(answer, path, part="value"):
    for name in path.split("."):
        answer = answer.get(name) if isinstance(answer, dict) else None
    if isinstance(answer, dict):
        return answer.get(part)
    return answer if part == "value" else None


if __name__ == "__main__":
    sys.exit(asked.main(__doc__, make, check))
