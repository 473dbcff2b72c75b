"""How long pyagrum takes for one update and one step of looking ahead, beside a line of belief."""

import json
import resource
import subprocess
import time

import pyagrum

from exact_beliefs import Sets

TIMES_AS_FAST = 200


def compare_times(model, belief, dice):
    """Prints both times for the same results; whether Floatbowl's is short enough."""
    hard = [{"observation": o["id"], "outcome": dice.choice(o["outcomes"])["id"]} for o in model["observations"]]
    seen = hard[:6]
    engine = time_engine(model, seen)
    ours = time_floatbowl(belief, seen)
    times = engine / ours
    print(
        f"{model['system']}: pyagrum {engine:.2f} s for one update and one step of looking ahead, "
        f"floatbowl {1000 * ours:.2f} ms for a line of belief: {times:.0f} times as fast"
    )
    return times >= TIMES_AS_FAST


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
        subprocess.run(belief, input=line * lines, stdout=subprocess.DEVNULL, text=True, check=True)
        return resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - start

    return (seconds(many) - seconds(few)) / (many - few)
