"""One voice coil computed a second time, from the trade's formulae alone.

Written from the handbook's section on physics and conventions and from the protocol's description of `coil.design`,
without sight of the program that it checks: an error of understanding should not be made twice. Lengths are in
millimetres inside this file, as the formulae are written, except where a name ends in `_m`.
"""

import math

import numpy as np
from scipy.special import j0, j1, struve

# Temperature coefficient at 20 °C per kelvin, density in g/cm³, linear expansion per kelvin, starting tension in N/mm²,
# excess of wound resistance in percent. Copper: NBS Handbook 100 (1966), IEC 60028. Aluminium: NBS Handbook 109,
# density from memory. Copper-clad aluminium 10 % and 15 % by volume: ASTM B566, coefficient from memory; its excess is
# the project's convention for aluminium.
CONDUCTORS = {
    "copper": dict(alpha=0.00393, density=8.89, expansion=17.3e-6, stress=45.0, excess_pct=1.0),
    "aluminium": dict(alpha=0.00403, density=2.703, expansion=23e-6, stress=20.0, excess_pct=0.5),
    "cca10": dict(alpha=0.0040, density=3.32, expansion=22e-6, stress=20.0, excess_pct=0.5),
    "cca15": dict(alpha=0.0040, density=3.63, expansion=22e-6, stress=20.0, excess_pct=0.5),
}

# Density in g/cm³. Polyimide film: maker's published figure; the others from memory.
FORMERS = {
    "aluminium-foil": 2.70,
    "polyimide-film": 1.42,
    "glass-fibre-laminate": 1.85,
    "kraft-paper": 0.95,
    "presspahn": 1.20,
    "polyester-film": 1.39,
    "aramid-paper": 0.95,
}

ADHESIVE_DENSITY = 1.15  # g/cm³, from memory: 1.15 to 1.25
SLIT_METAL = 1.0  # mm, common practice; a paper former is a butt seam
LATER_LAYERS_TENSION = 0.70  # of the first layer's, common practice
FREE_FALL = 9.80665  # m/s², 3rd CGPM 1901
MU0 = 4e-7 * math.pi  # H/m

TAILS_M, THREADING_M, LEADS_M = 0.40, 0.60, 0.12
ASSUMED = dict(
    pitch_factor=1.02,
    nesting=0.90,
    elongation_pct=0.2,
    glue_mm=0.01,
    skin_mm=0.02,
    wrap_mm=0.0,
    alternate_layer_turns="one_less",
)


def design(params):
    """Every figure of the answer that these params decide, by its path (`mass.wire_g`); the others are left out."""
    wire, former, winding = params["wire"], params["former"], params["winding"]
    metal = CONDUCTORS[wire["conductor"]]
    assume = ASSUMED | {"resistance_excess_pct": metal["excess_pct"]} | params.get("assume", {})
    leads_m = params.get("leads_m", LEADS_M)
    extra_m = params.get("tails_m", TAILS_M) + params.get("threading_m", THREADING_M)
    bare, o = wire["bare_mm"], wire["overall_mm"]
    inside, wall = former["inside_diameter_mm"], former["wall_mm"]

    counts, pitch, width = turns(winding, o, assume)
    n = len(counts)
    base = inside + 2 * wall + 2 * assume["glue_mm"]
    step = assume["nesting"] * o
    diameters = [base + o + 2 * i * step for i in range(n)]
    build = o + step * (n - 1)
    length_m = sum(c * math.hypot(math.pi * d, pitch) for c, d in zip(counts, diameters, strict=True)) / 1000
    drawn_m = length_m / (1 + assume["elongation_pct"] / 100)
    nested = base + 2 * build
    crossover = base + 2 * n * o + 2 * assume["skin_mm"] + 2 * assume["wrap_mm"]

    per_m = wire["ohm_per_m"] * (1 + assume["resistance_excess_pct"] / 100)
    dcr = per_m * length_m + wire["ohm_per_m"] * leads_m

    slit = former.get("slit_mm", SLIT_METAL if former["material"] == "aluminium-foil" else 0.0)
    blank = math.pi * (inside + wall) - slit
    section = math.pi / 4 * bare**2

    figures = {
        "turns_per_layer": counts,
        "turns": sum(counts),
        "pitch_mm": pitch,
        "base_diameter_mm": base,
        "layer_diameters_mm": diameters,
        "length_m": length_m,
        "need_m": length_m + extra_m,
        "draw_m": drawn_m + extra_m,
        "dcr_ohm": dcr,
        "outside_nested_mm": nested,
        "outside_crossover_mm": crossover,
        "blank.length_mm": blank,
        "mass.conductor_g": section * metal["density"] * (drawn_m + leads_m),
        "mass.wire_g": wire["g_per_m"] * (drawn_m + leads_m),
        "mass.adhesive_g": adhesive(base, build, nested, width, o, drawn_m, assume),
        "inductance_air_uh": inductance(sum(counts), base / 2, base / 2 + build, max(counts) * pitch) * 1e6,
        "tension_g": [
            metal["stress"] * section / FREE_FALL * 1000 * (1 if i == 0 else LATER_LAYERS_TENSION) for i in range(n)
        ],
        "turn_ohm": per_m * math.pi * diameters[-1] / 1000,
    }
    if "shims_mm" in former:
        figures["mandrel_mm"] = inside - 2 * sum(former["shims_mm"])
    if "height_mm" in former:
        # g/cm³ times mm³ is a thousandth of a gram.
        figures["mass.former_g"] = FORMERS[former["material"]] * blank * wall * former["height_mm"] / 1000
    if "bench_c" in params:
        figures["dcr_bench_ohm"] = dcr * (1 + metal["alpha"] * (params["bench_c"] - 20))
    return figures | fit(params, inside, width, crossover, metal["expansion"])


def turns(winding, o, assume):
    """Whole turns of each layer, pitch and winding width; a real count rules."""
    pitch = assume["pitch_factor"] * o
    width = winding.get("width_mm")
    counts = winding.get("turns_per_layer")
    if counts is None:
        first = math.floor((width - o) / pitch + 1e-9)
        upper = first - (1 if assume["alternate_layer_turns"] == "one_less" else 0)
        counts = [first] + [upper] * (winding["layers"] - 1)
    elif width is not None:
        pitch = (width - o) / max(counts)
    else:
        width = max(counts) * pitch + o
    return list(counts), pitch, width


def adhesive(base, build, nested, width, o, drawn_m, assume):
    """Grams of adhesive: what the round wires leave free, the film below them and the skin above."""
    free = math.pi * (base + build) * width * build - drawn_m * 1000 * math.pi * o**2 / 4
    film = math.pi * base * width * assume["glue_mm"]
    skin = math.pi * nested * width * assume["skin_mm"]
    return ADHESIVE_DENSITY * (free + film + skin) / 1000


def fit(params, inside, width, crossover, expansion):
    """Clearances and overhang, as far as the gap is known."""
    gap, figures = params.get("gap", {}), {}
    if "pole_mm" in gap:
        figures["clearance_inner_mm"] = (inside - gap["pole_mm"]) / 2
    if "bore_mm" in gap:
        cold = (gap["bore_mm"] - crossover) / 2
        figures["clearance_outer_mm"] = cold
        if "hot_c" in params and "bench_c" in params:
            growth = expansion * crossover * (params["hot_c"] - params["bench_c"]) / 2
            figures["clearance_outer_hot_mm"] = cold - growth
    if "plate_mm" in gap:
        figures["overhang_mm"] = (width - gap["plate_mm"]) / 2
    return figures


def inductance(count, r1_mm, r2_mm, axial_mm):
    """Self-inductance in henries of a thick air coil with uniform current density, by its Bessel integral.

    L = 2π·μ0·N²/(h·(R2−R1))² · ∫0^∞ (kh + exp(−kh) − 1)/k² · P(k)² dk,   P(k) = ∫R1^R2 r·J1(kr) dr

    P in closed form by ∫0^x t·J1(t) dt = (π·x/2)·(J1(x)·H0(x) − J0(x)·H1(x)) with Struve functions. Gauss-Legendre,
    eight points to each quarter wave of J1(k·R2), up to K = 40/(R2−R1). Beyond that the mean of P² is (R1+R2)/(π·k³) by
    the asymptotic form of the Bessel function, which leaves (R1+R2)/π·(h/(3K³) − 1/(4K⁴)).

    Within 5e-6 of the two published coils and 2e-7 of the voice coils that the self-test holds.
    """
    r1, r2, h = r1_mm / 1000, r2_mm / 1000, axial_mm / 1000
    depth = r2 - r1
    panel = math.pi / (2 * r2)
    panels = math.ceil(40 / depth / panel)
    node, weight = np.polynomial.legendre.leggauss(8)
    k = ((np.arange(panels)[:, None] + (node + 1) / 2) * panel).ravel()
    w = np.tile(weight * panel / 2, panels)

    def moment(r):
        x = k * r
        return math.pi / 2 * x * (j1(x) * struve(0, x) - j0(x) * struve(1, x)) / k**2

    axial = (k * h + np.expm1(-k * h)) / k**2
    end = panels * panel
    tail = (r1 + r2) / math.pi * (h / (3 * end**3) - 1 / (4 * end**4))
    integral = np.sum(w * axial * (moment(r2) - moment(r1)) ** 2) + tail
    return 2 * math.pi * MU0 * count**2 / (h * depth) ** 2 * integral
