//! Do we give the posteriors that general-purpose libraries give?
//!
//! `datasets/reference/` holds colonies and their exact posteriors, computed with pyagrum 3.3.1
//! (Shafer–Shenoy, lazy propagation), pgmpy where it finishes, and exact rational enumeration
//! where small enough; `checks.json` there says which agree with which, and by how much.
//!
//! Genotypes, founders and young are those of `genetics`; the observations are the likelihoods that
//! the instances give, those over two loci at once (epistasis) as factors of their own.

#![allow(missing_docs)]

use ndarray::{Array1, Axis};
use proveout::genetics::Unit;
use proveout::inference::JunctionTree;
use proveout::network::{Evidence, FactorGraph, VariableId};
use proveout::records::{Colony, Format, GeneId, Sex, read as read_records};
use serde_json::Value;

/// The libraries agree with each other to a few 1e-15.
const TOLERANCE: f64 = 1e-9;

struct Instance {
    graph: FactorGraph,
    evidence: Evidence,
    /// `variables[animal][locus]`.
    variables: Vec<Vec<VariableId>>,
    ids: Vec<String>,
}

fn floats(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

fn sex_of(animal: &Value) -> Sex {
    if animal["sex"] == "M" { Sex::Male } else { Sex::Female }
}

/// The loci of an instance as genes of a records file: `m1`, `m2` … are the alleles but the first.
fn genes(loci: &[Value]) -> Colony {
    let mut text = String::from("sex_system = \"XY\"\n");
    for (at, locus) in loci.iter().enumerate() {
        let mutant = |allele: usize| format!("\"g{at}m{allele}\"");
        let names: Vec<String> =
            (1..locus["alleles"].as_u64().unwrap() as usize).map(mutant).collect();
        let linked = !locus["hemizygous_sex"].is_null();
        text += &format!(
            "[gene.g{at}]\nalleles = [{}]\nbackground = {:?}\nsex_linked = {linked}\n\
             [gene.g{at}.looks]\n\"g{at}m1/g{at}m1\" = \"look {at}\"\n",
            names.join(", "),
            &floats(&locus["freqs"])[1..],
        );
    }
    text += "[[animal]]\nid = \"any\"\n";
    read_records(text.as_bytes(), Format::Toml).unwrap().colony
}

/// Each locus by itself, with its own one-copy sex.
fn units(loci: &[Value]) -> Vec<Unit> {
    let colony = genes(loci);
    let unit = |(gene, locus): (GeneId, &Value)| match locus["hemizygous_sex"].as_str() {
        None => Unit::new(&colony, &[gene], None),
        Some("M") => Unit::with_one_copy_sex(&colony, &[gene], None, Sex::Male),
        Some(_) => Unit::with_one_copy_sex(&colony, &[gene], None, Sex::Female),
    };
    colony.gene_ids().zip(loci).map(unit).collect()
}

/// P(child | known parents): a parent that is not known is drawn from unrelated stock.
fn birth(unit: &Unit, child: Sex, [sire, dam]: [bool; 2]) -> Vec<f64> {
    if !sire && !dam {
        return unit.founder(Some(child), &[]);
    }
    let mut young = unit.brood(None).hatched(Some(child));
    for (axis, known, sex) in [(2, dam, Sex::Female), (1, sire, Sex::Male)] {
        if !known {
            let stock = Array1::from(unit.founder(Some(sex), &[]));
            let mean = young.map_axis(Axis(axis), |of_parent| of_parent.dot(&stock));
            young = mean.insert_axis(Axis(axis));
        }
    }
    young.into_iter().collect()
}

fn build(instance: &Value) -> Instance {
    let loci = instance["loci"].as_array().unwrap();
    let animals = instance["animals"].as_array().unwrap();
    let ids: Vec<String> = animals.iter().map(|a| a["id"].as_str().unwrap().into()).collect();
    let find = |id: &Value| ids.iter().position(|known| Some(known.as_str()) == id.as_str());
    let units = units(loci);
    let mut graph = FactorGraph::default();
    let variables: Vec<Vec<VariableId>> = animals
        .iter()
        .map(|animal| {
            let states = |unit: &Unit| unit.states_of(Some(sex_of(animal))).len();
            units.iter().map(|unit| graph.variable(states(unit))).collect()
        })
        .collect();
    let mut known = std::collections::HashMap::new();
    for (at, animal) in animals.iter().enumerate() {
        let parents = [find(&animal["sire"]), find(&animal["dam"])];
        let known_parents = parents.map(|parent| parent.is_some());
        for (l, unit) in units.iter().enumerate() {
            let key = (l, sex_of(animal), known_parents);
            let table = *known
                .entry(key)
                .or_insert_with(|| graph.table(birth(unit, sex_of(animal), known_parents)));
            let mut scope = vec![variables[at][l]];
            scope.extend(parents.iter().flatten().map(|parent| variables[*parent][l]));
            graph.factor(&scope, table);
        }
    }
    let mut slots = Vec::new();
    for record in instance["evidence"].as_array().unwrap() {
        let at = find(&record["animal"]).unwrap();
        let scope: Vec<VariableId> = record["loci"]
            .as_array()
            .unwrap()
            .iter()
            .map(|l| variables[at][l.as_u64().unwrap() as usize])
            .collect();
        let likelihood = floats(&record["likelihood"]);
        let slot = (scope.len() > 1).then(|| graph.slot(&scope));
        slots.push((scope, slot, likelihood));
    }
    let mut evidence = Evidence::neutral(&graph);
    for (scope, slot, likelihood) in slots {
        match slot {
            Some(slot) => evidence.fill(&graph, slot, &likelihood),
            None => evidence.weigh(scope[0], &likelihood),
        }
    }
    Instance { graph, evidence, variables, ids }
}

fn read(path: &std::path::Path) -> Value {
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

#[test]
fn posteriors_agree_with_the_general_purpose_libraries() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/reference");
    let mut checked = 0;
    let mut worst: f64 = 0.0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if !name.starts_with("open-") || name.ends_with(".posterior.json") {
            continue;
        }
        let instance = build(&read(&path));
        let expected = read(&path.with_extension("posterior.json"));
        checked += 1;
        let planned = JunctionTree::plan(&instance.graph, &instance.evidence, 1 << 30);
        if expected["impossible"] == true {
            let possible = planned.is_ok_and(|tree| tree.calibrate(&instance.evidence).is_ok());
            assert!(!possible, "{name} is impossible");
            continue;
        }
        let tree = planned.unwrap_or_else(|_| panic!("{name} is possible"));
        let calibrated = tree.calibrate(&instance.evidence).expect(&name);
        let log = expected["log_evidence"].as_f64().unwrap();
        let difference = (calibrated.log_evidence().ln() - log).abs();
        assert!(difference < TOLERANCE * log.abs().max(1.0), "{name}: log evidence {difference}");
        for (at, id) in instance.ids.iter().enumerate() {
            for (l, variable) in instance.variables[at].iter().enumerate() {
                let got = calibrated.marginal(*variable);
                let want = floats(&expected["marginals"][id][l]);
                assert_eq!(got.len(), want.len());
                for (got, want) in got.iter().zip(want) {
                    worst = worst.max((got - want).abs());
                    assert!((got - want).abs() < TOLERANCE, "{name} {id} locus {l}: {got} {want}");
                }
            }
        }
    }
    assert_eq!(checked, 15, "every reference colony is checked");
    println!("largest difference {worst:e}");
}
