//! How the animals were called at a suspected gene, clutch by clutch.

use crate::genetics::{CallSheet, GeneCall, Mode, as_if, call_sheets, count_sheet, first_found};
use crate::records::{AnimalId, ClutchId, Colony, GeneId, Look, Origin};

/// One scored animal, or several alike.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Score {
    /// The clutch it hatched in; `None` for an animal without parents here.
    pub(super) clutch: Option<ClutchId>,
    /// The animal; `None` for young that were only counted.
    pub(super) animal: Option<AnimalId>,
    /// The count among those of its clutch.
    pub(super) count: Option<usize>,
    pub(super) number: u32,
    /// The look class called under each identity, `None` when unread there, and the fit of the
    /// identity. One entry when all agree.
    pub(super) classes: Vec<(Option<usize>, f64)>,
}

impl Score {
    /// The class, when the record is sure of it.
    pub(super) fn class(&self) -> Option<usize> {
        match self.classes.as_slice() {
            [(class, _)] => *class,
            _ => None,
        }
    }

    /// Whether the class depends on which animal it is.
    pub(super) fn is_uncertain(&self) -> bool {
        self.classes.len() > 1
    }
}

/// Every animal scored at a suspected gene, but those it was first noticed on.
pub(super) fn scores(colony: &Colony, gene: GeneId) -> Vec<Score> {
    // The calls of a gene of unknown inheritance are not read; which mode is named does not matter.
    let read = as_if(colony, gene, Mode::Recessive { sex_linked: false });
    let first = &colony.gene(gene).first_seen.animals;
    let mut scores = Vec::new();
    for id in read.animal_ids().filter(|id| !first.contains(id)) {
        let animal = read.animal(id);
        let sightings = call_sheets(&read, animal);
        let Some(latest) = sightings.iter().rev().find(|one| one.sheet.reads(gene)) else {
            continue;
        };
        let clutch = match animal.origin {
            Origin::Founder => None,
            Origin::Clutch(clutch) => Some(clutch),
        };
        let classes = classes(&latest.sheet, gene);
        scores.push(Score { clutch, animal: Some(id), count: None, number: 1, classes });
    }
    for id in read.clutch_ids() {
        let clutch = read.clutch(id);
        for (at, count) in clutch.counts.iter().enumerate() {
            let sheet = count_sheet(&read, clutch, count);
            if sheet.reads(gene) && count.total() > 0 {
                let (number, classes) = (count.total(), classes(&sheet, gene));
                let (clutch, count) = (Some(id), Some(at));
                scores.push(Score { clutch, animal: None, count, number, classes });
            }
        }
    }
    scores
}

/// The classes of each first find, as it was called.
pub(super) fn first_classes(colony: &Colony, gene: GeneId) -> Vec<(AnimalId, usize)> {
    let read = as_if(colony, gene, Mode::Recessive { sex_linked: false });
    let class = |id: &AnimalId| {
        let found = first_found(&read, *id).into_iter().find(|(of, _)| *of == gene);
        found.map(|(_, class)| (*id, class))
    };
    colony.gene(gene).first_seen.animals.iter().filter_map(class).collect()
}

/// The classes of each identity; alike ones together.
fn classes(sheet: &CallSheet, gene: GeneId) -> Vec<(Option<usize>, f64)> {
    let class = |calls: &[GeneCall]| match &calls[gene.0] {
        // Another look on the animal hides a look of this gene: that it shows nothing says little.
        GeneCall::Class { class: 0, hidden } if !hidden.is_empty() => None,
        GeneCall::Class { class, .. } => Some(*class),
        GeneCall::Unread => None,
    };
    let mut list: Vec<(Option<usize>, f64)> =
        sheet.alternatives.iter().map(|(fit, calls)| (class(calls), *fit)).collect();
    if list.iter().all(|(class, _)| *class == list[0].0) {
        list.truncate(1);
        list[0].1 = 1.0;
    }
    list
}

/// What a selection names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Selects {
    /// No look of the gene.
    Others,
    /// Only looks of the gene: all of them, or only one of two.
    OnlyThis {
        /// Whether every look of the gene is among them.
        all: bool,
    },
    /// Looks of the gene and of others.
    Both,
}

pub(super) fn selects(colony: &Colony, gene: GeneId, looks: &[Look]) -> Selects {
    let own = looks.iter().filter(|look| look.gene == gene).count();
    match own {
        0 => Selects::Others,
        _ if own < looks.len() => Selects::Both,
        _ => Selects::OnlyThis { all: own == colony.gene(gene).looks.len() },
    }
}
