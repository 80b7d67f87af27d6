//! Sound colonies, and one slip planted into each.

use proveout::records::{
    Animal, AnimalId, Assumptions, Call, Candidate, ClutchId, Colony, Count, Genotype, Look,
    Observation, Origin, Parent, Place, Says, Sex, Statement,
};
use proveout::sampler::{Dice, Features, Params, Truth, sample_colony};

use super::undo::{Record, log_evidence, same_season, unrelated};

/// What is planted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plant {
    /// Another look of the gene, or normal.
    Call,
    /// What a seller said is not so.
    Statement,
    /// Another male of the colony is recorded as the sire.
    Sire,
    /// Another female of the colony is recorded as the dam.
    Dam,
    /// A hatchling changed places with one from another clutch of that season.
    Swapped,
    /// A hatchling is an animal from unrelated stock.
    Unrelated,
}

impl Plant {
    pub const ALL: [Plant; 6] =
        [Plant::Call, Plant::Statement, Plant::Sire, Plant::Dam, Plant::Swapped, Plant::Unrelated];
}

/// A colony with one slip.
pub struct Planted {
    pub colony: Colony,
    /// The records that are wrong: one, or both of two hatchlings that changed places.
    pub wrong: Vec<Record>,
    /// Log evidence with the truth put back, where the same animals and calls stay recorded.
    pub put_back: Option<f64>,
}

/// What the sampler is asked for: 10 to 30 animals, 2 to 4 genes of every autosomal kind.
pub fn small(seed: u64) -> Params {
    Params {
        founders: 5,
        seasons: 2 + usize::from(seed % 2 == 1),
        clutches: 2,
        young: (2, 6),
        genes: 2 + (seed / 2 % 3) as usize,
        assumptions: Assumptions::default(),
        features: Features { visible: true, series: true, statements: true, ..Features::none() },
        ..Params::default()
    }
}

/// A colony in which every record is true, as its keeper would judge it: default assumptions.
pub fn sound(seed: u64, mix_up: f64) -> (Colony, Truth) {
    let mut params = small(seed);
    params.assumptions.misread = 0.0;
    params.assumptions.mix_up = mix_up;
    let (mut colony, truth) = sample_colony(&params, seed).unwrap();
    colony.assumptions = Assumptions::default();
    colony.animals.iter_mut().for_each(|animal| animal.trust = None);
    number_places(&mut colony);
    (colony, truth)
}

/// Gives every record a line of its own.
fn number_places(colony: &mut Colony) {
    let mut line = 0;
    let mut next = || {
        line += 1;
        Place { start: line, end: line, line, column: 1 }
    };
    for animal in &mut colony.animals {
        animal.place = next();
        animal.statements.iter_mut().for_each(|told| told.place = next());
    }
    for clutch in &mut colony.clutches {
        clutch.place = next();
        clutch.counts.iter_mut().for_each(|count| count.place = next());
    }
}

/// Plants a slip into the colony of a seed; `None` where that colony has no room for it.
pub fn plant(what: Plant, seed: u64) -> Option<Planted> {
    let mix_up = if what == Plant::Unrelated { 0.06 } else { 0.0 };
    let (colony, truth) = sound(seed, mix_up);
    let mut dice = Dice::new(seed ^ 0x5119);
    let mut planted = match what {
        Plant::Call => call(colony, &mut dice),
        Plant::Statement => statement(colony, &truth, &mut dice),
        Plant::Sire => sire(colony, &mut dice),
        Plant::Dam => dam(colony, &mut dice),
        Plant::Swapped => swap(colony, &mut dice),
        Plant::Unrelated => strange(colony, &truth),
    }?;
    number_places(&mut planted.colony);
    Some(planted)
}

/// One call of one gene on any animal, counted young included.
fn call(mut colony: Colony, dice: &mut Dice) -> Option<Planted> {
    let animals = colony.animal_ids().map(Ok);
    let counts = colony.clutch_ids().flat_map(|clutch| {
        (0..colony.clutch(clutch).counts.len()).map(move |at| Err((clutch, at)))
    });
    let all: Vec<Result<AnimalId, (ClutchId, usize)>> = animals.chain(counts).collect();
    let chosen = *dice.pick(&all)?;
    let genes: Vec<_> = colony.gene_ids().collect();
    let gene = *dice.pick(&genes)?;
    let looks = colony.gene(gene).looks.len();
    let mut change = |seen: &mut Observation| {
        let Call::Looks(named) = &mut seen.call else { return };
        let before = named.iter().find(|look| look.gene == gene).map_or(0, |look| look.class);
        let others: Vec<usize> = (0..=looks).filter(|class| *class != before).collect();
        let class = others[dice.below(others.len())];
        named.retain(|look| look.gene != gene);
        if class > 0 {
            named.push(Look { gene, class });
            named.sort();
        }
    };
    let wrong = match chosen {
        Ok(animal) => {
            change(&mut colony.animals[animal.0].seen);
            Record::Call(animal, gene)
        }
        Err((clutch, at)) => {
            let counts = &mut colony.clutches[clutch.0].counts;
            let mut one: Count = counts[at].clone();
            let place = one.number.iter().position(|number| *number > 0)?;
            counts[at].number[place] -= 1;
            one.number = [0; 3];
            one.number[place] = 1;
            change(&mut one.seen);
            counts.push(one);
            if counts[at].total() == 0 {
                counts.remove(at);
            }
            Record::Count(clutch, counts.len() - 1, gene)
        }
    };
    Some(Planted { colony, wrong: vec![wrong], put_back: None })
}

/// A founder is said to carry what it does not, or not to carry what it does.
fn statement(mut colony: Colony, truth: &Truth, dice: &mut Dice) -> Option<Planted> {
    let mut ways = Vec::new();
    for id in colony.animal_ids().filter(|id| colony.animal(*id).origin == Origin::Founder) {
        for gene in colony.gene_ids() {
            let declared = colony.gene(gene);
            let Call::Looks(named) = &colony.animal(id).seen.call else { continue };
            if named.iter().any(|look| look.gene == gene) {
                continue;
            }
            let carried = truth.genotype(id, gene);
            for allele in 1..=declared.alleles.len() {
                let hidden = declared.class_of(Genotype::two(0, allele)) == 0;
                if carried.copies_of(allele) > 0 {
                    ways.push((id, gene, Says::NotHet { allele }));
                } else if hidden {
                    ways.push((id, gene, Says::Het { allele, chance: 1.0 }));
                }
            }
        }
    }
    let &(id, gene, says) = dice.pick(&ways)?;
    let statements = &mut colony.animals[id.0].statements;
    statements.retain(|told| told.gene != gene);
    statements.push(Statement { gene, says, text: "planted".into(), place: Place::default() });
    Some(Planted { colony, wrong: vec![Record::Statement(id, gene)], put_back: None })
}

/// Other animals of a sex that could have bred in the season of a clutch.
fn others(colony: &Colony, clutch: ClutchId, sex: Sex, not: AnimalId) -> Vec<AnimalId> {
    let year = colony.clutch(clutch).date().map(|date| date.year);
    let old_enough = |animal: &Animal| match animal.origin {
        Origin::Founder => true,
        Origin::Clutch(from) => colony.clutch(from).date().map(|date| date.year) < year,
    };
    let may = |id: &AnimalId| {
        let animal = colony.animal(*id);
        *id != not && animal.id.is_some() && animal.sex == Some(sex) && old_enough(animal)
    };
    colony.animal_ids().filter(may).collect()
}

fn any_clutch(colony: &Colony, dice: &mut Dice) -> ClutchId {
    ClutchId(dice.below(colony.clutches.len()))
}

fn sire(mut colony: Colony, dice: &mut Dice) -> Option<Planted> {
    let clutch = any_clutch(&colony, dice);
    let put_back = Some(log_evidence(&colony));
    let [(Candidate::Known(true_sire), _)] = colony.clutch(clutch).siring.candidates[..] else {
        return None;
    };
    let recorded = *dice.pick(&others(&colony, clutch, Sex::Male, true_sire))?;
    colony.clutches[clutch.0].siring.candidates = vec![(Candidate::Known(recorded), 1.0)];
    Some(Planted { colony, wrong: vec![Record::Sire(clutch)], put_back })
}

fn dam(mut colony: Colony, dice: &mut Dice) -> Option<Planted> {
    let clutch = any_clutch(&colony, dice);
    let put_back = Some(log_evidence(&colony));
    let Parent::Known(true_dam) = colony.clutch(clutch).dam else { return None };
    let recorded = *dice.pick(&others(&colony, clutch, Sex::Female, true_dam))?;
    colony.clutches[clutch.0].dam = Parent::Known(recorded);
    Some(Planted { colony, wrong: vec![Record::Dam(clutch)], put_back })
}

fn swap(mut colony: Colony, dice: &mut Dice) -> Option<Planted> {
    let put_back = Some(log_evidence(&colony));
    let one = any_clutch(&colony, dice);
    let other = *dice.pick(&same_season(&colony, one))?;
    let named = |clutch: ClutchId| -> Vec<usize> {
        let hatchlings = &colony.clutch(clutch).hatchlings;
        let with_id = |at: &usize| colony.animal(hatchlings[*at]).id.is_some();
        (0..hatchlings.len()).filter(with_id).collect()
    };
    let (mine, theirs) = (*dice.pick(&named(one))?, *dice.pick(&named(other))?);
    let animals = [colony.clutch(one).hatchlings[mine], colony.clutch(other).hatchlings[theirs]];
    colony.clutches[one.0].hatchlings[mine] = animals[1];
    colony.clutches[other.0].hatchlings[theirs] = animals[0];
    colony.animals[animals[1].0].origin = Origin::Clutch(one);
    colony.animals[animals[0].0].origin = Origin::Clutch(other);
    Some(Planted { colony, wrong: animals.map(Record::Identity).to_vec(), put_back })
}

/// The one hatchling that was drawn from unrelated stock.
fn strange(colony: Colony, truth: &Truth) -> Option<Planted> {
    let mut mixed_up = colony.animal_ids().filter(|id| truth.mixed_up[id.0]);
    let animal = mixed_up.next()?;
    if mixed_up.next().is_some() {
        return None;
    }
    let put_back = Some(log_evidence(&unrelated(&colony, animal)));
    Some(Planted { colony, wrong: vec![Record::Identity(animal)], put_back })
}
