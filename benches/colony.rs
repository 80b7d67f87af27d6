//! How long does each step of an exact answer take, beside the least arithmetic and the plain way?
//!
//! `cargo bench --bench colony -- records.toml …` prints one line of JSON for each file; without a
//! file it takes the made colony of `benches/made`. Times are seconds, each the median of several
//! runs, memory is bytes:
//!
//! - `read`, `assemble`, `plan`: text to colony, colony to network, network to clique tree;
//! - `run`: both passes when every likelihood has changed, in a workspace that is kept: nothing is
//!   allocated. `read_out`: every marginal copied out. `first_run`: a new workspace, both passes and
//!   every marginal;
//! - `change`: one likelihood changes, the part it is in runs, and the marginals of that part are
//!   copied out; `change_all`: every marginal of the colony is. The plan is kept, and no state that
//!   it excluded comes back. Median over variables spread evenly; `change_largest` is `change` over
//!   those of the part with most arithmetic;
//! - `floor`: the same arithmetic without anything around it. For each clique one multiply-add for
//!   each entry of its table and each of its inputs (factors, and separators below), each separator
//!   below once more (what is handed down to it), and two (the sum and the belief), as
//!   `Cost::multiplications` counts; dense arrays of the sizes of the cliques, no index maps, no
//!   scaling, no choices. `floor_operations` are the multiply-adds, `multiplications` what the plan
//!   says of itself;
//! - `entries`: of the tables of all cliques; `planned_entries`: what the plan says, index maps
//!   included;
//! - `elimination`: plain variable elimination, one query for each variable, dense tables within the
//!   part of the variable, an order found once for each part (`elimination_order`, by fewest fill-in
//!   edges). When all queries take too long, a sample spread evenly is taken and scaled up:
//!   `queries` were run, of `of_queries`; null when one would need too large a table.
//!   `difference` is the largest between such a marginal and the one of the tree;
//! - `memory`: the most that the process held (Linux only) after one pass from text to marginals,
//!   before anything is repeated.

#![allow(missing_docs, clippy::print_stdout)]

use std::fs;
use std::hint::black_box;
use std::time::{Duration, Instant};

use proveout::inference::{Cost, Domains, JunctionTree, NoPlan, Workspace};
use proveout::network::{
    ColonyNetwork, Evidence, FactorGraph, FactorId, Grouping, Source, VariableId, assemble,
};
use proveout::records::{Format, read};
use serde_json::{Value, json};

use elimination::Part;

#[path = "colony/elimination.rs"]
mod elimination;
#[path = "made/colony.rs"]
#[allow(dead_code)]
mod made;

/// Tables may take this many bytes; a plan that needs more is told of and not run.
const MEMORY: u64 = 8 << 30;
/// Each step is repeated for this long, at least three times unless one time takes longer than all.
const LONG_ENOUGH: Duration = Duration::from_millis(500);
/// Queries by variable elimination are run for this long.
const QUERIES: Duration = Duration::from_secs(20);
/// Changed likelihoods that are timed.
const CHANGES: usize = 25;

fn main() {
    let files: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    if files.is_empty() {
        println!("{}", measured("made colony", &made::records(1, made::Loops::Relatives)));
    }
    for file in files {
        match fs::read_to_string(&file) {
            Ok(text) => println!("{}", measured(&file, &text)),
            Err(error) => println!("{}", json!({ "file": file, "error": error.to_string() })),
        }
    }
}

/// Median of the seconds that something takes.
fn seconds<T>(mut step: impl FnMut() -> T) -> f64 {
    let begun = Instant::now();
    let mut times = Vec::new();
    while times.is_empty() || begun.elapsed() < LONG_ENOUGH || (times.len() < 3 && times[0] < 20.0)
    {
        let start = Instant::now();
        let made = black_box(step());
        times.push(start.elapsed().as_secs_f64());
        drop(made);
    }
    median(times)
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// The most memory this process has held since [`forget_peak`].
fn peak() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().trim_end_matches(" kB").parse::<u64>().ok().map(|kib| kib * 1024)
}

fn forget_peak() {
    // Where this is not allowed the peak is that of all files so far.
    let _ = fs::write("/proc/self/clear_refs", "5");
}

fn variables(graph: &FactorGraph) -> impl Iterator<Item = VariableId> {
    (0..graph.variables()).map(VariableId)
}

fn read_out(work: &Workspace, tree: &JunctionTree, of: impl Iterator<Item = VariableId>) {
    of.for_each(|variable| drop(black_box(work.marginal(tree, variable))));
}

fn measured(name: &str, text: &str) -> Value {
    forget_peak();
    let colony = match read(text.as_bytes(), Format::Toml) {
        Ok(read) => read.colony,
        Err(errors) => return json!({ "file": name, "error": format!("{errors:?}") }),
    };
    let net = assemble(&colony, Grouping::Siblings);
    let evidence = net.all_evidence();
    let tree = match JunctionTree::plan(&net.graph, &evidence, MEMORY) {
        Ok(tree) => tree,
        Err(NoPlan::TooLarge { needed }) => return json!({ "file": name, "needs": needed }),
        Err(NoPlan::Impossible(_)) => return json!({ "file": name, "error": "impossible" }),
    };
    let mut work = tree.workspace();
    if work.run(&tree, &evidence).is_err() {
        return json!({ "file": name, "error": "impossible" });
    }
    read_out(&work, &tree, variables(&net.graph));
    let memory = peak();
    let Cost { entries, largest_table, largest_clique, multiplications, .. } = tree.cost();
    let mut line = json!({
        "file": name,
        "animals": colony.animals.len(),
        "genes": colony.genes.len(),
        "variables": net.graph.variables(),
        "parts": tree.components(),
        "planned_entries": entries,
        "largest_clique": largest_clique,
        "largest_table": largest_table,
        "multiplications": multiplications,
        "memory": memory,
        "log_evidence": work.log_evidence().ln(),
        "read": seconds(|| read(text.as_bytes(), Format::Toml)),
        "assemble": seconds(|| assemble(&colony, Grouping::Siblings)),
        "plan": seconds(|| JunctionTree::plan(&net.graph, &evidence, MEMORY)),
    });
    let parts = [
        runs(&net, &evidence, &tree, &mut work),
        changes(&net, &evidence, &tree, &mut work),
        floor(&net, &evidence, &tree),
        eliminated(&net.graph, &evidence, &tree, &work),
    ];
    for (key, value) in parts.into_iter().flatten() {
        line[key] = value;
    }
    line
}

type Lines = Vec<(&'static str, Value)>;

fn runs(
    net: &ColonyNetwork,
    evidence: &Evidence,
    tree: &JunctionTree,
    work: &mut Workspace,
) -> Lines {
    let all = || variables(&net.graph);
    let first_run = seconds(|| {
        let mut work = tree.workspace();
        let possible = work.run(tree, evidence);
        read_out(&work, tree, all());
        (work, possible)
    });
    // Halved, every likelihood is another number, and no posterior is.
    let halved = halved(&net.graph, evidence);
    let mut turn = false;
    let run = seconds(|| {
        turn = !turn;
        work.run(tree, if turn { &halved } else { evidence })
    });
    vec![
        ("first_run", json!(first_run)),
        ("run", json!(run)),
        ("read_out", json!(seconds(|| read_out(work, tree, all())))),
    ]
}

fn halved(graph: &FactorGraph, evidence: &Evidence) -> Evidence {
    let mut halved = evidence.clone();
    for variable in variables(graph) {
        halved.likelihood_mut(variable).iter_mut().for_each(|value| *value *= 0.5);
    }
    for factor in graph.factors() {
        if let Source::Slot(start) = graph.source(factor) {
            let len = graph.size(graph.scope(factor));
            let half: Vec<f64> =
                evidence.slots()[start..start + len].iter().map(|v| v * 0.5).collect();
            halved.refill(graph, factor, &half);
        }
    }
    halved
}

/// This many of them, spread evenly; all when there are fewer.
fn spread<T: Copy>(things: &[T], count: usize) -> Vec<T> {
    let count = count.min(things.len());
    (0..count).map(|at| things[at * things.len() / count]).collect()
}

/// The variables of each part.
fn by_part(graph: &FactorGraph, tree: &JunctionTree) -> Vec<Vec<VariableId>> {
    let mut parts = vec![Vec::new(); tree.components()];
    for variable in variables(graph) {
        if let Some(part) = tree.component_of(variable) {
            parts[part].push(variable);
        }
    }
    parts
}

fn changes(
    net: &ColonyNetwork,
    evidence: &Evidence,
    tree: &JunctionTree,
    work: &mut Workspace,
) -> Lines {
    let domains = Domains::shrink(&net.graph, evidence);
    let parts = by_part(&net.graph, tree);
    let open: Vec<VariableId> = parts.iter().flatten().copied().collect();
    let largest = (0..parts.len()).max_by_key(|part| tree.multiplications_of(*part));
    let in_largest = largest.map_or(&[][..], |part| parts[part].as_slice());
    let mut evidence = evidence.clone();
    let _ = work.run(tree, &evidence);
    let mut change = |among: &[VariableId], all: bool| {
        let mut times = Vec::new();
        for variable in spread(among, CHANGES) {
            let Some(part) = tree.component_of(variable) else { continue };
            // A state that is left is held for less likely, and then as before.
            let state = domains.allowed(variable)[0] as usize;
            let was = evidence.likelihood(variable)[state];
            for value in [was * 0.75, was] {
                let start = Instant::now();
                evidence.likelihood_mut(variable)[state] = value;
                let _ = black_box(work.run_component(tree, part, &evidence));
                match all {
                    true => read_out(work, tree, variables(&net.graph)),
                    false => read_out(work, tree, parts[part].iter().copied()),
                }
                times.push(start.elapsed().as_secs_f64());
            }
        }
        if times.is_empty() { Value::Null } else { json!(median(times)) }
    };
    vec![
        ("change", change(&open, false)),
        ("change_all", change(&open, true)),
        ("change_largest", change(in_largest, false)),
    ]
}

/// Entries of each clique, and how often it goes through them: once for each factor that comes to it
/// first, twice for each separator below it, and twice for itself.
fn cliques(net: &ColonyNetwork, evidence: &Evidence, tree: &JunctionTree) -> Vec<(usize, usize)> {
    let domains = Domains::shrink(&net.graph, evidence);
    let mut place = vec![usize::MAX; net.graph.variables()];
    for (at, clique) in tree.cliques().enumerate() {
        place[clique.variable.0] = at;
    }
    let first = |scope: &[VariableId]| scope.iter().map(|v| place[v.0]).min();
    let mut visits = vec![2; tree.cliques().count()];
    let mut separators = std::collections::HashSet::new();
    for clique in tree.cliques() {
        if let Some(above) = first(clique.separator())
            && separators.insert((above, clique.separator()))
        {
            visits[above] += 2;
        }
    }
    for factor in net.graph.factors() {
        match first(net.graph.scope(factor)) {
            Some(at) if at != usize::MAX => visits[at] += 1,
            _ => {}
        }
    }
    let size = |scope: &[VariableId]| scope.iter().map(|v| domains.allowed(*v).len()).product();
    tree.cliques().zip(visits).map(|(clique, visits)| (size(clique.scope), visits)).collect()
}

fn floor(net: &ColonyNetwork, evidence: &Evidence, tree: &JunctionTree) -> Lines {
    let cliques = cliques(net, evidence, tree);
    let largest = cliques.iter().map(|(size, _)| *size).max().unwrap_or(0);
    let entries: usize = cliques.iter().map(|(size, _)| *size).sum();
    let operations: usize = cliques.iter().map(|(size, visits)| size * visits).sum();
    let (mut tables, values) = (vec![1.0; entries], vec![0.5; largest]);
    let floor = seconds(|| {
        let mut rest = tables.as_mut_slice();
        for (size, visits) in &cliques {
            let (table, behind) = rest.split_at_mut(*size);
            for _ in 0..*visits {
                let values = black_box(&values[..*size]);
                for (entry, value) in table.iter_mut().zip(values) {
                    *entry = *entry * value + 0.5;
                }
            }
            rest = behind;
        }
        black_box(&tables);
    });
    vec![
        ("floor", json!(floor)),
        ("floor_operations", json!(operations)),
        ("entries", json!(entries)),
    ]
}

fn eliminated(
    graph: &FactorGraph,
    evidence: &Evidence,
    tree: &JunctionTree,
    work: &Workspace,
) -> Lines {
    let domains = Domains::shrink(graph, evidence);
    let mut factors: Vec<Vec<FactorId>> = vec![Vec::new(); tree.components()];
    for factor in graph.factors() {
        if let Some(part) = graph.scope(factor).iter().find_map(|v| tree.component_of(*v)) {
            factors[part].push(factor);
        }
    }
    let variables = by_part(graph, tree);
    let open: Vec<VariableId> = variables.iter().flatten().copied().collect();
    let begun = Instant::now();
    let parts: Vec<Part> = variables
        .into_iter()
        .zip(factors)
        .map(|(variables, factors)| Part::new(graph, evidence, &domains, variables, &factors))
        .collect();
    let order = begun.elapsed().as_secs_f64();
    let (mut spent, mut ran, mut difference) = (0.0, 0, 0.0_f64);
    // Far from each other first, so that a sample that was broken off is spread as well.
    for variable in far_apart(&open) {
        if spent > QUERIES.as_secs_f64() {
            break;
        }
        let Some(part) = tree.component_of(variable) else { continue };
        let start = Instant::now();
        let Some(marginal) = black_box(parts[part].query(variable)) else {
            return vec![("elimination", Value::Null), ("elimination_order", json!(order))];
        };
        spent += start.elapsed().as_secs_f64();
        ran += 1;
        let ours = work.marginal(tree, variable);
        let ours = domains.allowed(variable).iter().map(|state| ours[*state as usize]);
        difference =
            marginal.iter().zip(ours).map(|(a, b)| (a - b).abs()).fold(difference, f64::max);
    }
    let all = order + spent * open.len() as f64 / f64::from(ran.max(1));
    vec![
        ("elimination", json!(all)),
        ("elimination_order", json!(order)),
        ("queries", json!(ran)),
        ("of_queries", json!(open.len())),
        ("difference", json!(difference)),
    ]
}

/// All of them, each as far from those before it as steps of the golden section bring it.
fn far_apart(things: &[VariableId]) -> impl Iterator<Item = VariableId> + '_ {
    let count = things.len();
    let mut step = ((count as f64 * 0.618_033_988_75) as usize).max(1);
    while gcd(step, count) != 1 {
        step += 1;
    }
    (0..count).map(move |at| things[at * step % count])
}

fn gcd(a: usize, b: usize) -> usize {
    if b == 0 { a } else { gcd(b, a % b) }
}
