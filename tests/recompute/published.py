#!/usr/bin/env python3
"""Recomputes published wire tables from the constants and formulae that the program is built on.

    published.py

Shows that the foundations (resistivity, density, gauge progression, resistance limits, temperature law, enamel) give
what others printed, before any figure of the program is asked for. Reads ../fixtures/published/*.csv, each with its
source at its head; needs requirements.txt. Exit status 1 if a figure is off or a table is short.

A printed figure is met within one unit of its last digit: half a unit is its own rounding, the other half that of
constants and diameters that its maker rounded before (three of the tables show it, at up to 0.71 of a unit).
"""

import sys
from pathlib import Path

import numpy as np

PUBLISHED = Path(__file__).resolve().parent.parent / "fixtures" / "published"

COPPER = 1 / 58  # Ω·mm²/m at 20 °C, 100 % IACS: NBS Handbook 100 (1966), IEC 60028
COPPER_NOMINAL, COPPER_BEST = (
    1 / 58.5,
    1 / 59,
)  # the conductivities behind the nominal and least figures of IEC 60317-0-1
COPPER_DENSITY = 8.89  # g/cm³: NBS Handbook 100
ALPHA_20 = 0.00393  # 1/K: NBS Handbook 100
ENAMEL_DENSITY = 1.35  # g/cm³, ± 0.10, derived from published masses

INCH, FOOT, POUND = 25.4, 0.3048, 453.59237  # mm, m, g: exact, 1959


class Tally:
    """Counts figures and tells of those that are off."""

    def __init__(self):
        self.passed, self.failed = 0, 0

    def judge(self, what, good, detail):
        self.passed, self.failed = self.passed + bool(good), self.failed + (not good)
        if not good:
            print(f"{what}: {detail}")

    def column(self, what, table, name, computed, units=1.0):
        """One printed column against its recomputation, within so many units of each last digit."""
        for key, text, value in zip(
            table["key"], table[name], np.broadcast_to(computed, len(table[name])), strict=True
        ):
            if text:
                allowed = units * last_digit(text) * (1 + 1e-9)
                good = abs(value - float(text)) <= allowed
                self.judge(f"{what} {key} {name}", good, f"printed {text}, recomputed {value:.6g}")


def main():
    tally = Tally()
    for check in (metric_resistance, gauge_progression, gauge_resistance, handbook_100, temperature, enamelled_mass):
        check(tally)
    print(f"{tally.passed} passed, {tally.failed} failed")
    return 1 if tally.failed or tally.passed == 0 else 0


def metric_resistance(tally):
    """IEC 60317-0-1: limits of resistance from limits of diameter above 0.063 mm, as a share of nominal up to there."""
    table = read("iec-copper-resistance.csv", 16, tally)
    d, tolerance = numbers(table, "nominal_mm"), numbers(table, "tolerance_mm")
    nominal = COPPER_NOMINAL / section(d)
    share = np.where(d < 0.058, 0.09, 0.08)
    by_share = np.isnan(tolerance)
    tally.column("IEC", table, "nominal_ohm_per_m", nominal)
    least = np.where(by_share, nominal * (1 - share), COPPER_BEST / section(d + tolerance))
    tally.column("IEC", table, "least_ohm_per_m", least)
    greatest = np.where(by_share, nominal * (1 + share), COPPER / section(d - tolerance))
    tally.column("IEC", table, "greatest_ohm_per_m", greatest)


def gauge_progression(tally):
    """ASTM B258: d = 5 mil · 92^((36 − n)/39), here to four figures, with section and mass."""
    table = read("awg-copper-bare.csv", 29, tally)
    inches = 0.005 * 92 ** ((36 - numbers(table, "awg")) / 39)
    tally.column("AWG", table, "diameter_in", inches)
    tally.column("AWG", table, "area_sq_in", section(inches))
    pounds = pounds_per_1000_ft(COPPER_DENSITY * section(inches * INCH))
    # A slip of the print: the section beside it makes 1.223, two digits swapped for one repeated.
    slip = table["key"].index("24")
    swapped = table["mass_lb_per_1000ft"][slip] == "1.233" and abs(pounds[slip] - 1.223) < 0.0005
    tally.judge("AWG 24 mass_lb_per_1000ft", swapped, f"no longer the known slip: recomputed {pounds[slip]:.6g}")
    table["mass_lb_per_1000ft"][slip] = ""
    tally.column("AWG", table, "mass_lb_per_1000ft", pounds)


def gauge_resistance(tally):
    """NEMA MW 1000: the greatest diameter has the least resistance; all at 100 % IACS."""
    table = read("awg-copper-resistance.csv", 20, tally)
    for wire, resistance in (("least", "greatest"), ("nominal", "nominal"), ("greatest", "least")):
        ohm_per_m = COPPER / section(numbers(table, f"{wire}_in") * INCH)
        tally.column("AWG limits", table, f"{resistance}_ohm_per_1000ft", ohm_per_m * 1000 * FOOT)
    grams_per_m = COPPER_DENSITY * section(numbers(table, "nominal_in") * INCH)
    tally.column("AWG limits", table, "mass_lb_per_1000ft", pounds_per_1000_ft(grams_per_m))


def handbook_100(tally):
    """Diameters are the progression rounded to 0.1 mil, so half a unit; resistances are those of the rounded ones."""
    table = read("nbs-handbook-100-table-5.csv", 25, tally)
    tally.column("Handbook 100", table, "diameter_mil", 5 * 92 ** ((36 - numbers(table, "awg")) / 39), units=0.5)
    rounded_mm = numbers(table, "diameter_mil") * INCH / 1000
    tally.column("Handbook 100", table, "ohm_per_1000ft", COPPER / section(rounded_mm) * 1000 * FOOT)


def temperature(tally):
    """R = R20·(1 + α20·(T − 20)), as a ratio to 25 °C."""
    table = read("copper-temperature.csv", 17, tally)
    at = 1 + ALPHA_20 * (numbers(table, "temperature_c") - 20)
    tally.column("temperature", table, "factor", at / at[0])


def enamelled_mass(tally):
    """π/4·(ρc·d² + ρe·(D² − d²)); enamel known to 0.10 g/cm³ is 0.2 % of the wire, which is what is allowed.

    Below AWG 34 half a unit of the bare diameter's last digit, 0.1 mil, comes twice on top.
    """
    table = read("enamelled-mass.csv", 25, tally)
    d = numbers(table, "bare_mm")
    overall = (numbers(table, "overall_least_mm") + numbers(table, "overall_greatest_mm")) / 2
    grams = COPPER_DENSITY * section(d) + ENAMEL_DENSITY * (section(overall) - section(d))
    printed = numbers(table, "mass_lb_per_1000ft")
    off = pounds_per_1000_ft(grams) / printed - 1
    by_digit = np.where(numbers(table, "awg") > 34, 0.1 * INCH / 1000 / d, 0.0)
    for key, share, digit in zip(table["key"], off, by_digit, strict=True):
        tally.judge(f"enamelled {key}", abs(share) <= 0.002 + digit, f"{share:+.2%} off the print")


def section(d):
    return np.pi / 4 * d**2


def pounds_per_1000_ft(grams_per_m):
    return grams_per_m * 1000 * FOOT / POUND


def read(name, rows, tally):
    """Columns of text by name, the first also as `key`; a table that is not as long as it was is a failure."""
    lines = [line for line in (PUBLISHED / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    head, *body = [line.split(",") for line in lines if line]
    tally.judge(name, len(body) == rows, f"{len(body)} rows, {rows} expected")
    table = {column: list(texts) for column, texts in zip(head, zip(*body, strict=True), strict=True)}
    table["key"] = table[head[0]].copy()
    return table


def numbers(table, name):
    return np.array([float(text) if text else np.nan for text in table[name]])


def last_digit(text):
    return 10.0 ** -len(text.partition(".")[2])


if __name__ == "__main__":
    sys.exit(main())
