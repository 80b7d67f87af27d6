#!/usr/bin/env python3
"""Builds a network (see made_network.py) in a general-purpose library and times every marginal of it.

    python3 libraries.py METHOD network.json answer.json

METHOD is `pyagrum-shafer-shenoy`, `pyagrum-lazy` or `pgmpy-elimination`. The tables
are made here from Mendel's rules; nothing of the program under test is used. Loci are not linked, so
that each is a network by itself, built and answered one after the other.

The answer has a line of JSON for each locus, the posterior of each animal, and one with seconds for
`build` (variables, arcs, tables, evidence), `infer` (all marginals asked for) and `change` (one
likelihood changes and all marginals of its locus are asked for again; null where the library has no
such thing or it takes too long), the first two the median of three where all together take less than
a minute; and `memory`, the peak of this process in bytes.
"""
import json
import os
import resource
import statistics
import sys
import time

LONG = 60.0
CHANGES = 5


def genotypes(alleles):
    return [(a, b) for a in range(alleles) for b in range(a, alleles)]


class Locus:
    """One locus as a network: for each animal its parents, its table and its likelihood."""

    def __init__(self, net, at):
        self.states = genotypes(net["loci"][at]["alleles"])
        self.freqs = net["loci"][at]["freqs"]
        self.animals = net["animals"]
        self.tables = {}
        self.likelihoods = {}
        for call in net["evidence"]:
            if call["loci"] == [at]:
                before = self.likelihoods.get(call["animal"], [1.0] * len(self.states))
                both = [a * b for a, b in zip(before, call["likelihood"])]
                # Only ratios matter for posteriors. Divided by its chance in unrelated stock, a call
                # weighs about one: the product of thousands would be zero in plain numbers. What
                # leaves one state has to be one there: pyagrum gives it back as the posterior.
                chance = sum(a * b for a, b in zip(self.young(None, None), both))
                left = sum(value > 0 for value in both)
                scale = max(both) if left == 1 else chance
                self.likelihoods[call["animal"]] = [value / scale for value in both]

    def parents(self, animal):
        return [parent for parent in (animal["sire"], animal["dam"]) if parent is not None]

    def gametes(self, parent):
        """Chance of each allele from a parent of this genotype; from the population when None."""
        if parent is None:
            return self.freqs
        return [parent.count(allele) / 2 for allele in range(len(self.freqs))]

    def young(self, sire, dam):
        """Chance of each genotype, given those of the parents."""
        one, other = self.gametes(sire), self.gametes(dam)
        return [one[a] * other[b] + (one[b] * other[a] if a != b else 0.0) for a, b in self.states]

    def table(self, known):
        """P(genotype | known parents): a row for each state of the parents, the first one slowest."""
        if known not in self.tables:
            first = self.states if known > 0 else [None]
            second = self.states if known > 1 else [None]
            self.tables[known] = [self.young(one, other) for one in first for other in second]
        return self.tables[known]


class Pyagrum:
    def __init__(self, engine):
        import pyagrum

        self.library, self.engine = pyagrum, getattr(pyagrum, engine)
        self.about = f"{engine}, {pyagrum.getNumberOfThreads()} threads"

    def build(self, locus):
        net, count = self.library.BayesNet(), len(locus.states)
        place = {animal["id"]: at for at, animal in enumerate(locus.animals)}
        # With a number given it need not look for the next free one, which takes ever longer.
        for name, at in place.items():
            net.add(self.library.RangeVariable(name, name, 0, count - 1), at)
        net.beginTopologyTransformation()
        for name, at in place.items():
            # The parent that is added first varies fastest.
            for parent in reversed(locus.parents(locus.animals[at])):
                net.addArc(place[parent], at)
        net.endTopologyTransformation()
        flat = {known: [value for row in locus.table(known) for value in row] for known in range(3)}
        for at, animal in enumerate(locus.animals):
            net.cpt(at).fillWith(flat[len(locus.parents(animal))])
        asked = self.engine(net)
        asked.setEvidence({place[name]: row for name, row in locus.likelihoods.items()})
        return net, asked, place

    def infer(self, locus, built, posteriors):
        built[1].makeInference()
        for at, animal in enumerate(locus.animals):
            posterior = built[1].posterior(at)
            if posteriors is not None:
                posteriors[animal["id"]] = posterior.tolist()

    keep = infer

    def changes(self, locus, built):
        """Changes likelihoods that leave several states, one after the other, there and back."""
        open_calls = [a for a, row in locus.likelihoods.items() if sum(v > 0 for v in row) > 1]
        times = []
        for animal in open_calls[:: max(1, len(open_calls) // CHANGES)][:CHANGES]:
            row = list(locus.likelihoods[animal])
            at = next(at for at, value in enumerate(row) if value > 0)
            other = row[:at] + [row[at] * 0.75] + row[at + 1 :]
            for new in (other, row) if sum(times) < LONG / 4 else ():
                begun = time.perf_counter()
                built[1].chgEvidence(built[2][animal], new)
                self.infer(locus, built, None)
                times.append(time.perf_counter() - begun)
        return times


class Pgmpy:
    """The likelihoods are factors of their own. Parts that do not hang together are built apart.

    One query for each animal. Its clique tree (BeliefPropagation of 1.1.2) is not used: it takes a
    tree for calibrated when beliefs differ by less than 1e-8, and beliefs that are not normalised are
    so small here that it stops too early, with posteriors that are wrong in the third digit.
    """

    def __init__(self):
        import logging
        import warnings

        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import DiscreteFactor, TabularCPD
        from pgmpy.inference import VariableElimination
        from pgmpy.models import DiscreteBayesianNetwork

        logging.disable(logging.WARNING)
        self.factor, self.cpd, self.net = DiscreteFactor, TabularCPD, DiscreteBayesianNetwork
        self.engine, self.about = VariableElimination, "VariableElimination"

    def build(self, locus):
        return [self.part(locus, part) for part in parts(locus)]

    def part(self, locus, animals):
        net, count = self.net(), len(locus.states)
        net.add_nodes_from(animal["id"] for animal in animals)
        for animal in animals:
            net.add_edges_from((parent, animal["id"]) for parent in locus.parents(animal))
        for animal in animals:
            known = locus.parents(animal)
            columns = [list(column) for column in zip(*locus.table(len(known)))]
            sizes = [count] * len(known)
            net.add_cpds(self.cpd(animal["id"], count, columns, evidence=known, evidence_card=sizes))
        markov = net.to_markov_model()
        for animal in animals:
            if animal["id"] in locus.likelihoods:
                likelihood = locus.likelihoods[animal["id"]]
                markov.add_factors(self.factor([animal["id"]], [count], likelihood))
        return animals, markov

    def infer(self, _locus, built, _posteriors):
        self.found = {}
        for animals, markov in built:
            asked = self.engine(markov)
            for animal in animals:
                row = asked.query([animal["id"]], show_progress=False).values
                self.found[animal["id"]] = (row / row.sum()).tolist()

    def keep(self, _locus, _built, posteriors):
        posteriors.update(self.found)

    def changes(self, _locus, _built):
        return []


def parts(locus):
    """Animals that hang together, in their order."""
    above = {animal["id"]: animal["id"] for animal in locus.animals}

    def top(name):
        while above[name] != name:
            above[name] = above[above[name]]
            name = above[name]
        return name

    for animal in locus.animals:
        for parent in locus.parents(animal):
            above[top(animal["id"])] = top(parent)
    found = {}
    for animal in locus.animals:
        found.setdefault(top(animal["id"]), []).append(animal)
    return list(found.values())


METHODS = {
    "pyagrum-shafer-shenoy": lambda: Pyagrum("ShaferShenoyInference"),
    "pyagrum-lazy": lambda: Pyagrum("LazyPropagation"),
    "pgmpy-elimination": Pgmpy,
}


def once(library, loci, target):
    """Every locus built and answered; seconds of both, and of changes when a target is given.

    Posteriors go to the target locus by locus, so that they do not count as memory of the library.
    """
    build, infer, changes = 0.0, 0.0, []
    for locus in loci:
        built = None
        begun = time.perf_counter()
        built = library.build(locus)
        ready = time.perf_counter()
        library.infer(locus, built, None)
        done = time.perf_counter()
        build, infer = build + ready - begun, infer + done - ready
        if target:
            posteriors = {}
            library.keep(locus, built, posteriors)
            print(json.dumps(posteriors), file=target)
            changes += library.changes(locus, built) if infer < LONG else []
    return build, infer, changes


def peak():
    """The most memory of this process; without what it had before it became this program."""
    try:
        with open("/proc/self/status") as status:
            return next(int(line.split()[1]) for line in status if line.startswith("VmHWM")) * 1024
    except (OSError, StopIteration):
        pass
    # Kilobytes, but bytes on macOS.
    unit = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit


def main():
    method, source, target = sys.argv[1:]
    with open(source) as file:
        net = json.load(file)
    library = METHODS[method]()
    loci = [Locus(net, at) for at in range(len(net["loci"]))]
    before = peak()
    with open(target + ".part", "w") as file:
        times = [once(library, loci, file)]
        memory = peak()
        while len(times) < 3 and (len(times) + 1) * sum(times[0][:2]) < LONG:
            times.append(once(library, loci, None))
        changes = times[0][2]
        answer = {
            "about": library.about,
            "build": statistics.median(build for build, _, _ in times),
            "infer": statistics.median(infer for _, infer, _ in times),
            "change": statistics.median(changes) if changes else None,
            "times": len(times),
            "memory": memory,
            "memory_before": before,
        }
        print(json.dumps(answer), file=file)
    os.replace(target + ".part", target)


if __name__ == "__main__":
    main()
