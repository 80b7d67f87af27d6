//! Small random colonies for the judges: loops, few genes, every kind of record.

// Each test binary uses a part.
#![allow(dead_code)]

use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use proveout::records::{Colony, Sex};

use crate::judge::Build;

/// What a random colony may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Features {
    /// Sex linkage, linkage, doubtful sires, selection.
    pub beyond_autosomal: bool,
}

impl Features {
    /// Autosomal genes with certain parents.
    pub const AUTOSOMAL: Features = Features { beyond_autosomal: false };
}

struct Dice(ChaCha8Rng);

impl Dice {
    fn chance(&mut self, p: f64) -> bool {
        self.0.random::<f64>() < p
    }

    fn pick<'a, T: ?Sized>(&mut self, list: &[&'a T]) -> &'a T {
        list[self.0.random_range(0..list.len())]
    }

    fn below(&mut self, n: u32) -> u32 {
        self.0.random_range(0..n)
    }
}

/// One gene of a colony in the making: its looks, and genotypes a reading can state.
struct GeneKind {
    name: &'static str,
    looks: &'static [&'static str],
    alleles: &'static [&'static str],
}

const KINDS: [GeneKind; 4] = [
    GeneKind { name: "ash", looks: &["ash"], alleles: &["ash"] },
    GeneKind { name: "tallow", looks: &["tallow", "super tallow"], alleles: &["tallow"] },
    GeneKind { name: "ripple", looks: &["ripple"], alleles: &["ripple"] },
    GeneKind {
        name: "shade",
        looks: &["fern", "moss", "bracken"],
        alleles: &["fern", "moss"],
    },
];

fn declare(mut build: Build, dice: &mut Dice, kind: &GeneKind) -> Build {
    build = match kind.name {
        "ash" => build.recessive("ash"),
        "tallow" => build.incomplete("tallow"),
        "ripple" => build.dominant("ripple"),
        _ => build.series(
            "shade",
            &["fern", "moss"],
            &["+/fern = fern", "+/moss = moss", "fern/fern = fern", "fern/moss = bracken"],
        ),
    };
    if dice.chance(0.5) {
        let f = dice.pick(&[&0.0, &0.125, &0.25, &0.0078125]);
        build = build.background(&vec![*f; kind.alleles.len()]);
    }
    if dice.chance(0.3) {
        build = build.penetrance(*dice.pick(&[&0.75, &0.5, &0.9]));
    }
    match dice.below(4) {
        0 => build = build.misread(*dice.pick(&[&0.0, &0.0625, &0.1])),
        1 => build = build.misread_apart(0.125, 0.03125, 0.0625),
        _ => {}
    }
    if dice.chance(0.2) {
        let a = kind.alleles[0];
        build = build.lethal(&format!("{a}/{a}"));
    }
    if dice.chance(0.15) {
        build = build.judged_on_adults();
    }
    build
}

/// Looks of one animal, one a gene at most.
fn looks(dice: &mut Dice, genes: &[&GeneKind]) -> String {
    let mut named = Vec::new();
    for gene in genes {
        if dice.chance(0.35) {
            named.push(dice.pick(gene.looks));
        }
    }
    named.join(", ")
}

fn seen(mut build: Build, dice: &mut Dice, genes: &[&GeneKind]) -> Build {
    match dice.below(10) {
        0 => {}
        1 | 2 => {
            let (one, other) = (looks(dice, genes), looks(dice, genes));
            let fit = *dice.pick(&[&0.7, &0.5, &0.25]);
            build = build.either(&[(&one, fit), (&other, 1.0 - fit)]);
        }
        _ => build = build.looks(&looks(dice, genes)),
    }
    if dice.chance(0.15) {
        let gene = genes[dice.below(genes.len() as u32) as usize];
        let allele = gene.alleles[dice.below(gene.alleles.len() as u32) as usize];
        let result = dice.pick(&["+/+", "het", "two"]);
        let result = match result {
            "het" => format!("+/{allele}"),
            "two" => format!("{allele}/{allele}"),
            _ => result.to_owned(),
        };
        build = build.reading(gene.name, &result, *dice.pick(&[&0.9, &0.75]));
    }
    build
}

fn told(mut build: Build, dice: &mut Dice, genes: &[&GeneKind]) -> Build {
    if dice.chance(0.4) {
        let gene = genes[dice.below(genes.len() as u32) as usize];
        let allele = gene.alleles[0];
        let look = gene.looks[0];
        let says = match dice.below(4) {
            0 => format!("het {allele}"),
            1 => format!("not het {allele}"),
            2 => look.to_owned(),
            _ => format!("66% het {allele}"),
        };
        build = build.sold_as(&says).trust(*dice.pick(&[&1.0, &0.75]));
    }
    build
}

/// A colony of up to four founders and a handful of young, with loops.
pub fn small(seed: u64, _features: Features) -> Colony {
    let mut dice = Dice(ChaCha8Rng::seed_from_u64(seed));
    let first = dice.below(4) as usize;
    let mut genes = vec![&KINDS[first]];
    if dice.chance(0.5) {
        genes.push(&KINDS[(first + 1 + dice.below(3) as usize) % 4]);
    }
    let mut build = Build::new().assume(|a| {
        a.misread = 0.001;
        a.background = 0.005;
    });
    for gene in &genes {
        build = declare(build, &mut dice, gene);
    }
    if genes.len() == 2 && dice.chance(0.3) {
        build = match dice.below(2) {
            0 => build.mask(genes[0].looks[0], &format!("gene {}", genes[1].name)),
            _ => build.mask(genes[0].looks[0], genes[1].looks[0]),
        };
    }
    for (id, sex) in [("F1", Sex::Female), ("M1", Sex::Male), ("F2", Sex::Female)] {
        build = build.founder(id, sex);
        build = told(build, &mut dice, &genes);
        build = seen(build, &mut dice, &genes);
    }
    let mut females = vec!["F1", "F2"];
    let mut males = vec!["M1"];
    let names = [["A1", "A2"], ["B1", "B2"], ["C1", "C2"]];
    let clutches = 2 + dice.below(2) as usize;
    for (clutch, young) in names.iter().enumerate().take(clutches) {
        let dam = if dice.chance(0.1) { "unknown" } else { dice.pick(&females) };
        let sire = if dice.chance(0.1) { "unknown" } else { dice.pick(&males) };
        build = build.clutch(&format!("K{clutch}"), dam, sire);
        for (at, id) in young.iter().enumerate() {
            let sex = if at == 0 { Sex::Male } else { Sex::Female };
            build = build.young(id).sex(sex);
            build = seen(build, &mut dice, &genes);
            if dice.chance(0.2) {
                build = build.grown(&looks(&mut dice, &genes));
            }
        }
        if dice.chance(0.6) {
            build = build.count(&looks(&mut dice, &genes), 1 + dice.below(3));
        }
        match dice.below(3) {
            0 => build = build.died(dice.below(3)),
            1 => build = build.incomplete_records(),
            _ => {}
        }
        males.push(young[0]);
        females.push(young[1]);
    }
    build.colony()
}

/// A colony small enough for every combination of the states of its network.
pub fn tiny(seed: u64) -> Colony {
    let mut dice = Dice(ChaCha8Rng::seed_from_u64(seed));
    let genes = [&KINDS[dice.below(3) as usize]];
    let mut build = declare(Build::new(), &mut dice, genes[0]);
    for (id, sex) in [("F1", Sex::Female), ("M1", Sex::Male)] {
        build = build.founder(id, sex);
        build = told(build, &mut dice, &genes);
        build = seen(build, &mut dice, &genes);
    }
    build = build.clutch("A", "F1", "M1").young("A1").sex(Sex::Male);
    build = seen(build, &mut dice, &genes);
    build = build.count(&looks(&mut dice, &genes), 2);
    build = build.clutch("B", "F1", "A1").young("B1");
    seen(build, &mut dice, &genes).colony()
}
