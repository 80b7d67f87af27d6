//! What the records would weigh if one of them were wrong: by writing the colony otherwise and
//! solving it from the start. Nothing here uses what `conflicts` is made of.

use proveout::network::Grouping;
use proveout::numbers::{ln, log_sum_exp};
use proveout::questions::{Asked, Model, Slip, SlipKind, Unanswerable};
use proveout::records::{
    AnimalId, Call, Candidate, Clutch, ClutchId, Colony, GeneId, Observation, Origin, Parent,
    Siring, SiringMode,
};

/// One record that may be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Record {
    Call(AnimalId, GeneId),
    /// One of the young of a count.
    Count(ClutchId, usize, GeneId),
    Statement(AnimalId, GeneId),
    Sire(ClutchId),
    Dam(ClutchId),
    Identity(AnimalId),
}

impl Record {
    /// Whether this is what an answer speaks of.
    pub fn is(&self, colony: &Colony, slip: &Slip) -> bool {
        let key = (slip.kind, slip.animal, slip.clutch, slip.gene);
        match *self {
            Record::Call(animal, gene) => {
                (key.0, key.1, key.3) == (SlipKind::Call, Some(animal), Some(gene))
            }
            Record::Count(clutch, at, gene) => {
                let place = colony.clutch(clutch).counts[at].place;
                key == (SlipKind::Call, None, Some(clutch), Some(gene)) && slip.place == place
            }
            Record::Statement(animal, gene) => {
                (key.0, key.1, key.3) == (SlipKind::Statement, Some(animal), Some(gene))
            }
            Record::Sire(clutch) => (key.0, key.2) == (SlipKind::Sire, Some(clutch)),
            Record::Dam(clutch) => (key.0, key.2) == (SlipKind::Dam, Some(clutch)),
            Record::Identity(animal) => (key.0, key.1) == (SlipKind::Identity, Some(animal)),
        }
    }
}

/// Natural log of the probability of all records; minus infinity when they are impossible.
pub fn log_evidence(colony: &Colony) -> f64 {
    match Model::solve(colony, Grouping::Siblings, Asked::MEMORY) {
        Ok(model) => model.log_evidence().ln(),
        Err(Unanswerable::Impossible(_)) => f64::NEG_INFINITY,
        Err(other) => panic!("a small colony has an answer: {other:?}"),
    }
}

/// Whether the calls of `seen` say anything of `gene`.
fn judged(seen: &Observation, gene: GeneId) -> bool {
    matches!(seen.call, Call::Looks(_)) && !seen.unread.contains(&gene)
}

/// Every record of a colony without uncertain calls, masks and later calls.
pub fn every_record(colony: &Colony) -> Vec<Record> {
    let mut records = Vec::new();
    for id in colony.animal_ids() {
        let animal = colony.animal(id);
        let genes = colony.gene_ids().filter(|gene| judged(&animal.seen, *gene));
        records.extend(genes.map(|gene| Record::Call(id, gene)));
        records.extend(animal.statements.iter().map(|told| Record::Statement(id, told.gene)));
        if animal.origin != Origin::Founder && animal.id.is_some() {
            records.push(Record::Identity(id));
        }
    }
    for id in colony.clutch_ids() {
        let clutch = colony.clutch(id);
        for (at, count) in clutch.counts.iter().enumerate() {
            let genes = colony.gene_ids().filter(|gene| judged(&count.seen, *gene));
            records.extend(genes.map(|gene| Record::Count(id, at, gene)));
        }
        if matches!(clutch.siring.candidates[..], [(Candidate::Known(_), _)]) {
            records.push(Record::Sire(id));
        }
        if clutch.dam != Parent::Unknown {
            records.push(Record::Dam(id));
        }
    }
    records
}

fn unread(seen: &mut Observation, gene: GeneId) {
    if let Call::Looks(looks) = &mut seen.call {
        looks.retain(|look| look.gene != gene);
    }
    seen.unread.push(gene);
}

fn one_unknown() -> Siring {
    Siring { candidates: vec![(Candidate::Unknown, 1.0)], mode: SiringMode::One }
}

/// A hatchling put into another clutch.
fn moved(colony: &Colony, animal: AnimalId, to: ClutchId) -> Colony {
    let mut other = colony.clone();
    for clutch in &mut other.clutches {
        clutch.hatchlings.retain(|id| *id != animal);
    }
    other.clutches[to.0].hatchlings.push(animal);
    other.animals[animal.0].origin = Origin::Clutch(to);
    other
}

/// A hatchling whose parents are nobody's.
pub fn unrelated(colony: &Colony, animal: AnimalId) -> Colony {
    let mut other = colony.clone();
    let Origin::Clutch(own) = colony.animal(animal).origin else { return other };
    let stranger = Clutch {
        id: "elsewhere".to_owned(),
        dam: Parent::Unknown,
        siring: one_unknown(),
        hatchlings: Vec::new(),
        counts: Vec::new(),
        ..colony.clutch(own).clone()
    };
    other.clutches.push(stranger);
    let to = ClutchId(other.clutches.len() - 1);
    moved(&other, animal, to)
}

/// The other clutches of the season, none of which can come from the animal itself: sampled
/// colonies breed from earlier seasons only.
pub fn same_season(colony: &Colony, own: ClutchId) -> Vec<ClutchId> {
    let year = |id: ClutchId| colony.clutch(id).date().map(|date| date.year);
    colony.clutch_ids().filter(|id| *id != own && year(*id) == year(own)).collect()
}

/// Natural log of the probability of all records if this one is wrong.
pub fn undone(colony: &Colony, record: Record) -> f64 {
    let mut other = colony.clone();
    match record {
        Record::Call(animal, gene) => unread(&mut other.animals[animal.0].seen, gene),
        Record::Count(clutch, at, gene) => {
            let counts = &mut other.clutches[clutch.0].counts;
            let mut one = counts[at].clone();
            let place = one.number.iter().position(|number| *number > 0).unwrap();
            counts[at].number[place] -= 1;
            one.number = [0; 3];
            one.number[place] = 1;
            unread(&mut one.seen, gene);
            counts.push(one);
        }
        Record::Statement(animal, gene) => {
            other.animals[animal.0].statements.retain(|told| told.gene != gene);
        }
        Record::Sire(clutch) => other.clutches[clutch.0].siring = one_unknown(),
        Record::Dam(clutch) => other.clutches[clutch.0].dam = Parent::Unknown,
        Record::Identity(animal) => return not_itself(colony, animal),
    }
    log_evidence(&other)
}

/// Unrelated, or from another clutch of that season, half each.
fn not_itself(colony: &Colony, animal: AnimalId) -> f64 {
    let Origin::Clutch(own) = colony.animal(animal).origin else { panic!("{animal:?} hatched") };
    let stranger = log_evidence(&unrelated(colony, animal));
    let elsewhere: Vec<f64> = same_season(colony, own)
        .into_iter()
        .map(|to| log_evidence(&moved(colony, animal, to)))
        .collect();
    if elsewhere.is_empty() {
        return stranger;
    }
    let mean = log_sum_exp(&elsewhere) - ln(elsewhere.len() as f64);
    log_sum_exp(&[stranger, mean]) - ln(2.0)
}
