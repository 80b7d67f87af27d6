//! Clutches of a random colony: how they are written down.

use super::super::draw::Drawing;
use super::super::invent::FIRST_YEAR;
use super::super::{DrawError, Params};
use super::founders::blank;
use super::mates::pair;
use super::{alternatives, reading};
use crate::records::{
    AnimalId, Call, Clutch, ClutchId, Count, Date, GeneId, Look, Misread, Observation, Origin,
    Place, Sex,
};

/// Adds a clutch of the season to the colony, and draws it.
pub(super) fn add(
    drawing: &mut Drawing,
    params: &Params,
    season: usize,
    number: usize,
    grown_up: usize,
) -> Result<(), DrawError> {
    let (dam, siring) = pair(drawing, params, grown_up);
    let id = ClutchId(drawing.colony.clutches.len());
    let year = FIRST_YEAR + i32::try_from(season).unwrap_or(0);
    let date = |month, day| Some(Date { year, month: Some(month), day });
    let dice = &mut drawing.dice;
    let mut clutch = Clutch {
        id: format!("s{}c{number}", season + 1),
        place: Place::default(),
        dam,
        siring,
        laid: if dice.coin(0.5) { date(4, Some(3)) } else { None },
        hatched: if dice.coin(0.8) { date(6, Some(20)) } else { date(6, None) },
        eggs: None,
        slugs: None,
        died: None,
        complete: true,
        hatchlings: Vec::new(),
        counts: Vec::new(),
        recorded_only: Vec::new(),
        kept_if: Vec::new(),
        note: None,
    };
    if params.features.selection && dice.coin(0.3) {
        let (few, look) = (dice.coin(0.5), decisive(drawing, year));
        if few { clutch.recorded_only = look } else { clutch.kept_if = look }
    }
    let (fewest, most) = params.young;
    let young = fewest.max(1) + drawing.dice.below(most.saturating_sub(fewest) + 1);
    hatchlings(drawing, params, id, &mut clutch, young);
    eggs(drawing, params, &mut clutch);
    drawing.colony.clutches.push(clutch);
    drawing.grow();
    drawing.breed(id)
}

/// A look that a hatchling of this year may be called, whatever its parents are; none if no look
/// is.
fn decisive(drawing: &mut Drawing, year: i32) -> Vec<Look> {
    let colony = &drawing.colony;
    let judged = |gene: &GeneId| {
        let gene = colony.gene(*gene);
        let by_mistake = match gene.misread.unwrap_or(Misread::Any(colony.assumptions.misread)) {
            Misread::Any(chance) => chance,
            Misread::Apart { imagined, .. } => imagined,
        };
        let seen = gene.judged_since.is_none_or(|since| since.year <= year);
        by_mistake >= 0.001 && seen && !gene.from_age_adult
    };
    let hidden = |gene: &GeneId| {
        let hides = colony.masks.iter().flat_map(|mask| &mask.hides);
        hides.into_iter().any(|hidden| super::super::call::hidden_gene(*hidden) == *gene)
    };
    let genes: Vec<_> = colony.gene_ids().filter(|g| judged(g) && !hidden(g)).collect();
    let Some(&gene) = drawing.dice.pick(&genes) else { return Vec::new() };
    vec![Look { gene, class: 1 + drawing.dice.below(colony.gene(gene).looks.len()) }]
}

/// Room for the young: kept apart with or without an id, or counted.
fn hatchlings(
    drawing: &mut Drawing,
    params: &Params,
    id: ClutchId,
    clutch: &mut Clutch,
    young: usize,
) {
    let selective = !clutch.recorded_only.is_empty() || !clutch.kept_if.is_empty();
    for number in 1..=young {
        if drawing.dice.coin(0.2) {
            let sexed = usize::from(drawing.dice.coin(0.3));
            let seen = view(drawing, params, selective);
            let number = if sexed == 1 { [1, 0, 0] } else { [0, 0, 1] };
            clutch.counts.push(Count { seen, number, place: Place::default() });
            continue;
        }
        let animal = AnimalId(drawing.colony.animals.len());
        let mut hatchling = blank(format!("{}-{number}", clutch.id), Origin::Clutch(id));
        if drawing.dice.coin(0.15) {
            hatchling.id = None;
        }
        // Which of the two is drawn; that it is written down at all is what is decided here.
        hatchling.sex = drawing.dice.coin(0.7).then_some(Sex::Female);
        hatchling.hatched = clutch.date();
        hatchling.seen = view(drawing, params, selective);
        if params.features.grown && !selective && drawing.dice.coin(0.15) {
            hatchling.grown = Some(view_of(drawing, params.features.either));
            // With masks, what could be read at hatching would depend on calls that are replaced.
            let masked = !drawing.colony.masks.is_empty();
            let plain = view_of(drawing, false);
            hatchling.seen = if masked { Observation::default() } else { plain };
        }
        drawing.colony.animals.push(hatchling);
        if params.features.readings && drawing.dice.coin(0.1) {
            let reading = reading(drawing, animal);
            drawing.colony.animals[animal.0].readings.push(reading);
        }
        clutch.hatchlings.push(animal);
    }
}

/// How a hatchling is looked at.
fn view(drawing: &mut Drawing, params: &Params, selective: bool) -> Observation {
    if params.features.unread && !selective && drawing.dice.coin(0.1) {
        return Observation::default();
    }
    let mut view = view_of(drawing, params.features.either && !selective);
    if params.features.unread && !selective {
        for gene in drawing.colony.gene_ids() {
            if drawing.dice.coin(0.07) {
                view.unread.push(gene);
            }
        }
    }
    view
}

fn view_of(drawing: &mut Drawing, may_doubt: bool) -> Observation {
    let call = if may_doubt && drawing.dice.coin(0.25) {
        Call::Either(alternatives(&drawing.colony, &mut drawing.dice))
    } else {
        Call::Looks(Vec::new())
    };
    Observation { call, ..Observation::default() }
}

/// Which egg counts are written down; what they say is drawn.
fn eggs(drawing: &mut Drawing, params: &Params, clutch: &mut Clutch) {
    if !params.features.eggs {
        return;
    }
    let dice = &mut drawing.dice;
    let lost = dice.below(3) as u32;
    let slugs = dice.below(3) as u32;
    let selective = !clutch.recorded_only.is_empty() || !clutch.kept_if.is_empty();
    if selective || dice.coin(0.4) {
        clutch.complete = !clutch.kept_if.is_empty() || dice.coin(0.8);
        return;
    }
    if dice.coin(0.6) {
        clutch.eggs = Some(clutch.recorded() + lost + slugs);
        clutch.slugs = dice.coin(0.7).then_some(slugs);
    }
    clutch.died = dice.coin(0.6).then_some(lost);
}
