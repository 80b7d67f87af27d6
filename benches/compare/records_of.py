#!/usr/bin/env python3
"""Writes a made network of a colony (JSON, one likelihood for each animal and locus) as records.

Every likelihood becomes a reading, so that the program and a general-purpose library get the same
question: same pedigree, same allele frequencies, same evidence.

    python3 records_of.py network.json > records.toml
"""
import json
import sys


def main():
    net = json.load(open(sys.argv[1]))
    out = [f'title = "{net["name"]}"', "[assume]", "misread = 0", "egg_loss = 0", ""]
    loci = net["loci"]
    names = []
    for at, locus in enumerate(loci):
        if locus.get("hemizygous_sex"):
            sys.exit("loci on sex chromosomes are not written")
        alleles = ["+"] + [f"m{at}x{k}" for k in range(1, locus["alleles"])]
        names.append([f"{alleles[i]}/{alleles[j]}" for i in range(len(alleles)) for j in range(i, len(alleles))])
        listed = ", ".join(f'"{name}"' for name in alleles[1:])
        freqs = ", ".join(f"{name} = {value!r}" for name, value in zip(alleles[1:], locus["freqs"][1:]))
        out += [f"[gene.g{at}]", f"alleles = [{listed}]", f"background = {{ {freqs} }}"]
        looks = ", ".join(f'"{name}/{name}" = "{name}"' for name in alleles[1:])
        out += [f"looks = {{ {looks} }}", ""]
    readings = {}
    for one in net["evidence"]:
        if len(one["loci"]) != 1:
            sys.exit("evidence on several loci at once is not written")
        at = one["loci"][0]
        row = ", ".join(f'"{name}" = {value!r}' for name, value in zip(names[at], one["likelihood"]))
        readings.setdefault(one["animal"], []).append(f"  {{ gene = \"g{at}\", likelihood = {{ {row} }} }},")
    sex = {"M": "male", "F": "female"}
    clutches = {}
    of = lambda parent: "unknown" if parent is None else parent
    for animal in net["animals"]:
        lines = [f'id = "{animal["id"]}"']
        if animal.get("sex") in sex:
            lines.append(f'sex = "{sex[animal["sex"]]}"')
        own = readings.get(animal["id"])
        if own:
            lines += ["readings = [", *own, "]"]
        if animal["sire"] is None and animal["dam"] is None:
            out += ["[[animal]]", *lines, ""]
        else:
            # An unknown parent is one animal for each clutch; here it is another for each young.
            alone = animal["id"] if None in (animal["sire"], animal["dam"]) else None
            pair = of(animal["dam"]), of(animal["sire"]), alone
            clutches.setdefault(pair, []).append(lines)
    for at, ((dam, sire, _), young) in enumerate(clutches.items()):
        out += ["[[clutch]]", f'id = "c{at}"', f'dam = "{dam}"', f'sire = "{sire}"']
        for lines in young:
            out += ["[[clutch.hatchling]]", *lines]
        out.append("")
    print("\n".join(out))


if __name__ == "__main__":
    main()
