"""Two spools of one lot, by scipy's least squares over both at once: the figures of `content/lot.rs`'s own tests.

usage: lot.py

Every figure is an unknown: those of the lot, each spool's own beside them, tares, lengths, draws and their factors. The
daemon fits each spool by itself and hands over what it tells; here nothing is handed over. Prints, for each case, what is
left on the second spool, its mass and its resistance per metre, each with its uncertainty.
"""

import numpy as np
from scipy.optimize import least_squares

SCATTER = 0.009
TABLE = [(0.36698, 0.015 * 0.36698), (0.42957, 0.013 * 0.42957)]
DOUBT = 0.01

# Wound empty: 14 coils between two weighings, then the bare reel on the scale; its resistance read once.
FIRST = {
    "tare": (80.0, 1.0),
    "start": [("weighed", 170.1, 0.1), ("resistance", 100.4, 0.5)],
    "drawn": [(14.57, 0.12)] * 14,
    "then": [("weighed", 94.9, 0.1)],
    "empty": 80.6,
}
# In use: weighed once.
WEIGHED = {"tare": (97.0, 1.0), "start": [("weighed", 203.5, 0.1)], "drawn": [], "then": [], "empty": None}
# The same, with its resistance.
MEASURED = {**WEIGHED, "start": [("weighed", 203.5, 0.1), ("resistance", 121.9, 0.6)]}


def solve(spools):
    """Least squares over all spools; (left, g/m, Ω/m) of the last, each with u."""
    guess, rows = [], []

    def unknown(x):
        guess.append(x)
        return len(guess) - 1

    def see(f, value, u):
        rows.append(lambda x: (f(x) - value) / u)

    lots = []
    for value, u in TABLE:
        i = unknown(value)
        see(lambda x, i=i: x[i], value, np.sqrt(u**2 - (SCATTER * value) ** 2))
        lots.append(i)
    for s in spools:
        figures = []
        for i, (value, u) in zip(lots, TABLE):
            own = unknown(0.0)
            see(lambda x, own=own: x[own], 0.0, SCATTER * value)
            figures.append(lambda x, i=i, own=own: x[i] + x[own])
        m, r = figures
        t, f, l0 = unknown(s["tare"][0]), unknown(1.0), unknown(250.0)
        see(lambda x, t=t: x[t], *s["tare"])
        see(lambda x, f=f: x[f], 1.0, DOUBT)
        own = []
        for value, u in s["drawn"]:
            d = unknown(0.0)
            see(lambda x, d=d: x[d], 0.0, u)
            own.append((d, value))
        full = lambda x, l0=l0: x[l0]
        left = lambda x, l0=l0, f=f, own=own: x[l0] - sum(value * x[f] + x[d] for d, value in own)
        for when, length in (("start", full), ("then", left)):
            for kind, value, u in s[when]:
                if kind == "weighed":
                    see(lambda x, length=length, m=m, t=t: m(x) * length(x) + x[t], value, u)
                else:
                    see(lambda x, length=length, r=r: r(x) * length(x), value, u)
        if s["empty"] is not None:
            e = unknown(0.0)
            see(lambda x, e=e: x[e], 0.0, 0.01)
            see(lambda x, e=e, m=m, t=t: m(x) * x[e] + x[t], s["empty"], 0.1)
    found = least_squares(
        lambda x: np.array([row(x) for row in rows]), guess, jac="3-point", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    answers = []
    for what in (left, m, r):
        step = 1e-6
        slope = np.array(
            [(what(found.x + step * e) - what(found.x - step * e)) / (2 * step) for e in np.eye(len(found.x))]
        )
        answers.append((what(found.x), float(np.sqrt(slope @ covariance @ slope))))
    return answers


def main():
    cases = [
        ("weighed, alone", [WEIGHED]),
        ("weighed, with the first", [FIRST, WEIGHED]),
        ("weighed and measured, alone", [MEASURED]),
        ("weighed and measured, with the first", [FIRST, MEASURED]),
        ("weighed, with the first twice", [FIRST, FIRST, WEIGHED]),
    ]
    for name, spools in cases:
        said = ", ".join(f"{value:.6f} ± {u:.6f}" for value, u in solve(spools))
        print(f"{name}: {said}")


if __name__ == "__main__":
    main()
