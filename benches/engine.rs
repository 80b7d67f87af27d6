//! How long does an exact answer take, and which part of it?
//!
//! `cargo bench` on the made colony of 400 animals and eight genes, default assumptions:
//!
//! - `steps`: reading, assembling, planning and running, each apart;
//! - `one more question`: what a plan that is kept saves; the baseline plans anew;
//! - `every marginal`: the whole answer of `genotypes --json` but for reading the file and writing
//!   the answer; the baseline runs both passes once for each animal and gene, which is what summing
//!   out all others for one marginal at a time costs at the least;
//! - `planning`: `pairings` over all open questions of 60 females and 40 males at six genes, and
//!   `goal` for two looks there;
//! - `closed colony`: the same number of animals when lines cross again and again, two alleles at
//!   every gene;
//! - `mode`: how a new look is inherited, in a colony of 60 animals with six declared genes, with
//!   what it rests on and the cross that decides; the baseline is the comparison of the ways alone.

#![allow(missing_docs, clippy::print_stderr)]

use criterion::{Criterion, criterion_group, criterion_main};
use proveout::inference::JunctionTree;
use proveout::network::{ColonyNetwork, Grouping, assemble};
use proveout::questions::{
    Asked, GoalAsked, ModeAsked, PairingsAsked, Target, genotypes, goal, mode, pairings,
};
use proveout::records::{Colony, Format, Gene, GeneId, Inheritance, Look, read};

use made::Loops;

#[path = "made/breeders.rs"]
mod breeders;
#[path = "made/colony.rs"]
mod made;
#[path = "made/new_look.rs"]
mod new_look;

fn colony(text: &str) -> Colony {
    read(text.as_bytes(), Format::Toml).expect("the made colony is sound").colony
}

fn tell(name: &str, net: &ColonyNetwork, tree: &JunctionTree) {
    let cost = tree.cost();
    eprintln!(
        "{name}: {} variables in {} parts; {} entries, the largest clique {} variables and {} \
         entries; {} multiplications in a pass",
        net.graph.variables(),
        tree.components(),
        cost.entries,
        cost.largest_clique,
        cost.largest_table,
        cost.multiplications,
    );
}

fn closed(bench: &mut Criterion) {
    let mut colony = colony(&made::records(1, Loops::Closed));
    // The last gene has two mutant alleles, and the tables of this colony would take gigabytes.
    let series = |gene: &Gene| gene.inheritance == Inheritance::Alleles;
    let last = colony.genes.iter().position(series).expect("a series");
    assert_eq!(last + 1, colony.genes.len());
    colony.genes.pop();
    for animal in &mut colony.animals {
        if let proveout::records::Call::Looks(looks) = &mut animal.seen.call {
            looks.retain(|look| look.gene.0 != last);
        }
    }
    let net = assemble(&colony, Grouping::Siblings);
    let evidence = net.all_evidence();
    let plan = || JunctionTree::plan(&net.graph, &evidence, Asked::MEMORY).expect("a plan");
    let tree = plan();
    tell("closed colony", &net, &tree);
    let mut work = tree.workspace();
    let mut group = bench.benchmark_group("closed colony");
    group.bench_function("plan", |b| b.iter(plan));
    group.bench_function("run", |b| b.iter(|| work.run(&tree, &evidence)));
    group.finish();
}

fn engine(bench: &mut Criterion) {
    let text = made::records(1, Loops::Relatives);
    let colony = colony(&text);
    let net = assemble(&colony, Grouping::Siblings);
    let evidence = net.all_evidence();
    let plan = || JunctionTree::plan(&net.graph, &evidence, Asked::MEMORY).expect("a plan");
    let tree = plan();
    let mut work = tree.workspace();
    tell("colony", &net, &tree);

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

fn modes(bench: &mut Criterion) {
    let colony = colony(&new_look::records());
    let gene = colony.find_gene(new_look::GENE).expect("it is declared");
    let asked = |explain| ModeAsked { gene, priors: Vec::new(), explain, memory: Asked::MEMORY };
    let mut group = bench.benchmark_group("mode");
    group.sample_size(10);
    group.bench_function("whole answer", |b| b.iter(|| mode(&colony, &asked(true))));
    group.bench_function("evidence alone (baseline)", |b| b.iter(|| mode(&colony, &asked(false))));
    group.finish();
}

fn planning(bench: &mut Criterion) {
    let colony = colony(&breeders::breeders());
    let asked = PairingsAsked {
        asked: Asked::default(),
        carrier: None,
        allelic: None,
        mode: None,
        young: None,
        level: 0.99,
    };
    let looks = [0, 1].map(|gene| Look { gene: GeneId(gene), class: 1 });
    let wanted = GoalAsked {
        target: Target::Looks(looks.to_vec()),
        assurance: 0.9,
        seasons: 5,
        young: None,
        memory: Asked::MEMORY,
    };
    let mut group = bench.benchmark_group("planning");
    group.sample_size(10);
    group.bench_function("pairings", |b| b.iter(|| pairings(&colony, &asked)));
    group.bench_function("goal", |b| b.iter(|| goal(&colony, &wanted)));
    group.finish();
}

criterion_group!(benches, engine, closed, modes, planning);
criterion_main!(benches);
