//! Founders of a random colony: what was seen and said of them.

use super::super::call::{Read, Viewing, read};
use super::super::draw::Drawing;
use super::super::gamete::other;
use super::super::invent::FIRST_YEAR;
use super::super::{DrawError, Params};
use super::{alternatives, reading};
use crate::records::{
    Alternative, Animal, AnimalId, Call, Date, Gene, GeneId, Look, Observation, Origin, Place,
    Says, Sex, Statement, Status,
};

/// Adds the founders and draws them.
pub(super) fn add(drawing: &mut Drawing, params: &Params) -> Result<(), DrawError> {
    for number in 0..params.founders.max(2) {
        let id = AnimalId(drawing.colony.animals.len());
        let mut founder = blank(format!("f{}", number + 1), Origin::Founder);
        founder.status = Status::Kept;
        founder.sex = Some(if number % 2 == 0 { Sex::Female } else { Sex::Male });
        if number > 3 && drawing.dice.coin(0.2) {
            founder.sex = None;
        }
        let year = FIRST_YEAR - 2 - drawing.dice.below(3) as i32;
        founder.hatched =
            drawing.dice.coin(0.6).then_some(Date { year, month: Some(5), day: None });
        founder.seen_grown = !(params.features.ages && drawing.dice.coin(0.1));
        founder.seen = seen(drawing, params, &founder);
        if params.features.statements {
            told(drawing, &mut founder);
        }
        drawing.colony.animals.push(founder);
        if params.features.readings && drawing.dice.coin(0.2) {
            let reading = reading(drawing, id);
            drawing.colony.animals[id.0].readings.push(reading);
        }
        drawing.grow();
        drawing.found(id)?;
    }
    Ok(())
}

/// An animal of which nothing is recorded yet.
pub(super) fn blank(id: String, origin: Origin) -> Animal {
    Animal {
        id: Some(id),
        place: Place::default(),
        origin,
        sex: None,
        hatched: None,
        seen: Observation::default(),
        seen_grown: false,
        grown: None,
        believed: false,
        statements: Vec::new(),
        trust: None,
        readings: Vec::new(),
        status: Status::Elsewhere,
        note: None,
    }
}

/// What was seen on a founder: given, not drawn from its genotype.
fn seen(drawing: &mut Drawing, params: &Params, founder: &Animal) -> Observation {
    let mut seen = Observation::default();
    if params.features.unread && drawing.dice.coin(0.2) {
        return seen;
    }
    let mut looks = Vec::new();
    for gene in drawing.colony.gene_ids() {
        let viewing = Viewing { grown: founder.seen_grown, date: founder.hatched, unread: &[] };
        let visible = matches!(read(&drawing.colony, viewing, &looks, gene), Read::Normal(hidden) if hidden.is_empty());
        let classes = reachable(drawing, gene, founder.sex);
        if visible && drawing.dice.coin(0.3) {
            looks.extend(drawing.dice.pick(&classes).map(|&class| Look { gene, class }));
        } else if params.features.unread && drawing.dice.coin(0.1) {
            seen.unread.push(gene);
        }
    }
    seen.call = Call::Looks(looks.clone());
    if params.features.either && drawing.dice.coin(0.15) {
        let doubt = alternatives(&drawing.colony, &mut drawing.dice);
        seen.call = doubted(drawing, founder, &looks, &seen.unread, &doubt);
    }
    seen
}

/// A founder's uncertain call: sure looks, and those of a doubt where they can be seen.
fn doubted(
    drawing: &Drawing,
    founder: &Animal,
    sure: &[Look],
    unread: &[GeneId],
    doubt: &[Alternative],
) -> Call {
    let about = |look: &Look| doubt.iter().any(|one| one.looks.iter().any(|l| l.gene == look.gene));
    let sure: Vec<_> = sure.iter().filter(|look| !about(look)).copied().collect();
    let possible = doubt.iter().all(|one| {
        one.looks.iter().all(|look| {
            let viewing = Viewing { grown: founder.seen_grown, date: founder.hatched, unread };
            let classes = reachable(drawing, look.gene, founder.sex);
            let read = read(&drawing.colony, viewing, &sure, look.gene);
            classes.contains(&look.class) && read == Read::Normal(Vec::new())
        })
    });
    if !possible || !drawing.colony.masks.is_empty() {
        return Call::Looks(sure);
    }
    let each = doubt.iter().map(|one| {
        let mut looks = [&sure[..], &one.looks].concat();
        looks.sort();
        Alternative { looks, fit: one.fit }
    });
    Call::Either(each.collect())
}

/// The classes that a living animal of this sex, or of either, can show.
fn reachable(drawing: &Drawing, gene: GeneId, sex: Option<Sex>) -> Vec<usize> {
    let declared = drawing.colony.gene(gene);
    let shown_by = |sex: Sex| -> Vec<usize> {
        let possible = drawing.laws.genotypes(declared, Some(sex));
        let alive = possible.into_iter().filter(|genotype| !declared.lethal.contains(genotype));
        alive.map(|genotype| declared.class_of(genotype)).collect()
    };
    let first = sex.unwrap_or(Sex::Female);
    let [mine, also] = [shown_by(first), shown_by(sex.unwrap_or(other(first)))];
    (1..=declared.looks.len()).filter(|c| mine.contains(c) && also.contains(c)).collect()
}

/// What was said of a founder, so that it can be true beside what was seen.
fn told(drawing: &mut Drawing, founder: &mut Animal) {
    for gene in drawing.colony.gene_ids() {
        let single = drawing.laws.x_or_z_only(drawing.colony.gene(gene));
        if single || !drawing.dice.coin(0.3) {
            continue;
        }
        if let Some(says) = saying(drawing, founder, gene) {
            let text = text(drawing.colony.gene(gene), says);
            founder.statements.push(Statement { gene, says, text, place: Place::default() });
        }
    }
    if !founder.statements.is_empty() && drawing.dice.coin(0.3) {
        founder.trust = Some(0.75);
    }
}

fn saying(drawing: &mut Drawing, founder: &Animal, gene: GeneId) -> Option<Says> {
    let classes = reachable(drawing, gene, founder.sex);
    let viewing =
        Viewing { grown: founder.seen_grown, date: founder.hatched, unread: &founder.seen.unread };
    let reads = match &founder.seen.call {
        Call::NotRecorded => Read::Unread,
        Call::Looks(looks) => read(&drawing.colony, viewing, looks, gene),
        Call::Either(_) => return None,
    };
    let dice = &mut drawing.dice;
    if let Read::Named(class) = reads {
        return Some(Says::Look(class));
    }
    let unread = reads == Read::Unread;
    if unread && dice.coin(0.2) {
        return dice.pick(&classes).map(|&class| Says::Look(class));
    }
    let declared = drawing.colony.gene(gene);
    let allele = 1 + dice.below(declared.alleles.len());
    let het = crate::records::Genotype::two(0, allele);
    let hidden = declared.class_of(het) == 0;
    if dice.coin(0.2) {
        return Some(Says::NotHet { allele });
    }
    let chance = dice.pick(&[1.0, 2.0 / 3.0, 0.5, 1.0 / 3.0]).copied().unwrap_or(1.0);
    ((hidden || unread) && !declared.lethal.contains(&het)).then_some(Says::Het { allele, chance })
}

fn text(gene: &Gene, says: Says) -> String {
    match says {
        Says::Look(class) => gene.look_name(class).to_string(),
        Says::NotHet { allele } => format!("not het {}", gene.allele_name(allele)),
        Says::Het { allele, chance } => {
            let name = gene.allele_name(allele);
            let percentage = (chance * 100.0).floor();
            if chance >= 1.0 { format!("het {name}") } else { format!("{percentage}% het {name}") }
        }
    }
}
