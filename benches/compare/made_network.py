#!/usr/bin/env python3
"""Makes a network of an invented colony: a pedigree, allele frequencies and uncertain calls, as JSON.

    python3 made_network.py --animals 400 --loci 8 --loops 0.1 --seed 1 > network.json

The same arguments give the same bytes on every machine. What is written:

    name, made      what it is called, and the arguments it was made with
    loci            for each locus the number of `alleles` and their `freqs` in unrelated stock
    animals         `id`, `sire`, `dam`, `sex` ("M" or "F"), parents before their young
    evidence        `animal`, `loci` (one position), `likelihood` of each genotype

Genotypes are unordered pairs of alleles in the order 0/0, 0/1 … 1/1, 1/2 … Loci are not linked. An
animal without parents is drawn from random mating; a parent that is null passes on an allele drawn
from the population. A likelihood is the chance of the call given each genotype; several of one
animal at one locus multiply.

What makes exact answers costly are loops in the pedigree. In the style "lines" they come from the
matings between relatives alone (`--loops`, their share of all matings): every other mating repeats an
old pair, or joins two parts of the colony that had nothing to do with each other. In the style
"closed" all founders are there at the beginning and any two that are not close kin may be mated, so
that lines cross again and again.
"""
import argparse
import json
import random

# Seasons for which an animal is bred, and clutches of one male within a season.
BREEDING_SEASONS = 5
CLUTCHES_OF_A_MALE = 4
# Chances that a genotype was tested, and that a call was written down.
TESTED = 0.02
CALLED, FOUNDER_CALLED = 0.8, 0.5


class Dice:
    """Chance from `random()` alone, whose sequence Python promises never to change."""

    def __init__(self, seed):
        self.uniform = random.Random(seed).random

    def happens(self, chance):
        return self.uniform() < chance

    def below(self, count):
        return int(self.uniform() * count)

    def one_of(self, things):
        return things[self.below(len(things))]

    def weighed(self, weights):
        left = self.uniform() * sum(weights)
        for at, weight in enumerate(weights):
            left -= weight
            if left < 0:
                return at
        return len(weights) - 1


class Animal:
    def __init__(self, at, sire, dam, sex, season):
        self.at, self.sire, self.dam, self.sex, self.season = at, sire, dam, sex, season
        self.young = []
        self.joined_to = None

    def parents(self):
        return [parent for parent in (self.sire, self.dam) if parent]

    def siblings(self):
        """Full and half siblings."""
        return [young for parent in self.parents() for young in parent.young if young is not self]

    def kin(self):
        return self.parents() + self.young + self.siblings()

    def line(self):
        """One animal that stands for all with which it is connected."""
        top = self
        while top.joined_to:
            top = top.joined_to
        at = self
        while at is not top:
            at.joined_to, at = top, at.joined_to
        return top

    def join(self, other):
        mine, others = self.line(), other.line()
        if mine is not others:
            others.joined_to = mine


class Pedigree:
    """Seasons of matings until there are enough animals."""

    def __init__(self, asked, dice):
        self.dice, self.asked = dice, asked
        self.animals, self.pairs = [], {}
        self.season = 0
        self.founders_left = max(4, round(asked.founders * asked.animals))
        at_first = self.founders_left if asked.style == "closed" else max(4, self.founders_left // 3)
        for at in range(at_first):
            self.founder("MF"[at % 2])
        mean_clutch = sum(asked.clutch) / 2
        bred = asked.animals - self.founders_left - at_first
        matings = max(1, round(bred / mean_clutch / asked.seasons))
        while len(self.animals) < asked.animals:
            self.season += 1
            self.breed(matings)

    def founder(self, sex):
        self.founders_left -= 1
        return self.add(None, None, sex, self.season)

    def add(self, sire, dam, sex, season):
        animal = Animal(len(self.animals), sire, dam, sex, season)
        self.animals.append(animal)
        for parent in animal.parents():
            parent.young.append(animal)
            parent.join(animal)
        return animal

    def breed(self, matings):
        first = self.season - BREEDING_SEASONS
        self.adults = [a for a in self.animals if first <= a.season < self.season]
        self.matings_of = {}
        for _ in range(matings):
            pair = self.pair() if len(self.animals) < self.asked.animals else None
            if not pair:
                return
            sire, dam = sorted(pair, key=lambda animal: animal.sex, reverse=True)
            for parent in pair:
                self.matings_of[parent] = self.matings_of.get(parent, 0) + 1
            self.pairs[sire, dam] = True
            smallest, largest = self.asked.clutch
            size = smallest + self.dice.below(largest - smallest + 1)
            for _ in range(min(size, self.asked.animals - len(self.animals))):
                self.add(sire, dam, self.dice.one_of("MF"), self.season)

    def free(self, animal):
        limit = CLUTCHES_OF_A_MALE if animal.sex == "M" else 1
        return self.matings_of.get(animal, 0) < limit

    def fit(self, animal, mate):
        grown = self.season - BREEDING_SEASONS <= mate.season < self.season
        return grown and mate.sex != animal.sex and self.free(mate)

    def pair(self):
        """The next two to be mated; None when nobody is left."""
        if self.dice.happens(self.asked.loops):
            pair = self.search(lambda animal: animal.parents() + animal.siblings())
            if pair:
                return pair
        if self.pairs and self.dice.happens(0.2):
            old = [pair for pair in self.pairs if all(map(self.free, pair))]
            if old:
                return self.dice.one_of(old)
        if self.asked.style == "closed":
            stranger = lambda animal, other: other not in animal.kin()
        elif self.founders_left > 0 and self.dice.happens(0.6):
            return self.with_a_newcomer()
        else:
            stranger = lambda animal, other: animal.line() is not other.line()
        pair = self.search(lambda animal: self.adults, stranger)
        if not pair and self.founders_left > 0:
            pair = self.with_a_newcomer()
        return pair or (self.dice.one_of(list(self.pairs)) if self.pairs else None)

    def search(self, candidates, suits=lambda animal, other: True):
        """Two that fit, found by trying; None when many tries found none."""
        for _ in range(20):
            animal = self.anybody()
            others = candidates(animal) if animal else []
            for _ in range(20 if others else 0):
                other = self.dice.one_of(others)
                if self.fit(animal, other) and suits(animal, other):
                    return self.joined(animal, other)
        return None

    def anybody(self):
        """An adult that can be mated, found by trying."""
        for _ in range(20 if self.adults else 0):
            animal = self.dice.one_of(self.adults)
            if self.free(animal):
                return animal
        return None

    def with_a_newcomer(self):
        animal = self.anybody()
        return animal and self.joined(animal, self.founder("F" if animal.sex == "M" else "M"))

    @staticmethod
    def joined(one, other):
        one.join(other)
        return one, other


def genotypes(alleles):
    return [(a, b) for a in range(alleles) for b in range(a, alleles)]


def locus(dice, alleles):
    """Frequencies in thousandths that sum to one, none of them small, the first often the largest."""
    count = dice.one_of(alleles) if alleles else 2 + dice.weighed([0.65, 0.2, 0.15])
    shares = [(100 if at else 250) + dice.below(200) for at in range(count)]
    parts = [round(1000 * share / sum(shares)) for share in shares]
    parts[0] += 1000 - sum(parts)
    return {"alleles": count, "freqs": [part / 1000 for part in parts]}


def drawn(dice, animals, freqs):
    """The true genotype of each animal, gamete by gamete."""
    truth = []
    for animal in animals:
        gametes = [
            dice.one_of(truth[parent.at]) if parent else dice.weighed(freqs)
            for parent in (animal.sire, animal.dam)
        ]
        truth.append(tuple(sorted(gametes)))
    return truth


def call(dice, states, seen_as, true, uncertain):
    """Chance of what was written down, given each genotype; None when nothing was."""
    looks = sorted({seen_as(state) for state in states})
    named, sure = seen_as(true), 1.0
    if len(looks) > 1 and dice.happens(uncertain):
        sure = dice.one_of([0.6, 0.7, 0.8, 0.9])
        if not dice.happens(sure):
            named = dice.one_of([look for look in looks if look != named])
    other = (1 - sure) / (len(looks) - 1) if len(looks) > 1 else 0.0
    return [sure if seen_as(state) == named else round(other, 6) for state in states]


def network(asked):
    dice = Dice(asked.seed)
    animals = Pedigree(asked, dice).animals
    loci, evidence = [], []
    for at in range(asked.loci):
        loci.append(locus(dice, asked.alleles))
        states = genotypes(loci[at]["alleles"])
        open_locus = dice.happens(asked.open_loci)
        seen_as = (lambda state: state) if open_locus else min
        truth = drawn(dice, animals, loci[at]["freqs"])
        for animal, true in zip(animals, truth):
            likelihood = None
            if dice.happens(TESTED):
                likelihood = [1.0 if state == true else 0.0 for state in states]
            elif dice.happens(CALLED if animal.parents() else FOUNDER_CALLED):
                likelihood = call(dice, states, seen_as, true, asked.uncertain)
            if likelihood:
                evidence.append({"animal": name(animal), "loci": [at], "likelihood": likelihood})
    written = []
    for animal in animals:
        parents = [name(parent) for parent in (animal.sire, animal.dam)]
        if animal.parents() and dice.happens(asked.unknown_parents):
            # Nobody saw who the other parent was.
            parents[dice.below(2)] = None
        sire, dam = parents
        written.append({"id": name(animal), "sire": sire, "dam": dam, "sex": animal.sex})
    made = {key: value for key, value in vars(asked).items() if value is not None}
    return {"name": title(made), "made": made, "loci": loci, "animals": written, "evidence": evidence}


def name(animal):
    return f"a{animal.at + 1}" if animal else None


def title(made):
    return (
        f"{made['animals']} animals, {made['loci']} loci, {made['style']}, "
        f"loops {made['loops']:g}, seed {made['seed']}"
    )


def arguments(line=None):
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--animals", type=int, default=60)
    parser.add_argument("--loci", type=int, default=4)
    parser.add_argument("--style", choices=["lines", "closed"], default="lines")
    parser.add_argument("--loops", type=float, default=0.1, help="share of matings between relatives")
    parser.add_argument("--founders", type=float, default=0.18, help="share of founders")
    parser.add_argument("--clutch", type=int, nargs=2, default=[4, 10], help="smallest and largest")
    parser.add_argument("--seasons", type=int, default=8, help="seasons of breeding, about")
    parser.add_argument("--alleles", type=int, nargs="*", help="numbers of alleles to choose from")
    parser.add_argument("--uncertain", type=float, default=0.1, help="share of uncertain calls")
    # At the others the lowest allele hides the rest.
    parser.add_argument("--open-loci", type=float, default=0.15, help="share where genotypes show")
    parser.add_argument("--unknown-parents", type=float, default=0.0, help="share of young with one")
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args(line)


def main():
    print(json.dumps(network(arguments()), separators=(",", ":")))


if __name__ == "__main__":
    main()
