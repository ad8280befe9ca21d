"""What is left on a spool, by scipy's least squares: every length, tare and draw an unknown of its own.

usage: content.py FILE     FILE: a JSON object a line, {"prior", "events", "answer"}

An event "lost" is wire that may have gone unwritten: a draw of nothing with an error. How likely it was is the daemon's
word here; core's own tests hold that against Bayes' theorem.

Independent of the daemon's chain: one residual for everything known beforehand, drawn and read, the Jacobian written
out, solved by scipy.optimize.least_squares in unknowns scaled by what is known of them.
"""

import json
import math
import sys

import numpy as np
from scipy.linalg import lstsq, qr, solve_triangular
from scipy.optimize import least_squares

TOLERANCE = 1e-9
# Of the uncertainty.
U_TOLERANCE = 1e-9


def lightest(events):
    """The lightest weighing before the wire is moved to another reel."""
    seen = []
    for kind, value in events:
        if kind == "moved":
            break
        if kind == "weighed":
            seen.append(value[0])
    return min(seen) if seen else None


def anywhere_below(events):
    """A tare nobody knows: anywhere from nothing to the lightest weighing, all of it equally likely."""
    g = lightest(events)
    return None if g is None else (g / 2, g / 2 / math.sqrt(3))


class Problem:
    """Residuals in the order: known beforehand, draws, readings."""

    def __init__(self, prior, events):
        self.names, self.guess, self.scale, self.rows = [], [], [], []
        m = self.known(prior["g_per_m"])
        tare = prior["tare"] or anywhere_below(events)
        t = self.known(tare) if tare else None
        r = self.known(prior["ohm_per_m"])
        f = self.known([1.0, prior["draw_doubt"]])
        length = self.unknown(200.0, 100.0)
        lost = []  # (index of the draw's own length, as noted)
        for at, (kind, value) in enumerate(events):
            if kind in ("drawn", "lost"):
                lost.append((self.known(value), value[0]))
            elif kind == "unaccounted":
                length, lost = self.unknown(100.0, 100.0), []
            elif kind == "moved":
                tare = value or anywhere_below(events[at + 1:])
                t = self.known(tare) if tare else None
            else:
                self.rows.append((kind, value, length, list(lost), (m, t, r, f)))

    def unknown(self, guess, scale):
        self.guess.append(guess)
        self.scale.append(scale)
        return len(self.guess) - 1

    def known(self, value):
        i = self.unknown(value[0], value[1])
        self.rows.append(("known", value, i, [], None))
        return i

    def left(self, x, length, lost, f):
        """Length left: what was there less every draw, moved by the factor common to all."""
        value, slope = x[length], np.zeros(len(x))
        slope[length] = 1.0
        for own, noted in lost:
            value -= x[own] + noted * (x[f] - 1.0)
            slope[own] -= 1.0
            slope[f] -= noted
        return value, slope

    def evaluate(self, x):
        off, slopes = [], []
        for kind, (value, u), at, lost, shared in self.rows:
            if kind == "known":
                met, slope = x[at], np.zeros(len(x))
                slope[at] = 1.0
            else:
                m, t, r, f = shared
                met, slope = self.left(x, at, lost, f)
                if kind == "weighed":
                    length, slope = met, slope * x[m]
                    met = x[m] * length + x[t]
                    slope[m] += length
                    slope[t] += 1.0
                elif kind == "resistance":
                    length, slope = met, slope * x[r]
                    met = x[r] * length
                    slope[r] += length
            off.append((met - value) / u)
            slopes.append(slope / u)
        return np.array(off), np.array(slopes)

    def solve(self, events):
        guess, scale = np.array(self.guess), np.array(self.scale)
        at = lambda z: guess + scale * z
        found = least_squares(
            lambda z: self.evaluate(at(z))[0],
            np.zeros(len(guess)),
            jac=lambda z: self.evaluate(at(z))[1] * scale,
            method="trf",
            xtol=1e-15,
            ftol=1e-15,
            gtol=1e-15,
            max_nfev=2000,
        )
        # The flat bottom ends least_squares some 1e-9 away: three linear steps, each scipy's own, go down to rounding.
        z = found.x
        for _ in range(3):
            off, slopes = self.evaluate(at(z))
            z = z - lstsq(slopes * scale, off)[0]
        x = at(z)
        jacobian = self.evaluate(x)[1] * scale
        # By the triangle, not by the product of the Jacobian with itself: that would lose half of the digits.
        triangle = qr(jacobian, mode="economic")[1]
        _, _, length, lost, shared = self.last(events)
        value, slope = self.left(x, length, lost, shared[3])
        return value, float(np.linalg.norm(solve_triangular(triangle.T, slope * scale, lower=True)))

    def last(self, events):
        """The last reading's row, with every draw after it."""
        row = self.rows[-1]
        assert events[-1][0] not in ("drawn", "unaccounted", "moved"), "histories end with a reading"
        return row


def main():
    passed = failed = 0
    worst = worst_u = 0.0
    for n, line in enumerate(open(sys.argv[1], encoding="utf-8")):
        case = json.loads(line)
        left, u = Problem(case["prior"], case["events"]).solve(case["events"])
        met, met_u = case["answer"]
        off, off_u = abs(met - max(left, 0.0)) / (1.0 + abs(left)), abs(met_u - u) / u
        worst, worst_u = max(worst, off), max(worst_u, off_u)
        if off <= TOLERANCE and off_u <= U_TOLERANCE:
            passed += 1
        else:
            failed += 1
            print(f"history {n}: {met} ± {met_u}, scipy {left} ± {u}: {off:.2e}, {off_u:.2e}")
    print(f"{passed} passed, {failed} failed, worst {worst:.2e}, of the uncertainty {worst_u:.2e}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
