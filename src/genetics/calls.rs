//! What a record of looks says about each gene.

use super::Locus;
use crate::records::{
    Animal, AnimalId, Call, Clutch, Colony, Count, Date, GeneId, Hidden, Inheritance, Look,
    Observation, Origin, Place,
};

/// What one record says about one gene.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum GeneCall {
    /// Nothing: nobody judged it, or it could not be judged.
    Unread,
    /// It was called this look class (0 = nothing).
    Class {
        /// The class that was named; 0 when none was.
        class: usize,
        /// Classes that another look on the animal makes look like nothing.
        hidden: Vec<usize>,
    },
}

impl GeneCall {
    /// Likelihood of the call for each genotype of the locus, penetrance included.
    ///
    /// # Source
    ///
    /// Calls: a genotype shows its class with its penetrance, else nothing; the class shown is
    /// then called right or wrong. A hidden look and normal cannot be told apart, so it is
    /// called as normal is.
    pub fn likelihood(&self, locus: &Locus) -> Vec<f64> {
        let called: Vec<f64> = (0..locus.classes).map(|truth| self.chance(locus, truth)).collect();
        let mixed = |shows: &Vec<f64>| shows.iter().zip(&called).map(|(s, c)| s * c).sum();
        locus.shows.iter().map(mixed).collect()
    }

    /// Chance of the call on an animal that shows class `truth`; 1 when the gene is unread.
    pub(super) fn chance(&self, locus: &Locus, truth: usize) -> f64 {
        match self {
            GeneCall::Unread => 1.0,
            GeneCall::Class { class, hidden } => {
                locus.call_chance(if hidden.contains(&truth) { 0 } else { truth }, *class)
            }
        }
    }

    /// The look class named, when one was.
    pub fn named(&self) -> Option<usize> {
        match self {
            GeneCall::Class { class, .. } if *class > 0 => Some(*class),
            _ => None,
        }
    }
}

/// One record of looks, gene by gene, for each identity it allows.
#[derive(Clone, Debug, PartialEq)]
pub struct CallSheet {
    /// Normalised weight of each identity, and its calls: one for each gene of the colony.
    pub alternatives: Vec<(f64, Vec<GeneCall>)>,
    /// Genes that an identity reads in full only because it names a look of them: without one
    /// they would be unread, or partly hidden.
    pub by_name_only: Vec<GeneId>,
}

impl CallSheet {
    /// Whether any identity says anything about the gene.
    pub fn reads(&self, gene: GeneId) -> bool {
        self.alternatives.iter().any(|(_, calls)| calls[gene.0] != GeneCall::Unread)
    }

    /// The genes that any identity says anything about.
    pub fn genes(&self) -> impl Iterator<Item = GeneId> + '_ {
        let count = self.alternatives.first().map_or(0, |(_, calls)| calls.len());
        (0..count).map(GeneId).filter(|gene| self.reads(*gene))
    }

    fn forget(&mut self, gene: GeneId) {
        for (_, calls) in &mut self.alternatives {
            calls[gene.0] = GeneCall::Unread;
        }
    }
}

/// One record of looks on one animal, and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Sighting {
    /// What it says.
    pub sheet: CallSheet,
    /// Whether the animal counted as grown.
    pub grown: bool,
    /// Where it stands.
    pub place: Place,
}

/// What the records of looks on one animal say, earlier ones first.
///
/// Later calls on a grown hatchling replace the earlier ones for each gene that they read, but
/// for genes that can only be judged on adults.
pub fn call_sheets(colony: &Colony, animal: &Animal) -> Vec<Sighting> {
    let date = recorded(colony, animal);
    let sighting = |seen: &Observation, grown: bool| Sighting {
        sheet: sheet(colony, seen, grown, date),
        grown,
        place: seen.place.unwrap_or(animal.place),
    };
    let mut early = sighting(&animal.seen, animal.seen_grown);
    let late = animal.grown.as_ref().map(|seen| sighting(seen, true));
    if let Some(late) = &late {
        for gene in late.sheet.genes().filter(|gene| !colony.gene(*gene).from_age_adult) {
            early.sheet.forget(gene);
        }
    }
    let told = |s: &Sighting| s.sheet.genes().next().is_some();
    [Some(early), late].into_iter().flatten().filter(told).collect()
}

/// When the records of an animal begin.
fn recorded(colony: &Colony, animal: &Animal) -> Option<Date> {
    match animal.origin {
        Origin::Founder => animal.hatched,
        Origin::Clutch(clutch) => colony.clutch(clutch).date(),
    }
}

/// The genes of which nothing was seen on an animal that was looked at, nor told by a test: it was
/// too young or too early for them, or nobody judged them. What other looks hide is not among
/// them.
pub fn unseen_genes(colony: &Colony, animal: &Animal) -> Vec<GeneId> {
    let sightings = call_sheets(colony, animal);
    let date = recorded(colony, animal);
    let late = animal.grown.as_ref().map(|seen| (seen, true));
    let seen: Vec<(&Observation, bool)> =
        [Some((&animal.seen, animal.seen_grown)), late].into_iter().flatten().collect();
    let unseen = |gene: &GeneId| {
        let judged = |(seen, grown): &(&Observation, bool)| {
            seen.call != Call::NotRecorded
                && unnamed_call(colony, seen, &[], *gene, *grown, date) != GeneCall::Unread
        };
        colony.gene(*gene).inheritance != Inheritance::Unknown
            && !seen.iter().any(judged)
            && !sightings.iter().any(|sighting| sighting.sheet.reads(*gene))
            && !animal.readings.iter().any(|reading| reading.gene == *gene)
    };
    if sightings.is_empty() {
        return Vec::new();
    }
    colony.gene_ids().filter(unseen).collect()
}

/// What the records of looks on one animal say that may be wrong: the call for which a suspected
/// gene was first noticed is taken to be right elsewhere.
pub fn doubtful_sheets(colony: &Colony, id: AnimalId) -> Vec<Sighting> {
    let mut sightings = call_sheets(colony, colony.animal(id));
    for gene in colony.gene_ids().filter(|g| colony.gene(*g).first_seen.animals.contains(&id)) {
        sightings.iter_mut().for_each(|sighting| sighting.sheet.forget(gene));
    }
    sightings.retain(|sighting| sighting.sheet.genes().next().is_some());
    sightings
}

/// The suspected genes that were first noticed on an animal, each with the look class it was
/// called: by its latest record, and there by the identity that fits best.
pub fn first_found(colony: &Colony, id: AnimalId) -> Vec<(GeneId, usize)> {
    let sightings = call_sheets(colony, colony.animal(id));
    let class = |gene: GeneId| {
        let named = sightings.iter().rev().flat_map(|one| &one.sheet.alternatives);
        let mut best: Option<(f64, usize)> = None;
        for (fit, class) in named.filter_map(|(fit, calls)| Some((*fit, calls[gene.0].named()?))) {
            if best.is_none_or(|(most, _)| fit > most) {
                best = Some((fit, class));
            }
        }
        best.map(|(_, class)| (gene, class))
    };
    let genes = colony.gene_ids().filter(|g| colony.gene(*g).first_seen.animals.contains(&id));
    genes.filter_map(class).collect()
}

/// What a count says about each of its young.
pub fn count_sheet(colony: &Colony, clutch: &Clutch, count: &Count) -> CallSheet {
    sheet(colony, &count.seen, false, clutch.date())
}

fn sheet(colony: &Colony, seen: &Observation, grown: bool, date: Option<Date>) -> CallSheet {
    let calls = |looks: &[Look]| -> Vec<GeneCall> {
        colony.gene_ids().map(|gene| gene_call(colony, seen, looks, gene, grown, date)).collect()
    };
    let plain =
        |gene: &GeneId, looks: &[Look]| match unnamed_call(colony, seen, looks, *gene, grown, date)
        {
            GeneCall::Class { hidden, .. } => hidden.is_empty(),
            GeneCall::Unread => false,
        };
    let mut by_name_only: Vec<GeneId> = Vec::new();
    let mut note = |looks: &[Look]| {
        let named = looks.iter().map(|look| look.gene);
        by_name_only.extend(named.filter(|gene| !plain(gene, looks)));
    };
    match &seen.call {
        Call::NotRecorded => {}
        Call::Looks(looks) => note(looks),
        Call::Either(list) => list.iter().for_each(|one| note(&one.looks)),
    }
    let alternatives = match &seen.call {
        Call::NotRecorded => vec![(1.0, vec![GeneCall::Unread; colony.genes.len()])],
        Call::Looks(looks) => vec![(1.0, calls(looks))],
        Call::Either(list) => {
            let total: f64 = list.iter().map(|alternative| alternative.fit).sum();
            list.iter().map(|one| (one.fit / total, calls(&one.looks))).collect()
        }
    };
    CallSheet { alternatives, by_name_only }
}

fn gene_call(
    colony: &Colony,
    seen: &Observation,
    looks: &[Look],
    gene: GeneId,
    grown: bool,
    date: Option<Date>,
) -> GeneCall {
    // A gene of unknown inheritance has a question of its own; elsewhere its looks only mask.
    if colony.gene(gene).inheritance == Inheritance::Unknown {
        return GeneCall::Unread;
    }
    match looks.iter().find(|look| look.gene == gene) {
        Some(look) => GeneCall::Class { class: look.class, hidden: Vec::new() },
        None => unnamed_call(colony, seen, looks, gene, grown, date),
    }
}

/// What a record says about a gene of which it names no look.
fn unnamed_call(
    colony: &Colony,
    seen: &Observation,
    looks: &[Look],
    gene: GeneId,
    grown: bool,
    date: Option<Date>,
) -> GeneCall {
    let declared = colony.gene(gene);
    let too_early = match (date, declared.judged_since) {
        (Some(date), Some(since)) => date.surely_before(since),
        _ => false,
    };
    if seen.unread.contains(&gene) || too_early || (declared.from_age_adult && !grown) {
        return GeneCall::Unread;
    }
    let mut hidden = Vec::new();
    let acting = |mask: &&crate::records::Mask| mask.looks.iter().all(|look| looks.contains(look));
    for hides in colony.masks.iter().filter(acting).flat_map(|mask| &mask.hides) {
        match hides {
            Hidden::Gene(masked) if *masked == gene => return GeneCall::Unread,
            Hidden::Look(look) if look.gene == gene => hidden.push(look.class),
            _ => {}
        }
    }
    GeneCall::Class { class: 0, hidden }
}
