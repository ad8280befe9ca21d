#!/usr/bin/env python3
"""Asks for random coils, and checks the answers of `coil.design` figure by figure against a second computation.

    coil_design.py --make 200 --seed 7 > params.jsonl      one params object a line
    coil_design.py --check answers.jsonl --at-least 200    lines of {"params": …, "answer": …}
    coil_design.py --self-test                             this script against worked cases and known inductances

Needs requirements.txt. Exit status 1 on any difference, or if anything that should have been compared was not.
"""

import argparse
import json
import math
import sys

import coil_cases
import coil_model

# Both sides work in double precision, a few dozen operations from the same decimal inputs: about 1e-14 apart. 1e-9
# leaves room for another order of operations and for an answer of ten digits or more, and is below what any other
# convention would change: the smallest, leaving the pitch out of a turn's length, moves it by 8e-8 or more (measured on
# 3000 of these coils).
CLOSE = 1e-9

# The inductance here is an integral cut off and finished by its asymptote, within 5e-6 of known coils; the other side
# is another quadrature. Wheeler's estimate in its place would be 3 % off on the median coil, and over 1e-4 on 99.9 %.
CLOSE_BY_QUADRATURE = 1e-4

# A clearance is a small difference of large diameters: what rounding leaves is a share of the diameter, not of itself.
DIFFERENCES = {"clearance_inner_mm", "clearance_outer_mm", "clearance_outer_hot_mm", "overhang_mm"}

# Figures that need a param: without it the answer must not hold them, least of all as zero.
OPTIONAL = DIFFERENCES | {"mandrel_mm", "mass.former_g", "dcr_bench_ohm"}
# No shims may be read as none needed: then the mandrel is as thick as the former inside.
MAY_STAND = {"mandrel_mm"}


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    mode = parser.add_mutually_exclusive_group(required=True)
    mode.add_argument("--make", type=int, metavar="N", help="print N random params objects")
    mode.add_argument("--check", metavar="FILE", help="compare the answers in FILE")
    mode.add_argument("--self-test", action="store_true", help="check this script")
    parser.add_argument("--seed", type=int, default=1, help="of --make (1)")
    parser.add_argument("--at-least", type=int, default=1, metavar="N", help="cases that --check must find (1)")
    args = parser.parse_args()

    if args.make is not None:
        for params in coil_cases.make(args.make, args.seed):
            print(json.dumps(params))
        return 0
    if args.self_test:
        import coil_known

        return coil_known.run()
    with open(args.check, encoding="utf-8") as file:
        return check([line for line in file if line.strip()], args.at_least)


def check(lines, at_least):
    passed, failed, compared = 0, 0, 0
    for number, line in enumerate(lines, 1):
        case = json.loads(line)
        expected, complaints = coil_model.design(case["params"]), []
        if not isinstance(case.get("answer"), dict):
            complaints.append(f"no answer: {case.get('error', case.get('answer'))}")
        else:
            complaints, figures = differences(expected, case["answer"], case["params"])
            compared += figures
        if complaints:
            failed += 1
            print(f"case {number}: {json.dumps(case['params'])}")
            for complaint in complaints:
                print(f"  {complaint}")
        else:
            passed += 1
    if passed + failed < at_least:
        print(f"only {passed + failed} cases of at least {at_least}")
        failed += at_least - passed - failed
    print(f"{compared} figures compared")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


def differences(expected, answer, params):
    """What is missing, too much or different in one answer, and how many figures were compared."""
    complaints, compared = [], 0
    for path, want in expected.items():
        met = at(answer, path)
        if met is None:
            complaints.append(f"{path}: not in the answer; recomputed {want}")
            continue
        wants, mets = (want, met) if isinstance(want, list) else ([want], [met])
        if not isinstance(mets, list) or len(mets) != len(wants):
            complaints.append(f"{path}: answer {met}; recomputed {want}")
            continue
        for one, figure in zip(wants, mets, strict=True):
            value, fault = bare(figure)
            compared += 1
            if fault:
                complaints.append(f"{path}: answer {figure}: {fault}")
            elif abs(value - one) > allowed(path, one, params):
                share = f", {value / one - 1:+.3e} of it" if one else ""
                complaints.append(f"{path}: answer {value!r}; recomputed {one!r}{share}")
    for path in sorted(OPTIONAL - expected.keys()):
        met = at(answer, path)
        if met is None:
            continue
        inside = params["former"]["inside_diameter_mm"]
        if path not in MAY_STAND:
            complaints.append(f"{path}: answer {met}, though the params do not decide it")
        elif abs((bare(met)[0] or 0) - inside) > CLOSE * inside:
            complaints.append(f"{path}: answer {met}; without shims it can only be {inside}")
    return complaints, compared


def allowed(path, want, params):
    if path in ("turns", "turns_per_layer"):
        return 0
    if path == "inductance_air_uh":
        return CLOSE_BY_QUADRATURE * abs(want)
    if path in DIFFERENCES:
        return CLOSE * params["former"]["inside_diameter_mm"]
    return CLOSE * abs(want)


def at(answer, path):
    for name in path.split("."):
        answer = answer.get(name) if isinstance(answer, dict) else None
    return answer


def bare(figure):
    """The value of a figure, given alone or with its uncertainty; and what is wrong with its form."""
    if isinstance(figure, dict):
        u = figure.get("u")
        if not is_number(u) or u < 0:
            return None, f"u is {u!r}"
        figure = figure.get("value")
    return (figure, None) if is_number(figure) else (None, f"value is {figure!r}")


def is_number(x):
    return isinstance(x, (int, float)) and not isinstance(x, bool) and math.isfinite(x)


if __name__ == "__main__":
    sys.exit(main())
