#!/usr/bin/env python3
"""Recomputes beliefs from an exported model and compares them with those of Floatbowl.

Two independent ways: plain enumeration of all sets of at most three faults, and pyagrum, an exact
engine for Bayesian networks. In small models pyagrum has one variable per fault; in large ones one
variable whose values are the sets, since a table over fifty parents does not fit any memory.

    recompute_beliefs.py --random 200 --belief 'target/release/examples/belief_of_model {model}'
    recompute_beliefs.py --system injected --floatbowl target/release/floatbowl [--time]

With --time, pyagrum's time for one update and one step of looking ahead is compared with Floatbowl's
for the same, by the example program, and with that of a whole line of `floatbowl belief`.

Needs `pip install pyagrum numpy`. Ends with 1 where a figure differs by more than 1e-6, or where
Floatbowl is less than 200 times as fast.
"""

import argparse
import json
import random
import shlex
import subprocess
import sys
import tempfile

import numpy

from exact_beliefs import Sets, engine, timeline
from random_models import random_evidence, random_model
from reference_time import compare_times

TOLERANCE = 1e-6
ENGINE_LINES = 4


def main():
    args = arguments()
    worst = Worst()
    for seed in range(args.random):
        dice = random.Random(seed)
        model = random_model(dice)
        with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
            json.dump(model, file)
            file.flush()
            check(model, args.belief.format(model=file.name), dice, args.lines, worst)
    for system in args.system:
        model = json.loads(run([args.floatbowl, "knowledge", "export", "--system", system], ""))
        dice = random.Random(system)
        check(model, f"{args.floatbowl} belief --system {system}", dice, args.lines, worst)
        if args.time:
            belief = [args.floatbowl, "belief", "--system", system]
            worst.slow |= not compare_times(model, belief, args.belief, dice)
    print(worst)
    sys.exit(0 if worst.fine() else 1)


def arguments():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--random", type=int, default=0, help="how many random models")
    parser.add_argument("--belief", default="target/release/examples/belief_of_model {model}")
    parser.add_argument("--system", action="append", default=[], help="a shipped system; may be repeated")
    parser.add_argument("--floatbowl", default="target/release/floatbowl")
    parser.add_argument("--lines", type=int, default=6, help="how many pieces of evidence per model")
    parser.add_argument("--time", action="store_true", help="also time pyagrum")
    args = parser.parse_args()
    if not args.random and not args.system:
        parser.error("give --random N or --system ID")
    return args


class Worst:
    """The largest differences found."""

    def __init__(self):
        self.enumeration, self.engine, self.compared, self.beyond_bound = 0.0, 0.0, 0, 0
        self.truncation, self.bounds = 0.0, []
        self.slow = False

    def fine(self):
        near = max(self.enumeration, self.engine) <= TOLERANCE
        return near and self.compared > 0 and self.beyond_bound == 0 and not self.slow

    def __str__(self):
        text = (
            f"{self.compared} beliefs compared; largest difference from enumeration {self.enumeration:.1e}, "
            f"from pyagrum {self.engine:.1e}"
        )
        if self.bounds:
            text += (
                f"; without the limit of three faults the largest difference is {self.truncation:.1e}, "
                f"{self.beyond_bound} beyond their bound (median bound {numpy.median(self.bounds):.1e})"
            )
        return text


def run(command, text):
    return subprocess.run(command, input=text, capture_output=True, text=True, check=True).stdout


def check(model, command, dice, lines, worst):
    """Compares the beliefs that a command gives for random evidence."""
    evidence = [random_evidence(model, dice) for _ in range(lines)]
    text = "".join(json.dumps({"evidence": items}) + "\n" for items in evidence)
    answers = [json.loads(line) for line in run(shlex.split(command), text).splitlines()]
    assert len(answers) == len(evidence), f"{len(answers)} answers to {len(evidence)} lines"
    sets = Sets(model)
    for nth, (items, answer) in enumerate(zip(evidence, answers)):
        seen, repaired = timeline(items)
        expected = sets.belief(seen)
        worst.compared += 1
        worst.enumeration = max(worst.enumeration, difference(model, answer, expected, repaired))
        if len(model["faults"]) <= 8:
            worst.engine = max(worst.engine, difference(model, answer, engine(model, seen, 3), repaired))
            unlimited, _ = engine(model, seen, len(model["faults"]))
            off = max(abs(answer["faults"][fault] - p) for fault, p in unlimited.items())
            worst.truncation = max(worst.truncation, off)
            worst.bounds.append(answer["dropped_mass_bound"])
            worst.beyond_bound += off > answer["dropped_mass_bound"] + 1e-9
        elif nth < ENGINE_LINES:
            worst.engine = max(worst.engine, difference(model, answer, sets.engine(seen), repaired))


def difference(model, answer, expected, repaired):
    """The largest difference of any figure of the answer."""
    faults, log_evidence = expected
    ids = {fault["id"] for fault in model["faults"]}
    assert set(answer["faults"]) == ids and set(answer["present"]) == ids, "every fault must be reported"
    now = {fault: 0.0 if fault in repaired else p for fault, p in faults.items()}
    return max(
        abs(answer["log_evidence"] - log_evidence),
        max(abs(answer["faults"][fault] - p) for fault, p in faults.items()),
        max(abs(answer["present"][fault] - p) for fault, p in now.items()),
    )


if __name__ == "__main__":
    main()
