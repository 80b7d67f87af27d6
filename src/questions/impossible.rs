//! Records that cannot all be true: which ones.

use super::record_name;
use crate::genetics::fatherless_sex;
use crate::inference::{JunctionTree, NoPlan};
use crate::network::{ColonyNetwork, Grouping, Item, assemble};
use crate::records::{Candidate, Clutch, Colony, Place, RecordError, Sex, SexSystem};

/// A smallest set of records that cannot all be true, in the order of the file.
///
/// Leaving out any one of them makes the rest of the set possible; other records may contradict
/// each other as well.
///
/// # Source
///
/// Division into halves: Junker 2004, QuickXplain, AAAI 167–172.
pub(super) fn irreducible(colony: &Colony) -> Vec<RecordError> {
    let net = assemble(colony, Grouping::Apart);
    let candidates = suspects(&net);
    let background = vec![false; net.items.len()];
    if !possible(&net, &background) {
        return vec![without_records(colony)];
    }
    let mut found = search(&net, &background, false, &candidates);
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

/// The items of the component that is impossible; all of them when it cannot be told.
fn suspects(net: &ColonyNetwork) -> Vec<usize> {
    let evidence = net.all_evidence();
    let impossible = match JunctionTree::plan(&net.graph, &evidence, u64::MAX) {
        Err(NoPlan::Impossible(impossible)) => Some(impossible),
        Err(NoPlan::TooLarge { .. }) => None,
        Ok(tree) => tree.calibrate(&evidence).err(),
    };
    let component = net.graph.components();
    let at = impossible.map(|impossible| component[impossible.at.0]);
    let touches = |item: &Item| match at {
        Some(at) => net.touched_by_any(item).any(|v| component[v.0] == at),
        None => true,
    };
    (0..net.items.len()).filter(|item| touches(&net.items[*item])).collect()
}

fn possible(net: &ColonyNetwork, on: &[bool]) -> bool {
    let evidence = net.evidence_freeing(on);
    match JunctionTree::plan(&net.graph, &evidence, u64::MAX) {
        Ok(tree) => tree.calibrate(&evidence).is_ok(),
        Err(NoPlan::Impossible(_)) => false,
        Err(NoPlan::TooLarge { .. }) => true,
    }
}

/// The members of `candidates` that are needed, next to `background`, to be impossible.
fn search(
    net: &ColonyNetwork,
    background: &[bool],
    grew: bool,
    candidates: &[usize],
) -> Vec<usize> {
    if grew && !possible(net, background) {
        return Vec::new();
    }
    if candidates.len() <= 1 {
        return candidates.to_vec();
    }
    let (one, other) = candidates.split_at(candidates.len() / 2);
    let with = |extra: &[usize]| {
        let mut on = background.to_vec();
        extra.iter().for_each(|item| on[*item] = true);
        on
    };
    let from_other = search(net, &with(one), true, other);
    let from_one = search(net, &with(&from_other), !from_other.is_empty(), one);
    from_one.into_iter().chain(from_other).collect()
}
