//! Records that cannot all be true: which ones.

use super::{Unanswerable, record_name};
use crate::genetics::fatherless_sex;
use crate::inference::{Impossible, JunctionTree, NoPlan};
use crate::network::{ColonyNetwork, Evidence, Grouping, Item, assemble_within};
use crate::records::{Candidate, Clutch, Colony, Place, RecordError, Sex, SexSystem};

/// A smallest set of records that cannot all be true, in the order of the file.
///
/// Leaving out any one of them makes the rest of the set possible; other records may contradict
/// each other as well.
///
/// # Source
///
/// Division into halves: Junker 2004, QuickXplain, AAAI 167–172.
///
/// # Errors
///
/// [`Unanswerable::TooLarge`]: to tell which records takes tables with every record in its place.
pub(super) fn irreducible(colony: &Colony, memory: u64) -> Result<Vec<RecordError>, Unanswerable> {
    let net = assemble_within(colony, Grouping::Apart, memory);
    let search = Search { net: &net, memory };
    let candidates = search.suspects()?;
    let background = vec![false; net.items.len()];
    if !search.possible(&background)? {
        return Ok(vec![without_records(colony)]);
    }
    let found = search.needed(&background, false, &candidates)?;
    Ok(named(colony, &net, found))
}

/// The records cannot all be true: which of them.
pub(super) fn impossible(colony: &Colony, memory: u64) -> Unanswerable {
    irreducible(colony, memory).map_or_else(|too_large| too_large, Unanswerable::Impossible)
}

fn named(colony: &Colony, net: &ColonyNetwork, mut found: Vec<usize>) -> Vec<RecordError> {
    found.sort_by_key(|item| (net.items[*item].place.line, net.items[*item].place.column));
    let count = found.len();
    let mut errors = Vec::new();
    for (at, item) in found.iter().enumerate() {
        let item = &net.items[*item];
        let name = record_name(colony, item);
        let message = match (count, at) {
            (1, _) => format!("{name} cannot be true of any animal in this place"),
            (_, 0) => format!("these {count} records cannot all be true, and the first is {name}"),
            _ => format!("it contradicts {name}"),
        };
        errors.push(RecordError {
            place: item.place,
            message,
            help: Some(help(count).to_owned()),
            related: None,
        });
    }
    errors
}

/// What cannot be even before any look, call, reading or statement: a sex.
fn without_records(colony: &Colony) -> RecordError {
    let (place, whose) = misplaced(colony).unwrap_or_default();
    RecordError {
        place,
        message: format!("{whose} cannot be: no birth without a father gives this sex"),
        help: Some("check the sex, and name the sires that there may have been".to_owned()),
        related: None,
    }
}

/// The first young whose recorded sex no birth without a father gives.
fn misplaced(colony: &Colony) -> Option<(Place, String)> {
    let heterogametic = match colony.sex_system {
        SexSystem::Xy => Sex::Male,
        SexSystem::Zw => Sex::Female,
        SexSystem::Environmental => return None,
    };
    let kept_both = colony.assumptions.virgin_heterozygosity;
    let never = |sex: Sex| fatherless_sex(Some(heterogametic), kept_both, sex) == 0.0;
    let fatherless = |clutch: &&Clutch| {
        let mut candidates = clutch.siring.candidates.iter().filter(|(_, weight)| *weight > 0.0);
        candidates.all(|(candidate, _)| *candidate == Candidate::NoFather)
    };
    colony.clutches.iter().filter(fatherless).find_map(|clutch| {
        let young = clutch.hatchlings.iter().map(|id| colony.animal(*id)).find(|young| {
            let stays = young.id.is_none() || colony.assumptions.mix_up == 0.0;
            stays && young.sex.is_some_and(never)
        });
        let counted = clutch.counts.iter().find(|count| {
            let [males, females, _] = count.number;
            (males > 0 && never(Sex::Male)) || (females > 0 && never(Sex::Female))
        });
        let unnamed = || format!("a hatchling of {}", clutch.id);
        let of_young = young.map(|young| (young.place, young.id.clone().unwrap_or_else(unnamed)));
        of_young
            .or_else(|| counted.map(|count| (count.place, format!("the count in {}", clutch.id))))
    })
}

fn help(count: usize) -> &'static str {
    if count == 1 {
        "check this record against its parents and the declaration of the gene"
    } else {
        "leaving out any one of them makes the rest possible: check each, and who the parents are"
    }
}

struct Search<'a> {
    net: &'a ColonyNetwork,
    memory: u64,
}

impl Search<'_> {
    /// What is impossible about the evidence; `None` when nothing is.
    fn impossible(&self, evidence: &Evidence) -> Result<Option<Impossible>, Unanswerable> {
        match JunctionTree::plan(&self.net.graph, evidence, self.memory) {
            Ok(tree) => Ok(tree.calibrate(evidence).err()),
            Err(NoPlan::Impossible(impossible)) => Ok(Some(impossible)),
            Err(NoPlan::TooLarge { needed }) => {
                Err(Unanswerable::TooLarge { needed, allowed: self.memory })
            }
        }
    }

    /// The items of the component that is impossible; all of them when it cannot be told.
    fn suspects(&self) -> Result<Vec<usize>, Unanswerable> {
        let net = self.net;
        let component = net.graph.components();
        let at = self.impossible(&net.all_evidence())?.map(|found| component[found.at.0]);
        let touches = |item: &Item| match at {
            Some(at) => net.touched_by_any(item).any(|v| component[v.0] == at),
            None => true,
        };
        Ok((0..net.items.len()).filter(|item| touches(&net.items[*item])).collect())
    }

    fn possible(&self, on: &[bool]) -> Result<bool, Unanswerable> {
        Ok(self.impossible(&self.net.evidence_freeing(on))?.is_none())
    }

    /// The members of `candidates` that are needed, next to `background`, to be impossible.
    fn needed(
        &self,
        background: &[bool],
        grew: bool,
        candidates: &[usize],
    ) -> Result<Vec<usize>, Unanswerable> {
        if grew && !self.possible(background)? {
            return Ok(Vec::new());
        }
        if candidates.len() <= 1 {
            return Ok(candidates.to_vec());
        }
        let (one, other) = candidates.split_at(candidates.len() / 2);
        let with = |extra: &[usize]| {
            let mut on = background.to_vec();
            extra.iter().for_each(|item| on[*item] = true);
            on
        };
        let from_other = self.needed(&with(one), true, other)?;
        let from_one = self.needed(&with(&from_other), !from_other.is_empty(), one)?;
        Ok(from_one.into_iter().chain(from_other).collect())
    }
}
