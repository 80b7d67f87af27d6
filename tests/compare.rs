//! Are the networks that other libraries are given the ones that the program answers?
//!
//! `benches/compare` writes a made network as JSON for the libraries and as records for the program.
//! Small ones are answered here by summing over all genotypes of all animals, straight from the JSON
//! and by Mendel's rules, and compared with what the program says of the records.

#![allow(missing_docs, clippy::unwrap_used)]

use std::path::Path;
use std::process;

use assert_cmd::Command;
use serde_json::Value;

/// A few thousand sums and products.
const TOLERANCE: f64 = 1e-11;

fn python(script: &str, arguments: &[&str]) -> String {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/compare").join(script);
    let ran = process::Command::new("python3").arg(script).args(arguments).output().unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    String::from_utf8(ran.stdout).unwrap()
}

fn floats(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

/// One locus of a network: for each animal its parents and the weight of each of its genotypes.
struct Locus {
    states: Vec<[usize; 2]>,
    freqs: Vec<f64>,
    parents: Vec<[Option<usize>; 2]>,
    likelihoods: Vec<Vec<f64>>,
}

impl Locus {
    fn of(net: &Value, at: usize) -> Self {
        let freqs = floats(&net["loci"][at]["freqs"]);
        let pairs = |a| (a..freqs.len()).map(move |b| [a, b]);
        let states: Vec<[usize; 2]> = (0..freqs.len()).flat_map(pairs).collect();
        let animals = net["animals"].as_array().unwrap();
        let place = |id: &Value| animals.iter().position(|animal| animal["id"] == *id);
        let parents = animals.iter().map(|a| [place(&a["sire"]), place(&a["dam"])]).collect();
        let mut likelihoods = vec![vec![1.0; states.len()]; animals.len()];
        for call in net["evidence"].as_array().unwrap().iter().filter(|c| c["loci"][0] == at) {
            let row = &mut likelihoods[place(&call["animal"]).unwrap()];
            row.iter_mut().zip(floats(&call["likelihood"])).for_each(|(all, one)| *all *= one);
        }
        Locus { states, freqs, parents, likelihoods }
    }

    /// Chance of an allele from a parent in this state; from the population without one.
    fn gamete(&self, parent: Option<usize>, allele: usize) -> f64 {
        match parent {
            None => self.freqs[allele],
            Some(state) => {
                self.states[state].iter().filter(|own| **own == allele).count() as f64 / 2.0
            }
        }
    }

    /// Adds the weight of every way to complete these states to the states it holds.
    fn sum(&self, fixed: &mut Vec<usize>, weight: f64, sums: &mut [Vec<f64>]) -> f64 {
        let at = fixed.len();
        let Some(parents) = self.parents.get(at) else {
            return weight;
        };
        let [sire, dam] = parents.map(|parent| parent.map(|parent| fixed[parent]));
        let mut total = 0.0;
        for (state, [a, b]) in self.states.iter().enumerate() {
            let one = |a: &usize, b: &usize| self.gamete(sire, *a) * self.gamete(dam, *b);
            let chance = if a == b { one(a, b) } else { one(a, b) + one(b, a) };
            let weight = weight * chance * self.likelihoods[at][state];
            if weight > 0.0 {
                fixed.push(state);
                let below = self.sum(fixed, weight, sums);
                fixed.pop();
                sums[at][state] += below;
                total += below;
            }
        }
        total
    }
}

/// The name that the records give a genotype.
fn named(locus: usize, [a, b]: [usize; 2]) -> String {
    let allele = |k| if k == 0 { "+".to_owned() } else { format!("m{locus}x{k}") };
    format!("{}/{}", allele(a), allele(b))
}

/// How many posteriors were compared.
fn compare(arguments: &str) -> usize {
    let folder = tempfile::tempdir().unwrap();
    let text = python("made_network.py", &arguments.split_whitespace().collect::<Vec<_>>());
    let file = folder.path().join("network.json");
    std::fs::write(&file, &text).unwrap();
    let records = python("records_of.py", &[file.to_str().unwrap()]);
    let mut program = Command::cargo_bin("proveout").unwrap();
    let ran = program.args(["genotypes", "-", "--json", "--exact"]).write_stdin(records).unwrap();
    let answer: Value = serde_json::from_slice(&ran.stdout).unwrap();

    let net: Value = serde_json::from_str(&text).unwrap();
    let (mut log_evidence, mut compared) = (0.0, 0);
    for at in 0..net["loci"].as_array().unwrap().len() {
        let locus = Locus::of(&net, at);
        let mut sums = vec![vec![0.0; locus.states.len()]; locus.parents.len()];
        let total = locus.sum(&mut Vec::new(), 1.0, &mut sums);
        log_evidence += total.ln();
        for (animal, sums) in net["animals"].as_array().unwrap().iter().zip(&sums) {
            let (id, gene) = (&animal["id"], format!("g{at}"));
            let mut told = answer["genotypes"].as_array().unwrap().iter();
            let told = told.find(|one| one["animal"] == *id && one["gene"] == gene);
            let told = told.unwrap_or_else(|| panic!("{arguments}: nothing on {id} at {gene}"));
            assert_eq!(told["posterior"].as_object().unwrap().len(), sums.len());
            for (state, sum) in locus.states.iter().zip(sums) {
                let ours = told["posterior"][named(at, *state)].as_f64().unwrap();
                let away = (ours - sum / total).abs();
                assert!(away < TOLERANCE, "{arguments}: {id}, {gene}, {state:?}: {away} away");
                compared += 1;
            }
        }
    }
    let ours = answer["log_evidence"].as_f64().unwrap();
    let away = (ours - log_evidence).abs();
    assert!(away < TOLERANCE * log_evidence.abs().max(1.0), "{arguments}: {ours}, {log_evidence}");
    compared
}

#[test]
fn records_of_a_made_network_say_what_the_network_says() {
    if process::Command::new("python3").arg("--version").output().is_err() {
        eprintln!("SKIPPED: there is no python3, so the made networks were not compared");
        return;
    }
    let networks = [
        "--animals 12 --loci 3 --alleles 2 --loops 0.9 --founders 0.3 --clutch 1 2 --seed 3",
        "--animals 12 --loci 3 --alleles 2 --unknown-parents 0.4 --clutch 2 4 --seed 5",
        "--animals 8 --loci 2 --alleles 3 --style closed --loops 0.9 --clutch 1 1 --seed 5",
        "--animals 7 --loci 2 --alleles 4 --unknown-parents 0.6 --clutch 1 2 --seed 6",
    ];
    let compared: usize = networks.iter().map(|arguments| compare(arguments)).sum();
    assert!(compared > 400, "only {compared} posteriors were compared");
}
