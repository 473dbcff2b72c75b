#!/usr/bin/env python3
"""Recomputes beliefs from an exported model and compares them with those of Floatbowl.

Two independent ways: plain enumeration of all sets of at most three faults, and pyagrum, an exact
engine for Bayesian networks. In small models pyagrum has one variable per fault; in large ones one
variable whose values are the sets, since a table over fifty parents does not fit any memory.

    recompute_beliefs.py --random 200 --belief 'target/release/examples/belief_of_model {model}'
    recompute_beliefs.py --system injected --floatbowl target/release/floatbowl [--time]

With --time, pyagrum's time for one update and one step of looking ahead is compared with that of a
whole line of `floatbowl belief`, which does more.

Needs `pip install pyagrum numpy`. Ends with 1 where a figure differs by more than 1e-6, or where
Floatbowl is less than 200 times as fast.
"""

import argparse
import itertools
import json
import random
import resource
import shlex
import subprocess
import sys
import tempfile
import time

import numpy
import pyagrum

TOLERANCE = 1e-6
TIMES_AS_FAST = 200
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
            compare_times(model, [args.floatbowl, "belief", "--system", system], dice, worst)
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


def timeline(items):
    """Results in force with what was repaired before each, and what is repaired in the end."""
    seen, repaired, since = [], frozenset(), 0
    for item in items:
        if "repaired" in item:
            repaired, since = repaired | {item["repaired"]}, len(seen)
        else:
            kept = [old for old in seen[since:] if old[0]["observation"] != item["observation"]]
            seen = seen[:since] + kept + [(item, repaired)]
    return seen, repaired


def likelihoods(model, item, repaired):
    """Likelihood of a result by deciding cause, in order, and that of `normal`."""
    observation = next(o for o in model["observations"] if o["id"] == item["observation"])
    ids = [outcome["id"] for outcome in observation["outcomes"]]
    weights = item.get("weights") or {item["outcome"]: 1.0}
    strength = item.get("strength", 1.0)

    def weigh(chances):
        return sum(weights.get(outcome, 0.0) * chance for outcome, chance in zip(ids, chances))

    normal = weigh(observation["normal"])
    causes = {}
    for cause in observation["causes"]:
        if cause["fault"] not in repaired and cause["fault"] not in causes:
            causes[cause["fault"]] = strength * weigh(cause["outcomes"]) + (1 - strength) * normal
    return list(causes.items()), normal


class Sets:
    """All sets of at most three faults with their prior."""

    def __init__(self, model):
        self.model = model
        self.ids = [fault["id"] for fault in model["faults"]]
        at = {fault: nth for nth, fault in enumerate(self.ids)}
        clashes = {
            frozenset((at[fault["id"]], at[other])) for fault in model["faults"] for other in fault["excludes"]
        }
        members, prior = [], []
        odds = [fault["prior"] / (1 - fault["prior"]) for fault in model["faults"]]
        for size in range(4):
            for chosen in itertools.combinations(range(len(odds)), size):
                if not any(frozenset(pair) in clashes for pair in itertools.combinations(chosen, 2)):
                    members.append(chosen)
                    prior.append(numpy.prod([odds[f] for f in chosen]) if chosen else model["healthy_factor"])
        self.prior = numpy.array(prior) / numpy.sum(prior)
        self.present = numpy.zeros((len(odds), len(members)), dtype=bool)
        for nth, chosen in enumerate(members):
            self.present[list(chosen), nth] = True

    def likelihood(self, item, repaired):
        causes, normal = likelihoods(self.model, item, repaired)
        values = numpy.full(len(self.prior), normal)
        for fault, value in reversed(causes):
            values[self.present[self.ids.index(fault)]] = value
        return values

    def belief(self, seen):
        joint = self.prior.copy()
        for item, repaired in seen:
            joint = joint * self.likelihood(item, repaired)
        total = joint.sum()
        return dict(zip(self.ids, self.present @ joint / total)), float(numpy.log(total))

    def network(self, seen):
        """One variable for the set of faults, one for each result, which is true."""
        net = pyagrum.BayesNet()
        which = net.add(pyagrum.RangeVariable("set", "set", 0, len(self.prior) - 1))
        net.cpt(which).fillWith(self.prior.tolist())
        for nth, (item, repaired) in enumerate(seen):
            values = self.likelihood(item, repaired)
            add_result(net, nth, [which], numpy.column_stack([values]).ravel(), max(values.max(), 1.0))
        return net

    def engine(self, seen):
        net = self.network(seen)
        inference = pyagrum.LazyPropagation(net)
        inference.setEvidence({f"result{nth}": 1 for nth in range(len(seen))})
        inference.addTarget("set")
        inference.makeInference()
        posterior = inference.posterior("set").toarray()
        scale = sum(numpy.log(max(self.likelihood(*one).max(), 1.0)) for one in seen)
        log_evidence = numpy.log(inference.evidenceProbability()) + scale if seen else 0.0
        return dict(zip(self.ids, self.present @ posterior)), float(log_evidence)


def add_result(net, nth, parents, likelihood, scale):
    """A variable that is true with the scaled likelihood; the last parent varies fastest."""
    node = net.add(pyagrum.LabelizedVariable(f"result{nth}", "", 2))
    for parent in reversed(parents):
        net.addArc(parent, node)
    table = numpy.column_stack([1 - likelihood / scale, likelihood / scale])
    names = list(net.cpt(node).names)
    assert names[0] == f"result{nth}" and len(names) == len(parents) + 1
    net.cpt(node).fillWith(table.ravel().tolist())


def engine(model, seen, most):
    """The belief by pyagrum with one variable per fault, at most so many of them present."""
    faults = model["faults"]
    net = pyagrum.BayesNet()
    node = {}
    for fault in faults:
        node[fault["id"]] = net.add(pyagrum.LabelizedVariable(fault["id"], "", 2))
        net.cpt(node[fault["id"]]).fillWith([1 - fault["prior"], fault["prior"]])
    everything = [fault["id"] for fault in faults]
    clashes = [{fault["id"], other} for fault in faults for other in fault["excludes"]]

    def allowed(present):
        if len(present) > most or any(clash <= present for clash in clashes):
            return 0.0
        return 1.0 if present else model["healthy_factor"]

    add_result(net, 0, [node[f] for f in everything], table(everything, allowed), 1.0)
    scale = 0.0
    for nth, (item, repaired) in enumerate(seen, start=1):
        causes, normal = likelihoods(model, item, repaired)

        def likelihood(present, causes=causes, normal=normal):
            return next((value for fault, value in causes if fault in present), normal)

        parents = [fault for fault, _ in causes]
        values = table(parents, likelihood)
        add_result(net, nth, [node[f] for f in parents], values, max(values.max(), 1.0))
        scale += numpy.log(max(values.max(), 1.0))
    allowed_alone = evidence_probability(net, 1)
    inference = pyagrum.LazyPropagation(net)
    inference.setEvidence({f"result{nth}": 1 for nth in range(len(seen) + 1)})
    inference.makeInference()
    log_evidence = numpy.log(inference.evidenceProbability() / allowed_alone) + scale
    return {fault: float(inference.posterior(fault)[1]) for fault in everything}, float(log_evidence)


def evidence_probability(net, results):
    inference = pyagrum.LazyPropagation(net)
    inference.setEvidence({f"result{nth}": 1 for nth in range(results)})
    inference.makeInference()
    return inference.evidenceProbability()


def table(faults, value):
    """The value for each combination of present faults, the last of which varies fastest."""
    rows = itertools.product([False, True], repeat=len(faults))
    return numpy.array([value({f for f, there in zip(faults, row) if there}) for row in rows])


def compare_times(model, belief, dice, worst):
    """Prints both times for the same results, and whether Floatbowl's is short enough."""
    hard = [{"observation": o["id"], "outcome": dice.choice(o["outcomes"])["id"]} for o in model["observations"]]
    seen = hard[:6]
    engine = time_engine(model, seen)
    ours = time_floatbowl(belief, seen)
    times = engine / ours
    worst.slow = worst.slow or times < TIMES_AS_FAST
    print(
        f"{model['system']}: pyagrum {engine:.2f} s for one update and one step of looking ahead, "
        f"floatbowl {1000 * ours:.2f} ms for a line of belief: {times:.0f} times as fast"
    )


def time_engine(model, seen):
    """Seconds for the belief after these results, and after each outcome of every other observation."""
    sets = Sets(model)
    known_ids = {item["observation"] for item in seen}
    results = [(item, frozenset()) for item in seen]
    ahead = [
        ({"observation": o["id"], "outcome": outcome["id"]}, frozenset())
        for o in model["observations"]
        if o["id"] not in known_ids
        for outcome in o["outcomes"]
    ]
    net = sets.network(results + ahead)
    known = {f"result{nth}": 1 for nth in range(len(results))}
    start = time.process_time()
    for nth in [None, *range(len(results), len(results) + len(ahead))]:
        inference = pyagrum.LazyPropagation(net)
        inference.setEvidence(known if nth is None else {**known, f"result{nth}": 1})
        inference.addTarget("set")
        inference.makeInference()
        inference.posterior("set")
    return time.process_time() - start


def time_floatbowl(belief, seen):
    """Processor seconds for a line of evidence, once the program has started."""
    line = json.dumps({"evidence": seen}) + "\n"
    few, many = 1, 201

    def seconds(lines):
        start = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        run(belief, line * lines)
        return resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - start

    return (seconds(many) - seconds(few)) / (many - few)


def random_evidence(model, dice):
    """Hard, soft and weak results, repeats and repairs, in random order."""
    items = []
    for _ in range(dice.randint(0, 9)):
        if dice.random() < 0.15:
            items.append({"repaired": dice.choice(model["faults"])["id"]})
            continue
        before = [item["observation"] for item in items if "observation" in item]
        observation = dice.choice(model["observations"])
        if before and dice.random() < 0.25:
            again = dice.choice(before)
            observation = next(o for o in model["observations"] if o["id"] == again)
        outcomes = [outcome["id"] for outcome in observation["outcomes"]]
        item = {"observation": observation["id"]}
        if dice.random() < 0.4:
            item["weights"] = {outcome: dice.uniform(0.01, 2.0) for outcome in outcomes}
        else:
            item["outcome"] = dice.choice(outcomes)
        if dice.random() < 0.3:
            item["strength"] = dice.random()
        items.append(item)
    return items


def random_model(dice):
    """An invented model of two to eight faults and one to eight observations."""
    faults = [random_fault(nth, dice) for nth in range(dice.randint(2, 8))]
    if len(faults) > 2 and dice.random() < 0.5:
        faults[0]["excludes"], faults[1]["excludes"] = ["f1"], ["f0"]
    return {
        "system": "invented",
        "faults": faults,
        "openings": [],
        "observations": [random_observation(nth, faults, dice) for nth in range(dice.randint(1, 8))],
        "handover_minutes": 120,
        "minutes_per_cost_unit": 10,
        "healthy_factor": dice.uniform(0.01, 1.0),
    }


def random_fault(nth, dice):
    repair = {"minutes": dice.uniform(2, 40), "parts_cost": dice.uniform(0, 3), "openings": [], "success": 1.0}
    prior = numpy.exp(dice.uniform(numpy.log(0.01), numpy.log(0.3)))
    return {"id": f"f{nth}", "part": f"p{nth}", "prior": prior, "excludes": [], "repair": repair}


def random_observation(nth, faults, dice):
    outcomes = dice.randint(2, 3)

    def chances():
        weights = [dice.uniform(0.01, 1.0) for _ in range(outcomes)]
        return [weight / sum(weights) for weight in weights]

    causes = dice.sample(faults, dice.randint(1, len(faults)))
    return {
        "id": f"o{nth}",
        "kind": "choice",
        "quantity": None,
        "minutes": dice.uniform(0.5, 15),
        "openings": [],
        "kit": [],
        "gates": [],
        "outcomes": [{"id": f"o{nth}-{k}", "words": str(k), "low": None, "high": None} for k in range(outcomes)],
        "normal": chances(),
        "causes": [{"fault": fault["id"], "outcomes": chances()} for fault in causes],
    }


if __name__ == "__main__":
    main()
