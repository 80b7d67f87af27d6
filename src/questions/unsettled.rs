//! What is not settled: who may carry what, the animals that are bred first.

use super::moves::{chance, same};
use super::{Conclusion, Copies, GenotypesAnswer, Proposition, conclusion};
use crate::records::{Colony, Status};

/// A proposition that is open, with its chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unsettled {
    /// What it is about.
    pub proposition: Proposition,
    /// Its chance.
    pub chance: f64,
    /// Whether the animal is in the colony and bred.
    pub kept: bool,
}

/// Every open proposition: those of kept animals first, and of these the most open first.
pub fn unsettled(colony: &Colony, answer: &GenotypesAnswer) -> Vec<Unsettled> {
    let mut open = Vec::new();
    for row in &answer.genotypes {
        let (animal, gene) = (row.animal, row.gene);
        let kept = colony.animal(animal).status == Status::Kept;
        for allele in 1..=colony.gene(gene).alleles.len() {
            let [any, two] = [Copies::Any, Copies::Two].map(|copies| Unsettled {
                proposition: Proposition { animal, gene, allele, copies },
                chance: chance(row, allele, copies),
                kept,
            });
            let is_open = |one: &Unsettled| conclusion(one.chance) == Conclusion::Open;
            open.extend([any].into_iter().filter(is_open));
            let double = is_open(&any) && same(any.chance, two.chance);
            open.extend([two].into_iter().filter(|two| is_open(two) && !double));
        }
    }
    let distance = |one: &Unsettled| (one.chance - 0.5).abs();
    open.sort_by(|a, b| b.kept.cmp(&a.kept).then(distance(a).total_cmp(&distance(b))));
    open
}
