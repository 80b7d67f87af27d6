#!/usr/bin/env python3
"""Compares this engine with general-purpose libraries for exact inference on the same networks.

    python3 -m venv /tmp/venv && /tmp/venv/bin/pip install -r benches/compare/requirements.txt
    /tmp/venv/bin/python benches/compare/against.py --out reports/speed.md --readme

Needs a Unix system. Networks are made by made_network.py; `--network FILE` adds others of the same
form. Each becomes a records file by records_of.py, is timed by `cargo bench --bench colony` and
answered by `proveout genotypes --json`; libraries.py builds it in pyagrum and pgmpy by Mendel's rules.
Every posterior is compared. Each measurement has a process of its own, one after the other.

Prints the report; `--out` writes it, `--readme` puts its short table between two marks of the README.
Exit status 1 when a posterior differs by more than 1e-9.
"""
import argparse
import datetime
import json
import os
import platform
import resource
import shlex
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
from importlib import metadata
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
MARKS = "<!-- speed -->", "<!-- /speed -->"
TOLERANCE = 1e-9
# Where the first engine of a library took longer than this, the other is not tried.
WORTH_TRYING = 20.0
# How often the whole program is run; the first run pays for memory that another program had.
WHOLE_RUNS = 5

OWN = {
    "60": "--animals 60 --loci 4 --loops 0.1",
    "400": "--animals 400 --loci 8 --loops 0.1",
    "2000": "--animals 2000 --loci 8 --loops 0.1",
    "2000-related": "--animals 2000 --loci 8 --loops 0.3",
    "closed": "--animals 600 --loci 1 --style closed --alleles 2 --founders 0.05 --open-loci 0 --uncertain 0.2",
    "20000": "--animals 20000 --loci 12 --loops 0.3 --seasons 12",
}


# ------------------------------------------------------------------------------------ processes


# Runs a command and says its seconds and its peak of memory. A small process of its own, because the
# peak that the system tells of a child begins with the memory of the one that started it.
MEASURED = """
import os, sys, time
begun = time.perf_counter()
child = os.fork()
if not child:
    os.execvp(sys.argv[1], sys.argv[1:])
_, status, used = os.wait4(child, 0)
print("measured", time.perf_counter() - begun, used.ru_maxrss, file=sys.stderr)
sys.exit(min(abs(os.waitstatus_to_exitcode(status)), 255))
"""


class Ran:
    """A process that has ended: seconds, peak memory in bytes, and whether it was stopped."""

    def __init__(self, command, output, limit=None, bytes_allowed=None):
        def confined():
            if bytes_allowed:
                resource.setrlimit(resource.RLIMIT_AS, (bytes_allowed, bytes_allowed))

        helper = [sys.executable, "-I", "-S", "-c", MEASURED]
        with open(output, "w") as target, tempfile.TemporaryFile() as errors:
            child = subprocess.Popen(
                [*helper, *map(str, command)],
                stdout=target,
                stderr=errors,
                cwd=ROOT,
                preexec_fn=confined,
                start_new_session=True,
            )
            self.stopped = False
            try:
                self.code = child.wait(limit)
            except subprocess.TimeoutExpired:
                self.stop(child)
            self.good = self.code == 0
            errors.seek(0)
            self.said = errors.read().decode(errors="replace").strip()
        said, _, measured = self.said.rpartition("measured ")
        if measured and not self.stopped:
            self.said = said.strip()
            seconds, peak = measured.split()
            # Kilobytes, but bytes on macOS.
            self.seconds = float(seconds)
            self.memory = int(peak) * (1 if sys.platform == "darwin" else 1024)

    def stop(self, child):
        # The command with it: both are in a session of their own.
        self.stopped = True
        os.killpg(child.pid, signal.SIGKILL)
        self.code = child.wait()


def executable(arguments, name):
    """Builds something with cargo and says where it is."""
    command = ["cargo", *arguments, "--message-format=json-render-diagnostics"]
    built = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True, text=True)
    for line in built.stdout.splitlines():
        told = json.loads(line)
        if told.get("executable") and told["target"]["name"] == name:
            return told["executable"]
    sys.exit(f"cargo built no {name}")


# --------------------------------------------------------------------------------- measurements


class Programs:
    def __init__(self):
        self.answers = executable(["build", "--release"], "proveout")
        self.bench = executable(["bench", "--bench", "colony", "--no-run"], "colony")


def ours(programs, network, folder, asked):
    """Times of the steps, the posteriors, and time and memory of the whole program."""
    records = folder / "records.toml"
    with open(records, "w") as file:
        subprocess.run([sys.executable, HERE / "records_of.py", network], stdout=file, check=True)
    bench = folder / "bench.json"
    allowed = asked.most_memory << 30
    ran = Ran([programs.bench, records], bench, bytes_allowed=allowed)
    steps = json.loads(bench.read_text()) if ran.good else {"error": ran.said}
    answer = folder / "genotypes.json"
    command = [programs.answers, "genotypes", records, "--json", "--exact", "--memory", asked.memory]
    runs = [Ran(command, answer, bytes_allowed=allowed) for _ in range(WHOLE_RUNS)]
    for ran in runs:
        if not ran.good or "plan" not in steps:
            sys.exit(f"{network}: no answer of ours: {ran.said} {ran.code} {steps}")
    seconds = [ran.seconds for ran in runs]
    steps["whole"] = {
        "seconds": statistics.median(seconds),
        "slowest": max(seconds),
        "memory": max(ran.memory for ran in runs),
    }
    return steps, posteriors(answer)


def posteriors(answer):
    """Our posteriors in the order of the network: rows[locus][animal]."""
    with open(answer) as file:
        told = json.load(file)
    rows = {}
    for one in told["genotypes"]:
        at = int(one["gene"][1:])

        def place(genotype):
            alleles = [0 if a == "+" else int(a.rsplit("x", 1)[1]) for a in genotype.split("/")]
            return sorted(alleles)

        row = one["posterior"]
        rows.setdefault(at, {})[one["animal"]] = [row[name] for name in sorted(row, key=place)]
    return rows


def theirs(method, network, folder, asked):
    """What a library needed, and its posteriors where it came to an end."""
    answer = folder / f"{method}.json"
    script = [sys.executable, HERE / "libraries.py", method, network, answer]
    limit = asked.limit if method.startswith("pgmpy") else asked.long_limit
    ran = Ran(script, folder / "said", limit, asked.most_memory << 30)
    if ran.good and answer.exists():
        *posteriors, found = map(json.loads, answer.read_text().splitlines())
        return {**found, "posteriors": posteriors}
    if ran.stopped:
        return {"failed": f"stopped after {limit:g} s"}
    if any(word in ran.said for word in ("MemoryError", "bad_alloc", "OutOfMemory")):
        return {"failed": f"out of memory at {asked.most_memory} GiB"}
    return {"failed": "failed: " + (ran.said.splitlines() or ["without a word"])[-1][:80]}


def difference(our_rows, their_rows):
    """The largest difference of a posterior, and how many numbers were compared."""
    largest, count = 0.0, 0
    for at, animals in enumerate(their_rows):
        if set(animals) != set(our_rows[at]):
            sys.exit("the answers are about other animals")
        for animal, row in animals.items():
            mine = our_rows[at][animal]
            if len(mine) != len(row):
                sys.exit(f"{animal}: other genotypes")
            count += len(row)
            # What is not a number differs from everything.
            gaps = [abs(a - b) if a == a and b == b else 1.0 for a, b in zip(mine, row)]
            largest = max(largest, *gaps)
    return largest, count


def compared(programs, name, network, asked):
    folder = Path(tempfile.mkdtemp(prefix="against-"))
    try:
        steps, rows = ours(programs, network, folder, asked)
        found = {"name": name, "ours": steps, "difference": None}
        pyagrum = theirs("pyagrum-shafer-shenoy", network, folder, asked)
        found["pyagrum"] = pyagrum
        answers = [pyagrum]
        if pyagrum.get("infer", WORTH_TRYING) < WORTH_TRYING:
            lazy = theirs("pyagrum-lazy", network, folder, asked)
            answers.append(lazy)
            if lazy.get("infer", float("inf")) < pyagrum["infer"]:
                found["pyagrum"] = lazy
        size = steps["animals"] * steps["genes"]
        if asked.no_pgmpy:
            found["pgmpy"] = {"failed": "not tried"}
        elif size >= asked.stopped_at:
            found["pgmpy"] = {"failed": "not tried: a smaller one was stopped"}
        else:
            found["pgmpy"] = theirs("pgmpy-elimination", network, folder, asked)
            if "failed" in found["pgmpy"]:
                asked.stopped_at = size
        answers.append(found["pgmpy"])
        gaps = [difference(rows, answer["posteriors"]) for answer in answers if "posteriors" in answer]
        if gaps:
            found["difference"] = max(gap for gap, _ in gaps)
            found["numbers"] = max(count for _, count in gaps)
        for answer in answers:
            answer.pop("posteriors", None)
        return found
    finally:
        shutil.rmtree(folder)


# --------------------------------------------------------------------------------------- tables


def duration(seconds):
    if seconds is None:
        return "–"
    for unit, size in (("s", 1), ("ms", 1e-3), ("µs", 1e-6)):
        if seconds >= size or unit == "µs":
            return f"{three(seconds / size)} {unit}"


def size_of(count):
    if count is None:
        return "–"
    return f"{three(count / 2**30)} GB" if count >= 2**30 else f"{three(count / 2**20)} MB"


def three(value):
    """Three figures; two are enough below ten."""
    if value >= 100:
        return f"{value:,.0f}"
    return f"{value:.1f}" if value >= 10 else f"{value:.2f}".rstrip("0").rstrip(".")


def times(numerator, denominator):
    if numerator is None or not denominator:
        return "–"
    ratio = numerator / denominator
    return f"{ratio:,.0f}×" if ratio >= 10 else f"{ratio:.1f}×"


def our_total(steps):
    """From the colony to every marginal, as a library's build and infer."""
    return steps["assemble"] + steps["plan"] + steps["first_run"]


def their_total(library):
    return library["build"] + library["infer"] if "infer" in library else None


def gap(found):
    return "–" if found["difference"] is None else f"{found['difference']:.0e}"


def table(heads, rows):
    lines = ["| " + " | ".join(heads) + " |", "|---|" + "---:|" * (len(heads) - 1)]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in rows])


def engine_row(found):
    ours = found["ours"]
    return [
        found["name"],
        f"{ours['variables']:,}",
        f"{ours['parts']:,}",
        f"{ours['largest_clique']} ({ours['largest_table']:,})",
        f"{ours['entries']:,}",
        *(duration(ours[step]) for step in ("read", "assemble", "plan", "first_run", "run")),
        *(duration(ours[step]) for step in ("change", "change_largest", "change_all")),
        size_of(ours["memory"]),
    ]


ENGINE = [
    "network", "variables", "parts", "largest clique (entries)", "all entries", "read", "assemble",
    "plan", "first run", "run again", "one change", "in the largest part",
    "all read", "memory",
]  # fmt: skip


def bounds_row(found):
    ours = found["ours"]
    queries = f"{ours.get('queries', 0):,} of {ours.get('of_queries', 0):,}"
    gap = ours.get("difference")
    return [
        found["name"],
        f"{ours['floor_operations']:,}",
        duration(ours["floor"]),
        duration(ours["run"]),
        times(ours["run"], ours["floor"]),
        duration(ours["elimination"]),
        queries,
        times(ours["elimination"], ours["run"] + ours["read_out"]),
        "–" if gap is None else f"{gap:.0e}",
    ]


BOUNDS = [
    "network", "multiply-adds", "floor", "run again", "run ÷ floor", "one query at a time",
    "queries run", "÷ (run + read out)", "largest difference",
]  # fmt: skip


def library_row(found):
    ours, pyagrum, pgmpy = found["ours"], found["pyagrum"], found["pgmpy"]
    return [
        found["name"],
        duration(our_total(ours)),
        duration(ours["change_all"]),
        size_of(ours["memory"]),
        duration(pyagrum.get("build")),
        duration(pyagrum.get("infer")) if "infer" in pyagrum else pyagrum.get("failed", "–"),
        duration(pyagrum.get("change")),
        size_of(pyagrum.get("memory")),
        duration(their_total(pgmpy)) if "infer" in pgmpy else pgmpy.get("failed", "–"),
        times(their_total(pyagrum), our_total(ours)),
        times(pyagrum.get("infer"), ours["plan"] + ours["first_run"]),
        times(their_total(pgmpy), our_total(ours)),
        gap(found),
        f"{found.get('numbers', 0):,}",
    ]


LIBRARIES = [
    "network", "ours: assemble, plan, run", "one change, all read", "memory", "pyagrum: build",
    "infer", "one change", "memory", "pgmpy: build and infer", "pyagrum ÷ ours",
    "pyagrum infer ÷ our plan and run", "pgmpy ÷ ours", "largest difference", "numbers compared",
]  # fmt: skip


def whole_row(found):
    whole = found["ours"]["whole"]
    seconds = [duration(whole[which]) for which in ("seconds", "slowest")]
    return [found["name"], *seconds, size_of(whole["memory"])]


def readme_row(found):
    ours, pyagrum = found["ours"], found["pyagrum"]
    return [
        found["name"],
        duration(our_total(ours)),
        duration(ours["change_all"]),
        size_of(ours["memory"]),
        duration(their_total(pyagrum)) if "infer" in pyagrum else pyagrum.get("failed", "–"),
        size_of(pyagrum.get("memory")),
        times(their_total(pyagrum), our_total(ours)),
        gap(found),
    ]


README = [
    "colony", "every posterior", "one record changes", "memory", "pyagrum", "its memory", "takes",
    "largest difference",
]  # fmt: skip


# --------------------------------------------------------------------------------------- report


def said_by(*command):
    try:
        return subprocess.run(command, cwd=ROOT, capture_output=True, text=True).stdout.strip()
    except OSError:
        return ""


def machine():
    name = platform.processor() or platform.machine()
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        name = next(line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        pass
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    return f"{name}, {os.cpu_count()} cores, {size_of(memory)}, {platform.system()}"


def conditions(load):
    changed = " with changes" if said_by("git", "status", "--porcelain", "--", "src", "benches") else ""
    versions = ", ".join(f"{name} {metadata.version(name)}" for name in ("pyagrum", "pgmpy"))
    return (
        f"Machine: {machine()}; load before the first measurement {load:.1f}. "
        f"{datetime.date.today().isoformat()}, commit {said_by('git', 'rev-parse', '--short', 'HEAD')}"
        f"{changed}. {said_by('rustc', '--version')}; Python {platform.python_version()}, {versions}."
    )


REPORT = """# How fast, beside general-purpose libraries

Written by `benches/compare/against.py`, which also says how to run it:

```sh
{command}
```

{conditions}

The networks are invented colonies, animals × loci, of `benches/compare/made_network.py` (arguments
below){given}. Each library is given the same pedigree, allele frequencies and likelihoods, and is asked
for the posterior of every animal at every locus. Loops are the share of matings between relatives; in a
closed colony lines cross again and again.

```text
{made}
```

## Beside the libraries

{libraries}

Ours is from the colony in memory to every posterior, with one thread. pyagrum is {pyagrum}, called from
Python, each locus built and answered as a network of its own (all loci in one were slower), evidence
set while building (each likelihood that leaves several
states divided by its chance in unrelated stock: with thousands of calls the product would be zero
otherwise); Shafer–Shenoy or lazy propagation, whichever is faster, the second of them tried
where the first took less than {worth:g} s. pgmpy is VariableElimination, one query for each animal,
stopped after {limit:g} s; its clique tree is not used, since it stops too early on unlikely evidence (see
`benches/compare/libraries.py`). *One change* is a likelihood that changes, the plan kept, and then all
posteriors read: ours of the whole colony, pyagrum's of that locus. Memory is the peak of a process: ours
with the records as text and as a colony, theirs with Python and the network as JSON ({before} or more
before the first table is built). States that the records exclude are left out by ours and kept by the
libraries; without them tables are smaller and fall into more parts. The largest difference is over all
posteriors of all libraries that finished.

## The steps of the engine

{engine}

Medians; *first run* makes its room, runs both passes and reads every posterior; *run again* is both
passes when every likelihood has changed. *One change* is of one likelihood, and reads the part that it
concerns; *in the largest part* where the arithmetic is most; *all read* is the whole colony. A variable is an
animal at a gene, or several young of a clutch with equal records.

## Between the least arithmetic and the plain way

{bounds}

The floor is the arithmetic that the plan counts, one multiply-add for each entry of each clique and each
table that it multiplies, sums or hands on, over dense arrays of the same sizes without index maps or
scaling. One query at a time is plain variable elimination with the same states left out, in Rust, within the part of
the variable; where not all queries were run, an even sample of them is scaled up. The exact definition
of each stands in `benches/colony.rs`.

## The whole program

`proveout genotypes --json`, from the file to the answer, which also has what was known before anything
was seen:

{whole}
"""


def command_line():
    """The command as it was given, networks by their names alone."""
    words = [Path(word).name if word.endswith(".json") else word for word in sys.argv[1:]]
    return shlex.join(["python3", "benches/compare/against.py", *words])


def report(found, asked, load):
    before = [one["pyagrum"].get("memory_before") for one in found]
    before = min((size for size in before if size), default=None)
    engines = sorted({one["pyagrum"]["about"] for one in found if "about" in one["pyagrum"]})
    given = ", and given ones of the same form" if asked.network else ""
    return REPORT.format(
        command=command_line(),
        conditions=conditions(load),
        given=given,
        made="\n".join(OWN[size] for size in asked.sizes),
        pyagrum=" or ".join(engines) or "not there",
        worth=WORTH_TRYING,
        limit=asked.limit,
        before=size_of(before),
        libraries=table(LIBRARIES, map(library_row, found)),
        engine=table(ENGINE, map(engine_row, found)),
        bounds=table(BOUNDS, map(bounds_row, found)),
        whole=table(["network", "median", "slowest of five", "memory"], map(whole_row, found)),
    )


def rewrite_readme(found, load):
    path = ROOT / "README.md"
    text = path.read_text()
    start, end = (text.index(mark) for mark in MARKS)
    new = f"{MARKS[0]}\n{table(README, map(readme_row, found))}\n\n{conditions(load)}\n"
    whole(path, text[:start] + new + text[end:])


def whole(path, text):
    """Writes a file whole or not at all."""
    beside = path.with_name(f".{path.name}.new")
    beside.write_text(text)
    beside.replace(path)


# ----------------------------------------------------------------------------------------- main


def given_name(network):
    made = network.get("params") or network.get("made")
    if not made:
        return f"given: {network['name']}"
    loops = made.get("loop_rate", made.get("loops"))
    style = "" if made["style"] == "lines" else f", {made['style']}"
    return f"given: {made['animals']:,} × {made['loci']}{style}, loops {loops:g}, seed {made['seed']}"


def own_name(made):
    style = "" if made["style"] == "lines" else f", {made['style']}"
    return f"{made['animals']:,} × {made['loci']}{style}, loops {made['loops']:g}"


def instances(asked, folder):
    for size in asked.sizes:
        path = folder / f"{size}.json"
        with open(path, "w") as file:
            command = [sys.executable, HERE / "made_network.py", *OWN[size].split()]
            subprocess.run(command, stdout=file, check=True)
        yield own_name(json.loads(path.read_text())["made"]), path
    for path in asked.network:
        yield given_name(json.loads(path.read_text())), path


def arguments():
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--sizes", nargs="*", choices=list(OWN), default=list(OWN), metavar="SIZE",
        help=f"which made networks: {', '.join(OWN)}")  # fmt: skip
    add("--network", action="append", default=[], type=lambda p: Path(p).resolve(), metavar="FILE")
    add("--limit", type=float, default=300.0, help="seconds after which pgmpy is stopped")
    add("--long-limit", type=float, default=3600.0, help="seconds after which pyagrum is stopped")
    add("--memory", default="1GiB", metavar="SIZE", help="what `proveout` may plan with")
    add("--most-memory", type=int, default=16, metavar="GIB", help="what any process may take")
    add("--no-pgmpy", action="store_true")
    add("--out", type=Path, help="where to write the report")
    add("--readme", action="store_true", help="put the short table into README.md")
    return parser.parse_args()


def main():
    asked = arguments()
    # Animals times genes of the smallest network on which pgmpy came to no end.
    asked.stopped_at = float("inf")
    programs = Programs()
    load = os.getloadavg()[0]
    found = []
    with tempfile.TemporaryDirectory(prefix="against-") as folder:
        for name, network in instances(asked, Path(folder)):
            found.append(compared(programs, name, network, asked))
            print(json.dumps(found[-1]), file=sys.stderr, flush=True)
    text = report(found, asked, load)
    print(text)
    if asked.out:
        whole(asked.out, text)
    if asked.readme:
        rewrite_readme(found, load)
    gaps = [one["difference"] for one in found if one["difference"] is not None]
    if any(gap > TOLERANCE for gap in gaps):
        sys.exit(f"posteriors differ by {max(gaps)}")
    if not gaps:
        sys.exit("nothing was compared")


if __name__ == "__main__":
    main()
