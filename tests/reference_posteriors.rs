//! Do we give the posteriors that general-purpose libraries give?
//!
//! `datasets/reference/` holds colonies and their exact posteriors, computed with pyagrum 3.3.1
//! (Shafer–Shenoy, lazy propagation), pgmpy where it finishes, and exact rational enumeration
//! where small enough; `checks.json` there says which agree with which, and by how much.

#![allow(missing_docs)]

use proveout::inference::JunctionTree;
use proveout::network::{Evidence, FactorGraph, VariableId};
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

fn pairs(alleles: usize) -> Vec<Vec<usize>> {
    (0..alleles).flat_map(|a| (a..alleles).map(move |b| vec![a, b])).collect()
}

/// The genotypes an animal can have: pairs, or single alleles in the one-copy sex.
fn genotypes(locus: &Value, sex: &str) -> Vec<Vec<usize>> {
    let alleles = locus["alleles"].as_u64().unwrap() as usize;
    if locus["hemizygous_sex"].as_str() == Some(sex) {
        (0..alleles).map(|a| vec![a]).collect()
    } else {
        pairs(alleles)
    }
}

fn floats(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

/// Chance of each allele that a parent hands on.
fn gamete(genotype: &[usize], alleles: usize) -> Vec<f64> {
    let mut chances = vec![0.0; alleles];
    genotype.iter().for_each(|a| chances[*a] += 1.0 / genotype.len() as f64);
    chances
}

/// Chance of a genotype from the gametes of sire and dam.
fn made(child: &[usize], one_copy: Option<&str>, sire: &[f64], dam: &[f64]) -> f64 {
    match (child, one_copy) {
        ([a], Some("M")) => dam[*a],
        ([a], _) => sire[*a],
        ([a, b], _) if a == b => sire[*a] * dam[*a],
        ([a, b], _) => sire[*a] * dam[*b] + sire[*b] * dam[*a],
        _ => unreachable!("a genotype has one or two alleles"),
    }
}

fn build(instance: &Value) -> Instance {
    let loci = instance["loci"].as_array().unwrap();
    let animals = instance["animals"].as_array().unwrap();
    let ids: Vec<String> = animals.iter().map(|a| a["id"].as_str().unwrap().into()).collect();
    let find = |id: &Value| ids.iter().position(|known| Some(known.as_str()) == id.as_str());
    let mut graph = FactorGraph::default();
    let variables: Vec<Vec<VariableId>> = animals
        .iter()
        .map(|animal| {
            let sex = animal["sex"].as_str().unwrap();
            loci.iter().map(|locus| graph.variable(genotypes(locus, sex).len())).collect()
        })
        .collect();
    let mut known = std::collections::HashMap::new();
    for (at, animal) in animals.iter().enumerate() {
        let sex = animal["sex"].as_str().unwrap();
        for (l, locus) in loci.iter().enumerate() {
            let alleles = locus["alleles"].as_u64().unwrap() as usize;
            let parents = [find(&animal["sire"]), find(&animal["dam"])];
            let of = |parent: Option<usize>, sex: &str| match parent {
                Some(_) => genotypes(locus, sex).iter().map(|g| gamete(g, alleles)).collect(),
                None => vec![floats(&locus["freqs"])],
            };
            let (sires, dams): (Vec<Vec<f64>>, Vec<Vec<f64>>) =
                (of(parents[0], "M"), of(parents[1], "F"));
            let one_copy = locus["hemizygous_sex"].as_str().filter(|one| *one == sex);
            let key = (l, sex.to_owned(), parents.map(|p| p.is_some()));
            let table = *known.entry(key).or_insert_with(|| {
                let mut values = Vec::new();
                for child in genotypes(locus, sex) {
                    for sire in &sires {
                        values.extend(dams.iter().map(|dam| made(&child, one_copy, sire, dam)));
                    }
                }
                graph.table(values)
            });
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
