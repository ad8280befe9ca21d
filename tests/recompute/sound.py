#!/usr/bin/env python3
"""Asks `coil.sound` and `coil.inductance` about random coils, and checks the answers against a second computation.

    sound.py --make 100 --seed 7 > questions.jsonl         lines of {"method": …, "params": …}
    sound.py --check answers.jsonl --at-least 100          lines of {"method": …, "params": …, "answer": …}

Written from the trade's formulae alone, like coil_model.py, and upon it. The coupling of former and winding goes by Bessel
integrals, where the program goes by elliptic ones. Exit status 1 on any difference, or if too little was compared.
"""

import json
import math
import random
import sys

import numpy as np
from scipy.special import ellipe, ellipk, j0, j1, struve

import asked
import coil_cases
import coil_model

# Some hundred operations in double precision from the same inputs.
CLOSE = 1e-9
# Two quadratures of oscillating integrals that are cut off, see coil_model.inductance.
CLOSE_BY_QUADRATURE = 2e-4

RESISTIVITY = {"aluminium-foil": 2.83e-8}  # Ω·m, from memory: the class of 61 % IACS
FIELD_OVER_PLATE, OVERHUNG = 1.45, 1.55  # common practice
AIR_DENSITY, SOUND_SPEED, ONE_WATT_DB = 1.18, 345.0, 112.1
EDGE_MM = 2.0  # former beyond the winding, common practice


def make(count, seed):
    dice = random.Random(seed)
    # Twice as many coils as questions: an original and a substitute, on formers of one inside diameter in one motor.
    coils = coil_cases.make(2 * count, seed)
    for i in range(count):
        original, substitute = plain(coils[2 * i], dice), plain(coils[2 * i + 1], dice)
        substitute["former"]["inside_diameter_mm"] = original["former"]["inside_diameter_mm"]
        plate = round(dice.uniform(3, 20), 1)
        for coil in (original, substitute):
            coil["gap"] = {"plate_mm": plate}
        if dice.random() < 0.5:
            for coil in (original, substitute):
                coil["former"].setdefault("height_mm", 60)
        else:
            for coil in (original, substitute):
                coil["former"].pop("height_mm", None)
            # Without heights a slit former's share of the damping is not known, and only its direction is told.
        if i % 4 == 3:
            original["former"] |= {"material": "aluminium-foil", "height_mm": 60}
            yield {"method": "coil.inductance", "params": {"coil": original, "frequencies_hz": [300, 1000, 20000]}}
            continue
        yield {"method": "coil.sound", "params": {"driver": driver(dice, original), "original": original, "substitute": substitute}}


def plain(coil, dice):
    coil = {name: coil[name] for name in ("wire", "former", "winding", "leads_m", "assume") if name in coil}
    coil["former"]["material"] = dice.choice(["aluminium-foil", "polyimide-film", "kraft-paper"])
    coil["former"]["slit_mm"] = dice.choice([0, 1.0])
    return coil


def driver(dice, original):
    """One of the known sets, of a driver heavy enough for any coil asked about."""
    re = round(dice.uniform(2, 14), 2)
    fs, mms, qms = round(dice.uniform(18, 120), 1), round(dice.uniform(150, 400), 1), round(dice.uniform(1.5, 9), 2)
    qes = round(dice.uniform(0.2, 1.2), 3)
    bl = round(math.sqrt(2 * math.pi * fs * mms / 1000 * re / qes), 3)
    sets = [
        {"re_ohm": re, "bl_tm": bl, "mms_g": mms, "fs_hz": fs, "qms": qms, "sd_cm2": 530},
        {"re_ohm": re, "qes": qes, "qms": qms, "mms_g": mms, "fs_hz": fs},
        {"fs_hz": fs, "qts": round(qes * 5 / (qes + 5), 3), "mms_g": mms, "sd_cm2": 890},
    ]
    return dice.choice(sets)


def sound(p):
    """Figures of the answer by their path."""
    coils = [p["original"], p["substitute"]]
    designs = [coil_model.design(c) for c in coils]
    d = p["driver"]
    mms, fs = d["mms_g"] / 1000, d["fs_hz"]
    re = d.get("re_ohm", designs[0]["dcr_ohm"])
    momentum = 2 * math.pi * fs * mms
    qms = d.get("qms", 5.0)
    qes = d["qes"] if "qes" in d else 1 / (1 / d["qts"] - 1 / qms) if "qts" in d else momentum * re / d["bl_tm"] ** 2
    bl = d.get("bl_tm", math.sqrt(momentum * re / qes))

    plate = coils[0]["gap"]["plate_mm"]
    widths = [width(c, f) for c, f in zip(coils, designs, strict=True)]
    overhung = all(w >= OVERHUNG * plate for w in widths)
    works = [in_field(f, w, FIELD_OVER_PLATE * plate, overhung) for f, w in zip(designs, widths, strict=True)]
    weigh = all("height_mm" in c["former"] for c in coils)
    grams = [f["mass.wire_g"] + f["mass.adhesive_g"] + (f["mass.former_g"] if weigh else 0) for f in designs]

    re2 = re * designs[1]["dcr_ohm"] / designs[0]["dcr_ohm"]
    bl2 = bl * works[1] / works[0]
    mms2 = mms + (grams[1] - grams[0]) / 1000
    fs2 = fs * math.sqrt(mms / mms2)
    momentum2 = 2 * math.pi * fs2 * mms2
    qes2 = momentum2 * re2 / bl2**2
    losses = momentum / qms
    old, new = (damping(c["former"], plate) for c in coils)
    field = bl / (works[0] / 1000)
    if old is not None and new is not None and field**2 * old < losses:
        losses += field**2 * (new - old)
    qms2 = momentum2 / losses
    figures = {}
    for name, values in (
        ("original", (re, bl, mms, fs, qes, qms)),
        ("substitute", (re2, bl2, mms2, fs2, qes2, qms2)),
    ):
        r, b, m, f, e, q = values
        figures |= {
            f"{name}.re_ohm": r, f"{name}.bl_tm": b, f"{name}.mms_g": 1000 * m, f"{name}.fs_hz": f, f"{name}.qes": e,
            f"{name}.qms": q, f"{name}.qts": 1 / (1 / e + 1 / q),
        }
        if "sd_cm2" in d:
            eta = AIR_DENSITY / (2 * math.pi * SOUND_SPEED) * (b * d["sd_cm2"] / 1e4) ** 2 / (r * m**2)
            figures[f"{name}.db_1w"] = ONE_WATT_DB + 10 * math.log10(eta)
            figures[f"{name}.db_2v83"] = figures[f"{name}.db_1w"] + 10 * math.log10(8 / r)
    figures["change.db_1w"] = 10 * math.log10((bl2 / bl) ** 2 * re / re2 * (mms / mms2) ** 2)
    figures["change.db_2v83"] = figures["change.db_1w"] + 10 * math.log10(re / re2)
    figures["change.bl_pct"] = 100 * (bl2 / bl - 1)
    figures["change.re_pct"] = 100 * (re2 / re - 1)
    return figures


def width(coil, figures):
    given = coil["winding"].get("width_mm")
    return given if given is not None else max(figures["turns_per_layer"]) * figures["pitch_mm"] + coil["wire"]["overall_mm"]


def in_field(f, wide, height, overhung):
    """Millimetres of wire that work in the field."""
    if overhung:
        return height / f["pitch_mm"] * math.pi * sum(f["layer_diameters_mm"])
    turns = zip(f["turns_per_layer"], f["layer_diameters_mm"], strict=True)
    return sum(n * math.pi * d for n, d in turns) * min(1, height / wide)


def damping(former, plate):
    """N·s/m per square tesla; nothing of an insulator, unknown of a slit foil without a height."""
    rho = RESISTIVITY.get(former["material"])
    if rho is None:
        return 0.0
    height = former.get("height_mm", math.inf)
    diameter = former["inside_diameter_mm"] + former["wall_mm"]
    closed = math.pi * diameter * former["wall_mm"] * min(plate, height) * 1e-9 / rho
    if former["slit_mm"] == 0:
        return closed
    return None if height == math.inf else closed * (1 - min(plate, height) / height)


def inductance(p):
    """Exact and estimated inductance, the closed former's ring, and the inductance with it."""
    coil = p["coil"]
    f, former = coil_model.design(coil), coil["former"]
    n, axial = f["turns"], max(f["turns_per_layer"]) * f["pitch_mm"]
    r1 = f["base_diameter_mm"] / 2
    r2 = f["outside_nested_mm"] / 2
    alone = coil_model.inductance(n, r1, r2, axial)
    a, b, c = ((r1 + r2) / 2 / 25.4, axial / 25.4, (r2 - r1) / 25.4)
    figures = {"exact_uh": 1e6 * alone, "wheeler_estimate_uh": 0.8 * a * a * n * n / (6 * a + 9 * b + 10 * c)}

    height, radius = former["height_mm"], (former["inside_diameter_mm"] + former["wall_mm"]) / 2
    room = height - width(coil, f)
    offset = abs(room / 2 - min(EDGE_MM, room / 2)) if room > 0 else 0.0
    ring_ohm = RESISTIVITY["aluminium-foil"] * 2 * math.pi * radius / (former["wall_mm"] * height) * 1000
    u = 2 * radius / height
    m = u * u / (1 + u * u)
    nagaoka = 4 / (3 * math.pi) * math.sqrt(1 + u * u) * ((ellipk(m) - ellipe(m)) / (u * u) + ellipe(m) - math.sqrt(m))
    ring = coil_model.MU0 * math.pi * (radius / 1000) ** 2 / (height / 1000) * nagaoka
    figures |= {"former.ring_ohm": ring_ohm, "former.ring_uh": 1e6 * ring}
    if axial / 2 + offset <= height / 2:
        k = mutual(radius / 1000, height / 1000, r1 / 1000, r2 / 1000, axial / 1000, offset / 1000) / math.sqrt(ring * alone / n**2)
        figures["former.coupling"] = k
        for i, frequency in enumerate(p["frequencies_hz"]):
            x = frequency * 2 * math.pi * ring / ring_ohm
            figures[f"at.{i}.closed_uh"] = 1e6 * alone * (1 - k * k * x * x / (1 + x * x))
            figures[f"at.{i}.closed_added_ohm"] = k * k * 2 * math.pi * frequency * alone * x / (1 + x * x)
    return figures


def mutual(a, height, r1, r2, axial, offset):
    """Henries between a sheet of radius a that reaches beyond the winding on both sides and the winding, a turn each.

    M = μ0·π·a · ∫0^∞ J1(ka) · (1/(r2−r1))·∫r·J1(kr)dr · <exp(−k|z−z'|)> dk, the mean over both lengths in closed form.
    """
    panel = math.pi / (2 * r2)
    panels = math.ceil(60 / (r2 - r1) / panel)
    node, weight = np.polynomial.legendre.leggauss(8)
    k = ((np.arange(panels)[:, None] + (node + 1) / 2) * panel).ravel()
    w = np.tile(weight * panel / 2, panels)

    def moment(r):
        x = k * r
        return math.pi / 2 * x * (j1(x) * struve(0, x) - j0(x) * struve(1, x)) / k**2

    ends = sum(
        sign * np.exp(-k * (height / 2 + way * offset - sign * axial / 2)) for way in (1, -1) for sign in (1, -1)
    )
    mean = (2 * axial - ends / k) / (height * axial * k)
    return coil_model.MU0 * math.pi * a * np.sum(w * j1(k * a) * (moment(r2) - moment(r1)) / (r2 - r1) * mean)


def check(cases, at_least):
    passed, failed, compared = 0, 0, 0
    for number, case in enumerate(cases, 1):
        quadrature = case["method"] == "coil.inductance"
        expected = (inductance if quadrature else sound)(case["params"])
        complaints = []
        for path, want in expected.items():
            met = at(case["answer"], path)
            compared += 1
            allowed = CLOSE_BY_QUADRATURE if quadrature else CLOSE
            # A change is a small difference of two figures: what rounding leaves is a share of those.
            size = max(abs(want), 100.0 if path.endswith(("_pct", "db_1w", "db_2v83")) else 0.0)
            if met is None or abs(met - want) > allowed * size:
                complaints.append(f"{path}: answer {met!r}; recomputed {want!r}")
        passed, failed = passed + (not complaints), failed + bool(complaints)
        if complaints:
            print(f"case {number}: {case['method']} {json.dumps(case['params'])}")
            print("\n".join(f"  {c}" for c in complaints))
    if passed + failed < at_least:
        print(f"only {passed + failed} cases of at least {at_least}")
        failed += at_least - passed - failed
    print(f"{compared} figures compared")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


def at(answer, path):
    for name in path.split("."):
        if isinstance(answer, list):
            answer = answer[int(name)]
        else:
            answer = answer.get(name) if isinstance(answer, dict) else None
    return answer.get("value") if isinstance(answer, dict) else answer


if __name__ == "__main__":
    sys.exit(asked.main(__doc__, make, check))
