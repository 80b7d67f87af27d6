//! How long does an exact answer take, and which part of it?
//!
//! `cargo bench` on the made colony of 400 animals and eight genes, default assumptions:
//!
//! - `read`, `assemble`, `plan`, `run`: the four steps of an answer, each apart;
//! - `plan and run` against `run again`: what a plan that is kept saves, the baseline being to plan
//!   anew for every question;
//! - `genotypes`: the whole answer of `genotypes --json` without reading the file and writing the
//!   answer;
//! - `every marginal`, baseline: two passes for each animal and gene, instead of two passes for
//!   all of them (what summing out the others for one marginal at a time costs at the least).

#![allow(missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use proveout::inference::JunctionTree;
use proveout::network::{Grouping, assemble};
use proveout::questions::{Asked, genotypes};
use proveout::records::{Format, read};

#[path = "made/colony.rs"]
mod made;

fn engine(bench: &mut Criterion) {
    let text = made::records(1);
    let colony = read(text.as_bytes(), Format::Toml).expect("the made colony is sound").colony;
    let net = assemble(&colony, Grouping::Siblings);
    let evidence = net.all_evidence();
    let plan = || JunctionTree::plan(&net.graph, &evidence, Asked::MEMORY).expect("a plan");
    let tree = plan();
    let mut work = tree.workspace();
    let cost = tree.cost();
    eprintln!(
        "{} animals, {} genes: {} variables, {} parts, {} entries, largest clique of {} variables \
         with {} entries, {} multiplications",
        colony.animals.len(),
        colony.genes.len(),
        net.graph.variables(),
        tree.components(),
        cost.entries,
        cost.largest_clique,
        cost.largest_table,
        cost.multiplications,
    );

    let mut group = bench.benchmark_group("steps");
    group.bench_function("read", |b| b.iter(|| read(text.as_bytes(), Format::Toml)));
    group.bench_function("assemble", |b| b.iter(|| assemble(&colony, Grouping::Siblings)));
    group.bench_function("plan", |b| b.iter(plan));
    group.bench_function("run", |b| b.iter(|| work.run(&tree, &evidence)));
    group.finish();

    let mut group = bench.benchmark_group("one more question");
    group.bench_function("run again", |b| b.iter(|| work.run(&tree, &evidence)));
    group.bench_function("plan and run (baseline)", |b| {
        b.iter(|| {
            let tree = plan();
            let mut work = tree.workspace();
            work.run(&tree, &evidence).map(|()| work)
        });
    });
    group.finish();

    let mut group = bench.benchmark_group("every marginal");
    group.sample_size(10);
    group.bench_function("genotypes", |b| b.iter(|| genotypes(&colony, &Asked::default())));
    group.bench_function("one run for each variable (baseline)", |b| {
        b.iter(|| {
            for animal in colony.animal_ids() {
                for gene in colony.gene_ids() {
                    let variable = net.variable(animal, gene);
                    if let Some(part) = tree.component_of(variable) {
                        work.run_component(&tree, part, &evidence).expect("it is possible");
                    }
                    std::hint::black_box(work.marginal(&tree, variable));
                }
            }
        });
    });
    group.finish();
}

criterion_group!(benches, engine);
criterion_main!(benches);
