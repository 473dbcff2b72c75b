"""Exact beliefs by two ways of their own: plain enumeration of sets of faults, and pyagrum."""

import itertools

import numpy
import pyagrum


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
