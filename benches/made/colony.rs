//! A made colony: 400 animals, eight genes, three generations. The same seed gives the same text.
//!
//! With [`Loops::Relatives`] a tenth of the matings are between relatives (an animal and its parent,
//! or siblings), and every other mating joins two parts of the colony that had nothing to do with
//! each other: another line, or an animal that came in. With [`Loops::Closed`] nothing comes in after
//! the first generation and any two that are not close relatives may be paired, so that lines cross
//! again and again; an exact answer then needs far larger tables.
//!
//! Genotypes are drawn gamete by gamete and called without error; what is written down is what a
//! keeper would see. Names are numbers: `F12` came in, `G1-3-2` is the second young of the third
//! clutch of the first bred generation.

use std::fmt::Write;
use std::ops::Range;

/// Animals of the colony.
pub const ANIMALS: usize = 400;
/// Genes of the colony.
pub const GENES: usize = 8;

const FOUNDERS: usize = 70;
const CLUTCH: usize = 5;
const CLUTCHES: usize = (ANIMALS - FOUNDERS) / CLUTCH;
/// Clutches of the first bred generation, from pairs of founders.
const FIRST: usize = 24;
/// Matings between relatives, a tenth of all.
const RELATED: usize = CLUTCHES / 10;

/// Where the loops in the pedigree come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loops {
    /// From matings between relatives only.
    Relatives,
    /// From lines that cross again and again as well.
    Closed,
}

/// SplitMix64 (Steele, Lea & Flood 2014, OOPSLA): small, seeded, good enough to throw gametes.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, number: usize) -> usize {
        (self.next() % number as u64) as usize
    }

    fn chance(&mut self, of_a_hundred: usize) -> bool {
        self.below(100) < of_a_hundred
    }
}

/// The first four genes are recessive, two are incomplete dominant, one is dominant and the last
/// has two mutant alleles.
fn looks(gene: usize, [a, b]: [usize; 2]) -> Option<String> {
    let copies = usize::from(a > 0) + usize::from(b > 0);
    match gene {
        0..4 => (copies == 2).then(|| format!("r{gene}")),
        4..6 => match copies {
            0 => None,
            1 => Some(format!("i{gene}")),
            _ => Some(format!("super i{gene}")),
        },
        6 => (copies > 0).then(|| "d6".to_owned()),
        _ => match [a.min(b), a.max(b)] {
            [0, 0] => None,
            [0, 1] => Some("s7".to_owned()),
            [0, _] => Some("t7".to_owned()),
            [1, 1] => Some("double s7".to_owned()),
            [1, _] => Some("s7t7".to_owned()),
            _ => Some("double t7".to_owned()),
        },
    }
}

struct Animal {
    id: String,
    male: bool,
    genotype: [[usize; 2]; GENES],
    parents: Option<[usize; 2]>,
}

impl Animal {
    fn record(&self) -> String {
        let seen: Vec<String> = (0..GENES)
            .filter_map(|gene| looks(gene, self.genotype[gene]))
            .map(|look| format!("\"{look}\""))
            .collect();
        let sex = if self.male { "male" } else { "female" };
        format!("id = \"{}\"\nsex = \"{sex}\"\nlooks = [{}]\n", self.id, seen.join(", "))
    }
}

const GENE_TABLES: &str = r#"[gene.r0]
inheritance = "recessive"
[gene.r1]
inheritance = "recessive"
[gene.r2]
inheritance = "recessive"
[gene.r3]
inheritance = "recessive"
[gene.i4]
inheritance = "incomplete dominant"
[gene.i5]
inheritance = "incomplete dominant"
[gene.d6]
inheritance = "dominant"
[gene.g7]
alleles = ["s7", "t7"]
[gene.g7.looks]
"+/s7" = "s7"
"+/t7" = "t7"
"s7/s7" = "double s7"
"t7/t7" = "double t7"
"s7/t7" = "s7t7"
"#;

/// The records of the colony, in TOML.
pub fn records(seed: u64, loops: Loops) -> String {
    let mut dice = Dice(seed);
    let mut text = String::from(
        "# Made by benches/made/colony.rs; nobody's animals.\n\
         title = \"A made colony of 400 animals and 8 genes\"\n",
    );
    text.push_str(GENE_TABLES);
    let mut animals: Vec<Animal> = (0..FOUNDERS).map(|at| founder(&mut dice, at)).collect();
    for animal in &animals {
        let _ = write!(text, "[[animal]]\n{}", animal.record());
        let hidden = (0..4).find(|gene| animal.genotype[*gene] != [1, 1]);
        if let Some(gene) = hidden.filter(|_| dice.chance(40)) {
            let _ = writeln!(text, "sold_as = [\"66% het r{gene}\"]\ntrust = 0.9");
        }
    }
    let mut lines = Lines((0..FOUNDERS).collect());
    let mut first_bred = FOUNDERS..FOUNDERS;
    for clutch in 0..CLUTCHES {
        let pair = match clutch {
            _ if clutch < FIRST => [2 * clutch + 1, 2 * clutch],
            _ if clutch < FIRST + RELATED => related(&mut dice, &animals, first_bred.clone()),
            _ => {
                let spare = (2 * FIRST + clutch - FIRST - RELATED)..FOUNDERS;
                unrelated(&mut dice, &animals, first_bred.clone(), spare, &mut lines, loops)
            }
        };
        lines.join(pair);
        let generation = if clutch < FIRST { 1 } else { 2 };
        let id = format!("G{generation}-{clutch}");
        let [dam, sire] = pair.map(|at| animals[at].id.clone());
        let year = 2020 + generation;
        let _ = writeln!(
            text,
            "[[clutch]]\nid = \"{id}\"\ndam = \"{dam}\"\nsire = \"{sire}\"\nhatched = {year}-06-01"
        );
        for number in 0..CLUTCH {
            let young = bred(&mut dice, &animals, pair, format!("{id}-{number}"));
            let _ = write!(text, "[[clutch.hatchling]]\n{}", young.record());
            animals.push(young);
            let line = lines.of(pair[0]);
            lines.0.push(line);
        }
        if generation == 1 {
            first_bred.end = animals.len();
        }
    }
    assert_eq!(animals.len(), ANIMALS);
    text
}

/// Which animals hang together, each pointing towards the first of its line.
struct Lines(Vec<usize>);

impl Lines {
    fn of(&self, mut animal: usize) -> usize {
        while self.0[animal] != animal {
            animal = self.0[animal];
        }
        animal
    }

    fn join(&mut self, [one, other]: [usize; 2]) {
        let (one, other) = (self.of(one), self.of(other));
        self.0[one.max(other)] = one.min(other);
    }
}

fn founder(dice: &mut Dice, at: usize) -> Animal {
    let mut allele = |gene: usize| match dice.below(100) {
        0..15 => 1,
        15..25 if gene == 7 => 2,
        _ => 0,
    };
    let genotype = std::array::from_fn(|gene| [allele(gene), allele(gene)]);
    Animal { id: format!("F{at}"), male: at.is_multiple_of(2), genotype, parents: None }
}

/// A dam and a sire, siblings or an animal and its parent.
fn related(dice: &mut Dice, animals: &[Animal], bred: Range<usize>) -> [usize; 2] {
    loop {
        let one = bred.start + dice.below(bred.len());
        let Some(parents) = animals[one].parents else { continue };
        let other = match dice.chance(50) {
            true => parents[usize::from(!animals[one].male)],
            false => bred.start + dice.below(bred.len()),
        };
        let close = parents.contains(&other) || animals[other].parents == Some(parents);
        if close && animals[one].male != animals[other].male {
            return dam_first(animals, [one, other]);
        }
    }
}

/// A dam and a sire that are not close relatives.
fn unrelated(
    dice: &mut Dice,
    animals: &[Animal],
    bred: Range<usize>,
    mut spare: Range<usize>,
    lines: &mut Lines,
    loops: Loops,
) -> [usize; 2] {
    loop {
        let one = bred.start + dice.below(bred.len());
        let other = match (loops, spare.next()) {
            (Loops::Relatives, Some(fresh)) => fresh,
            _ => bred.start + dice.below(bred.len()),
        };
        let apart = match loops {
            Loops::Relatives => lines.of(one) != lines.of(other),
            Loops::Closed => animals[one].parents != animals[other].parents,
        };
        if apart && animals[one].male != animals[other].male {
            return dam_first(animals, [one, other]);
        }
    }
}

fn dam_first(animals: &[Animal], [one, other]: [usize; 2]) -> [usize; 2] {
    if animals[one].male { [other, one] } else { [one, other] }
}

fn bred(dice: &mut Dice, animals: &[Animal], pair: [usize; 2], id: String) -> Animal {
    let genotype = std::array::from_fn(|gene| {
        pair.map(|parent| animals[parent].genotype[gene][dice.below(2)])
    });
    Animal { id, male: dice.chance(50), genotype, parents: Some(pair) }
}
