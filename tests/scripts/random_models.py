"""Invented models and evidence drawn at random, the same for the same seed."""

import numpy


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
