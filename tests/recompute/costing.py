"""What a rewind costs, computed a second time with decimals, by other hands than the plugin's script.

    unit = ((setup/n + run/(1-s) + rest) * rate * (1+overhead) + (wire+former+adhesive)/(1-s) + consumables + parts + rules_batch/n + rules_coil) / (1-margin)

Reads JSON lines {"n", "grams", ...} with amounts as text, writes the price of each to the cent, commercially rounded. Without
input it checks the printed case of the 38 mm coil against itself.
"""

import json
import sys
from decimal import ROUND_HALF_UP, Decimal, getcontext

getcontext().prec = 50
D = Decimal


def price(q: dict) -> Decimal:
    d = {name: D(str(value)) for name, value in q.items()}
    good = 1 - d["scrap_pct"] / 100
    labour = (d["set_up_min"] / d["n"] + d["run_min"] / good + d["rest_min"]) / 60 * d["hour"]
    labour *= 1 + d["overhead_pct"] / 100
    lost_with_the_coil = (d["grams"] / 1000 * d["wire_per_kg"] + d["former"] + d["adhesive"]) / good
    cost = labour + lost_with_the_coil + d["consumables"] + d["other_parts"]
    # What costing rules of other plugins add: once for the batch, and for each good coil.
    cost += d.get("rules_batch", D(0)) / d["n"] + d.get("rules_coil", D(0))
    return (cost / (1 - d["margin_pct"] / 100)).quantize(D("0.01"), ROUND_HALF_UP)


# The 38 mm coil of two layers AWG 31: 14.595 m of 0.36698 g/m. Regression values of the arithmetic, printed to the cent.
CASE = {
    "n": 1, "grams": "5.35607", "set_up_min": 55, "run_min": 47, "rest_min": 0, "hour": "48", "overhead_pct": 18, "scrap_pct": 15,
    "wire_per_kg": "62", "former": "0.60", "adhesive": "0.45", "consumables": "2.20", "other_parts": 0, "margin_pct": 22,
}
PRINTED = {1: "138.39", 2: "105.11", 4: "88.47", 10: "78.48", 24: "74.60"}


def known() -> None:
    for n, printed in PRINTED.items():
        assert price({**CASE, "n": n}) == D(printed), (n, price({**CASE, "n": n}))
    whole = price({**CASE, "rest_min": 95, "other_parts": "4.50", "margin_pct": 25})
    assert whole == D("269.50"), whole


if __name__ == "__main__":
    known()
    for line in sys.stdin:
        print(price(json.loads(line)))
