"""The command line of the scripts that ask random questions and check the answers: --make N or --check FILE."""

import argparse
import json


def main(doc, make, check):
    """`make(count, seed)` gives the questions; `check(lines, at_least)` the exit status."""
    parser = argparse.ArgumentParser(description=doc, formatter_class=argparse.RawDescriptionHelpFormatter)
    mode = parser.add_mutually_exclusive_group(required=True)
    mode.add_argument("--make", type=int, metavar="N", help="print N questions")
    mode.add_argument("--check", metavar="FILE", help="compare the answers in FILE")
    parser.add_argument("--seed", type=int, default=1, help="of --make (1)")
    parser.add_argument("--at-least", type=int, default=1, metavar="N", help="cases that --check must find (1)")
    args = parser.parse_args()
    if args.make is not None:
        for question in make(args.make, args.seed):
            print(json.dumps(question))
        return 0
    with open(args.check, encoding="utf-8") as file:
        return check([json.loads(line) for line in file if line.strip()], args.at_least)
