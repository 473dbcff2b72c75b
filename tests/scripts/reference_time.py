"""How long pyagrum takes for one update and one step of looking ahead, and Floatbowl for the same."""

import json
import resource
import shlex
import subprocess
import tempfile
import time

import pyagrum

from exact_beliefs import Sets

TIMES_AS_FAST = 200


def compare_times(model, belief, program, dice):
    """Prints both times for the same results; whether Floatbowl's is short enough.

    The same work is one update and one step of looking ahead; a whole line of `floatbowl belief` also
    reads and writes JSON and works out which result contradicts the rest."""
    hard = [{"observation": o["id"], "outcome": dice.choice(o["outcomes"])["id"]} for o in model["observations"]]
    seen = hard[:6]
    engine = time_engine(model, seen)
    same = time_same(model, program, seen)
    line = time_line(belief, seen)
    print(
        f"{model['system']}: one update and one step of looking ahead: pyagrum {engine:.2f} s, "
        f"floatbowl {1000 * same:.2f} ms: {engine / same:.0f} times as fast; "
        f"a whole line of belief {1000 * line:.2f} ms: {engine / line:.0f} times"
    )
    return engine / same >= TIMES_AS_FAST


def time_same(model, program, seen):
    """Processor seconds of the same work in the example program, once it has started."""
    with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
        json.dump(model, file)
        file.flush()
        line = json.dumps({"evidence": seen}) + "\n"

        def seconds(times):
            command = [*shlex.split(program.format(model=file.name)), "--time", str(times)]
            return seconds_of(command, line)

        few, many = 1, 401
        return (seconds(many) - seconds(few)) / (many - few)


def seconds_of(command, lines):
    """Processor seconds of a program that reads these lines."""
    start = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    subprocess.run(command, input=lines, stdout=subprocess.DEVNULL, text=True, check=True)
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - start


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


def time_line(belief, seen):
    """Processor seconds for a line of evidence, once the program has started."""
    line = json.dumps({"evidence": seen}) + "\n"
    few, many = 1, 201
    return (seconds_of(belief, line * many) - seconds_of(belief, line * few)) / (many - few)
