#!/usr/bin/env python3
"""Checks answers of `coil.design` for windings that are not plain against a second computation.

    windings.py --check answers.jsonl      lines of {"params": …, "answer": …}

Written from the trade's formulae alone. Needs requirements.txt. Exit status 1 on any difference.
"""

import json
import math
import sys

import coil_model
import numpy as np
from scipy.special import j0, j1, struve

# Double precision, a few dozen operations: as in coil_design.py.
CLOSE = 1e-9
# The mutual inductance of two blocks is another quadrature on either side, and a difference of larger figures.
CLOSE_BY_QUADRATURE = 2e-4


def model(params):
    """Figures by path, for the params that tests/it/windings.rs makes: everything assumed is stated in them."""
    wire, former, winding = params["wire"], params["former"], params["winding"]
    assume = params["assume"]
    kind, arrangement = winding.get("kind", "plain"), winding.get("arrangement")
    k, b, glue, skin = (assume[name] for name in ("pitch_factor", "nesting", "glue_mm", "skin_mm"))
    excess, stretch = assume["resistance_excess_pct"] / 100, assume["elongation_pct"] / 100
    paper, space = winding.get("paper_mm", 0.0), winding.get("space_mm", 0.0)
    radial = axial = winding["bond"]["overall_mm"] if "bond" in winding else wire["overall_mm"]
    ohm = wire["ohm_per_m"]
    if kind == "edge_wound":
        ribbon = winding["ribbon"]
        radial, axial, ohm = ribbon["over_width_mm"], ribbon["over_thickness_mm"], ribbon["ohm_per_m"]
    hands = 2 if arrangement == "in_hand" else winding.get("wires_in_hand", 1)
    beside = 2 if arrangement == "side_by_side" else 1
    layers, width = winding["layers"], winding["width_mm"]
    inner = winding.get("inner_layers", layers // 2)
    inside = inner if kind == "inside_outside" else 0

    pitch = k * axial
    one = (width - (beside - 1) * space) / beside
    first = math.floor((one - axial - (hands - 1) * pitch) / (hands * pitch) + 1e-9)
    less = 0 if assume.get("alternate_layer_turns") == "equal" else 1
    counts = np.array([first if i in (0, inside) else first - less for i in range(layers)])

    outside = np.mean(former["outside_diameters_mm"]) if "outside_diameters_mm" in former else None
    base = (outside if outside is not None else former["inside_diameter_mm"] + 2 * former["wall_mm"]) + 2 * glue
    step = 2 * (b * radial + paper)
    d_in = former["inside_diameter_mm"] - 2 * inside * radial - 2 * max(inside - 1, 0) * paper - 2 * glue
    diameters = np.array(
        [d_in + radial + i * step if i < inside else base + radial + (i - inside) * step for i in range(layers)]
    )
    turn = np.hypot(np.pi * diameters, hands * pitch) / 1000
    each = counts * turn

    if kind != "dual":
        parts = [(slice(0, layers), hands)]
    elif arrangement == "stacked":
        parts = [(slice(0, inner), hands), (slice(inner, layers), hands)]
    elif arrangement == "side_by_side":
        parts = [(slice(0, layers), hands)] * 2
    else:
        parts = [(slice(0, layers), 1)] * 2
    lengths = np.array([each[where].sum() for where, _ in parts])
    wires = np.array([m for _, m in parts])
    extra = params["tails_m"] + params["threading_m"]
    ohms = ohm * (lengths * (1 + excess) + params["leads_m"]) / wires
    joined = {"series": ohms.sum(), "parallel": 1 / (1 / ohms).sum()}
    outer = layers - inside
    build = radial * (1 + b * (outer - 1)) + (outer - 1) * paper
    over = max(former["outside_diameters_mm"]) - outside if outside is not None else 0.0
    crossover = base + 2 * outer * radial + 2 * (outer - 1) * paper + 2 * skin + over
    figures = {
        "turns_per_layer": counts.tolist(),
        "turns": int(beside * counts.sum()),
        "pitch_mm": pitch,
        "base_diameter_mm": base,
        "layer_diameters_mm": diameters.tolist(),
        "length_m": (wires * lengths).sum(),
        "need_m": (wires * (lengths + extra)).sum(),
        "draw_m": (wires * (lengths / (1 + stretch) + extra)).sum(),
        "dcr_ohm": joined.get(winding.get("connect"), ohms[0]),
        "outside_nested_mm": base + 2 * build,
        "outside_crossover_mm": crossover,
        "clearance_inner_mm": ((d_in if inside else former["inside_diameter_mm"]) - params["gap"]["pole_mm"]) / 2,
    }
    if kind == "dual":
        figures["series.dcr_ohm"], figures["parallel.dcr_ohm"] = joined["series"], joined["parallel"]
        for i in range(2):
            figures[f"windings.{i}.need_m"] = lengths[i] + extra
            figures[f"windings.{i}.dcr_ohm"] = ohms[i]
    drawn = wires * (lengths / (1 + stretch) + params["leads_m"])
    if kind != "edge_wound":
        coat = 0.0
        if "bond" in winding:
            coat = math.pi / 4 * winding["bond"]["g_per_cm3"] * (radial**2 - wire["overall_mm"] ** 2)
        figures["mass.wire_g"] = (wire["g_per_m"] + coat) * drawn.sum()
    figures["inductance_air_uh"] = 1e6 * inductance(
        kind, arrangement, winding, counts, inner, inside, radial, pitch, hands, beside, space, one, base, d_in, build, step, ohms
    )
    return figures


def inductance(kind, arrangement, winding, counts, inner, inside, radial, pitch, hands, beside, space, one, base, d_in, build, step, ohms):
    """Of one block by the Bessel integral of coil_model; of two with their mutual inductance by the same integral."""
    connect = winding.get("connect")
    r1, r2 = (d_in if inside else base) / 2, base / 2 + build
    length = hands * max(counts) * pitch
    n = counts.sum()
    if arrangement == "in_hand" or (kind != "dual" and not inside):
        twice = 2 if connect == "series" else 1
        return coil_model.inductance(twice * n, r1, r2, length)
    if arrangement == "side_by_side":
        first = second = (n, r1, r2, 0.0)
        made = hands * max(counts) * pitch + (hands - 1) * pitch + radial
        apart = made + space
        second = (n, r1, r2, apart)
    else:
        cut = inside or inner
        end = r1 + radial + (cut - 1) * step / 2
        start = base / 2 if inside else r2 - radial - (len(counts) - cut - 1) * step / 2
        if start < end:
            start = end = (start + end) / 2
        first, second = (counts[:cut].sum(), r1, end, 0.0), (counts[cut:].sum(), start, r2, 0.0)
    own = [coil_model.inductance(*block[:3], length) for block in (first, second)]
    mutual = between(first, second, length)
    if kind == "inside_outside" or connect == "series":
        return sum(own) + 2 * mutual
    if connect == "parallel":
        i1, i2 = ohms[1] / ohms.sum(), ohms[0] / ohms.sum()
        return i1**2 * own[0] + i2**2 * own[1] + 2 * i1 * i2 * mutual
    return own[0]


def between(first, second, length_mm):
    """Mutual inductance of two blocks of equal length on one axis, their middles `apart`:

    M = 2π·μ0·N1·N2/(h²·ΔR1·ΔR2) · ∫ P1(k)·P2(k)/k² · A(k) dk,   A = h − (1 − e^(−kh))/k … by the double axial integral
    """
    (n1, a1, a2, z1), (n2, b1, b2, z2) = first, second
    a1, a2, b1, b2, h = (x / 1000 for x in (a1, a2, b1, b2, length_mm))
    z = abs(z2 - z1) / 1000
    panel = math.pi / (2 * max(a2, b2))
    panels = math.ceil(60 / min(a2 - a1, b2 - b1) / panel)
    node, weight = np.polynomial.legendre.leggauss(8)
    k = ((np.arange(panels)[:, None] + (node + 1) / 2) * panel).ravel()
    w = np.tile(weight * panel / 2, panels)

    def moment(r):
        x = k * r
        return math.pi / 2 * x * (j1(x) * struve(0, x) - j0(x) * struve(1, x)) / k**2

    if z >= h:
        # ∫∫ e^(−k|u−v|) over intervals that do not meet.
        axial = np.exp(-k * (z - h)) * (np.expm1(-k * h) / k) ** 2 / 2
    else:
        axial = (k * h + np.expm1(-k * h)) / k**2
        assert z == 0.0
    integral = np.sum(w * axial * (moment(a2) - moment(a1)) * (moment(b2) - moment(b1)))
    return 2 * math.pi * coil_model.MU0 * n1 * n2 / (h * h * (a2 - a1) * (b2 - b1)) * integral


def at(answer, path):
    for name in path.split("."):
        answer = answer[int(name)] if isinstance(answer, list) else answer.get(name)
        if answer is None:
            return None
    return answer


def main():
    if len(sys.argv) != 3 or sys.argv[1] != "--check":
        sys.exit(__doc__)
    compared, failed, cases = 0, 0, 0
    for line in open(sys.argv[2], encoding="utf-8"):
        case = json.loads(line)
        cases += 1
        for path, want in model(case["params"]).items():
            met = at(case["answer"], path)
            wants, mets = (want, met) if isinstance(want, list) else ([want], [met])
            if mets is None or len(mets) != len(wants):
                print(f"{json.dumps(case['params'])}\n  {path}: answer {met}; recomputed {want}")
                failed += 1
                continue
            for one, figure in zip(wants, mets, strict=True):
                value = figure["value"] if isinstance(figure, dict) else figure
                compared += 1
                close = CLOSE_BY_QUADRATURE if path == "inductance_air_uh" else CLOSE
                scale = case["params"]["former"]["inside_diameter_mm"] if path.startswith("clearance") else abs(one)
                if value is None or abs(value - one) > close * scale:
                    print(f"{json.dumps(case['params'])}\n  {path}: answer {value!r}; recomputed {one!r}")
                    failed += 1
    print(f"{cases} cases, {compared} figures compared, {failed} failed")
    return 1 if failed or not cases else 0


if __name__ == "__main__":
    sys.exit(main())
