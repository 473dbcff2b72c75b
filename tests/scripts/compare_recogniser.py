#!/usr/bin/env python3
"""Scores Floatbowl and the general recogniser quantulum3 side by side (development only).

Two sets: quantulum3's own published test sentences, restricted to those whose every quantity is of
a kind a rider measures, and this project's labelled readings. A message counts when all its
quantities, in base units, are found and no others.

    pip install quantulum3 setuptools
    python3 tests/scripts/compare_recogniser.py target/release/floatbowl interpret
"""

import json
import math
import pathlib
import subprocess
import sys

import quantulum3
from quantulum3 import parser

# quantulum3's unit -> (kind, factor to the base unit, offset before the factor)
UNITS = {
    "volt": ("voltage", 1.0, 0.0),
    "millivolt": ("voltage", 1e-3, 0.0),
    "ohm": ("resistance", 1.0, 0.0),
    "milliohm": ("resistance", 1e-3, 0.0),
    "kiloohm": ("resistance", 1e3, 0.0),
    "megaohm": ("resistance", 1e6, 0.0),
    "ampere": ("current", 1.0, 0.0),
    "milliampere": ("current", 1e-3, 0.0),
    "litre": ("volume", 1.0, 0.0),
    "millilitre": ("volume", 1e-3, 0.0),
    "centilitre": ("volume", 1e-2, 0.0),
    "cubic centimetre": ("volume", 1e-3, 0.0),
    "cup": ("volume", 0.2365882365, 0.0),
    "pint": ("volume", 0.473176473, 0.0),
    "quart": ("volume", 0.946352946, 0.0),
    "gallon": ("volume", 3.785411784, 0.0),
    "fluid ounce": ("volume", 0.0295735295625, 0.0),
    "second": ("duration", 1.0, 0.0),
    "minute": ("duration", 60.0, 0.0),
    "hour": ("duration", 3600.0, 0.0),
    "degree celsius": ("temperature", 1.0, 0.0),
    "degree fahrenheit": ("temperature", 1 / 1.8, -32.0),
    "kelvin": ("temperature", 1.0, -273.15),
    "pound-force per square inch": ("pressure", 6.894757293168361, 0.0),
    "pound force per square inch": ("pressure", 6.894757293168361, 0.0),
    "bar": ("pressure", 100.0, 0.0),
    "kilopascal": ("pressure", 1.0, 0.0),
    "revolutions per minute": ("speed", 1.0, 0.0),
    "litre per minute": ("flow", 1.0, 0.0),
    "millilitre per minute": ("flow", 1e-3, 0.0),
}


def in_base(value, unit):
    """A value of quantulum3's unit as (kind, value in the base unit), or None."""
    kind = UNITS.get(unit.lower())
    return kind and (kind[0], (value + kind[2]) * kind[1])


def ends(reading):
    """The numbers of a reading: one, or the ends of a range."""
    numbers = [reading.get(name) for name in ("value", "low", "high")]
    return [(reading["quantity"], number) for number in numbers if number is not None]


def by_floatbowl(command, messages):
    """Quantities found by `floatbowl interpret`, message by message."""
    lines = [json.dumps({"text": text, "expecting": expecting}) for text, expecting in messages]
    done = subprocess.run(command, input="\n".join(lines) + "\n", capture_output=True, text=True, check=True)
    reports = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(reports) == len(messages), "one line out for each line in"
    return [[end for reading in report["readings"] for end in ends(reading)] for report in reports]


def by_quantulum(messages):
    """Quantities found by quantulum3; bare numbers take the kind that is expected."""
    found = []
    for text, expecting in messages:
        here = []
        try:
            quantities = parser.parse(text)
        except Exception as failure:  # it fails on some messages; that is part of its score
            print(f"quantulum3 failed on {text!r}: {failure}", file=sys.stderr)
            quantities = []
        for quantity in quantities:
            spread = quantity.uncertainty or 0.0
            values = {quantity.value - spread, quantity.value + spread}
            for value in sorted(values):
                bare = quantity.unit.name == "dimensionless" and expecting
                base = (expecting, value) if bare else in_base(value, quantity.unit.name)
                if base:
                    here.append(base)
        found.append(here)
    return found


def same(found, wanted):
    """Whether both lists hold the same kinds and values, in any order."""
    if len(found) != len(wanted):
        return False
    pairs = zip(sorted(found), sorted(wanted))
    return all(a[0] == b[0] and math.isclose(a[1], b[1], rel_tol=1e-4, abs_tol=1e-9) for a, b in pairs)


def published():
    """quantulum3's own test sentences of the kinds a rider measures."""
    folder = pathlib.Path(quantulum3.__file__).parent / "_lang" / "en_US" / "tests"
    messages, wanted = [], []
    for name in ("quantities.json", "quantities.ambiguity.json"):
        for case in json.loads((folder / name).read_text(encoding="utf-8")):
            bases = [in_base(result["value"], result["unit"]) for result in case["res"]]
            if bases and all(bases) and not any(result.get("uncertainty") for result in case["res"]):
                messages.append((case["req"], bases[0][0]))
                wanted.append(bases)
    return messages, wanted


def own():
    """This project's labelled readings."""
    messages, wanted = [], []
    for path in sorted(pathlib.Path("tests/corpus").glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            case = json.loads(line)
            if "text" not in case or not path.stem.startswith(("readings", "not-readings", "roles", "batch")):
                continue
            if "readings" not in case and path.stem != "not-readings":
                continue
            messages.append((case["text"], case.get("expecting")))
            wanted.append([end for reading in case.get("readings", []) for end in ends(reading)])
    return messages, wanted


def main(command):
    for name, (messages, wanted) in (("quantulum3's tests", published()), ("this corpus", own())):
        rows = (("floatbowl", by_floatbowl(command, messages)), ("quantulum3", by_quantulum(messages)))
        for who, found in rows:
            right = sum(same(a, b) for a, b in zip(found, wanted))
            print(f"{name:20} {who:12} {right:4} of {len(messages):4}  {right / max(len(messages), 1):.3f}")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(sys.argv[1:])
