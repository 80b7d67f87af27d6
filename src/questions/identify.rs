//! Which hatchling is what?

use super::identities::{ListUntil, identities, visible};
use super::model::Case;
use super::{Asked, ClutchFit, Divided, Identity, Method, Model, Unanswerable, Visible};
use crate::genetics::{Locus, transmission, unseen_genes};
use crate::network::Grouping;
use crate::records::{
    Alternative, Animal, AnimalId, Assumptions, Call, Colony, GeneId, Genotype, Look, Origin,
};

/// A test cross is suggested when this many young are enough.
const AT_MOST_YOUNG: u32 = 40;
/// What is less likely than this need not be told from anything.
const WORTH_TELLING: f64 = 0.02;
/// Chance of being misled by a suggested test cross.
const MISLED: f64 = 0.05;

/// What one hatchling is.
#[derive(Clone, Debug, PartialEq)]
pub struct HatchlingAnswer {
    /// The hatchling.
    pub animal: AnimalId,
    /// Its uncertain genes that share evidence: their chances do not multiply.
    pub shared: Vec<GeneId>,
    /// Its identities, most probable first.
    pub identities: Vec<Identity>,
    /// The same, told apart only by genes of which something was seen.
    pub visible: Vec<Visible>,
    /// The chance of all identities that are not listed.
    pub rest: f64,
    /// Whether the keeper named several identities.
    pub uncertain_call: bool,
    /// What would tell two identities apart, gene by gene: those the keeper named where it is two
    /// and both are listed, at the genes that these differ at; else the first two. Empty where one
    /// of the two hardly has a chance.
    pub tell_apart: Vec<TellApart>,
}

/// A gene at which two identities differ, and a cross that would tell.
#[derive(Clone, Debug, PartialEq)]
pub struct TellApart {
    /// The gene.
    pub gene: GeneId,
    /// The classes of the one and the other identity.
    pub classes: [usize; 2],
    /// A test cross, where a short one exists.
    pub cross: Option<Cross>,
}

/// A cross in which young of one look settle the question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cross {
    /// The genotype of the mate.
    pub mate: Genotype,
    /// The look class that only one of the two identities can give.
    pub class: usize,
    /// Which identity gives it: 0 or 1.
    pub shows: usize,
    /// How many young without it leave at most a twentieth of that identity's chance.
    pub young: u32,
}

/// What each hatchling is.
#[derive(Clone, Debug, PartialEq)]
pub struct IdentifyAnswer {
    /// How it was computed.
    pub method: Method,
    /// Natural log of the probability of all records.
    pub log_evidence: f64,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// What was divided out of the keeper's overall beliefs.
    pub divided: Vec<Divided>,
    /// The clutch that fits the others so badly that a record may be wrong.
    pub surprise: Option<ClutchFit>,
    /// Every hatchling with an id, in file order.
    pub hatchlings: Vec<HatchlingAnswer>,
}

/// Answers which hatchling is what.
///
/// # Errors
///
/// [`Unanswerable`] when the records cannot all be true.
pub fn identify(colony: &Colony, asked: &Asked) -> Result<IdentifyAnswer, Unanswerable> {
    identities_of(colony, asked, true)
}

/// The same for an answer that is wanted at once: no clutch is looked for that fits badly.
///
/// # Errors
///
/// As [`identify`].
pub fn identify_at_once(colony: &Colony, asked: &Asked) -> Result<IdentifyAnswer, Unanswerable> {
    identities_of(colony, asked, false)
}

fn identities_of(
    colony: &Colony,
    asked: &Asked,
    warn: bool,
) -> Result<IdentifyAnswer, Unanswerable> {
    let mut answer = if super::modes::averaged::any(colony) {
        super::modes::averaged::identify(colony, asked)?
    } else if super::unknowns::any(colony) {
        over_unknowns(colony, asked)?
    } else {
        identify_warned(&Case::of(colony), asked, &ListUntil::SHOWN, warn)?
    };
    for hatchling in &mut answer.hatchlings {
        let unseen = unseen_genes(colony, colony.animal(hatchling.animal));
        hatchling.visible = visible(&hatchling.identities, &unseen);
    }
    Ok(answer)
}

/// A list that is to be averaged with others.
pub(super) fn nearly_all() -> ListUntil {
    ListUntil::NEARLY_ALL
}

/// Averages the answer over unknown penetrance and crossover.
fn over_unknowns(colony: &Colony, asked: &Asked) -> Result<IdentifyAnswer, Unanswerable> {
    let ask = |colony: &Colony| {
        let answer = identify_of(&Case::of(colony), asked, &ListUntil::NEARLY_ALL)?;
        let log = answer.log_evidence;
        Ok((answer, log))
    };
    let mixture = super::unknowns::integrate(colony, &ask)?;
    let likeliest = mixture.shares.iter().max_by(|a, b| a.weight.total_cmp(&b.weight));
    let Some(likeliest) = likeliest else { return Err(Unanswerable::Impossible(Vec::new())) };
    let mut answer = likeliest.answer.clone();
    answer.log_evidence = mixture.log_evidence;
    for (at, hatchling) in answer.hatchlings.iter_mut().enumerate() {
        let lists = mixture.shares.iter().map(|share| (share.weight, &share.answer.hatchlings[at]));
        let lists = lists.map(|(weight, one)| (weight, one.identities.as_slice()));
        (hatchling.identities, hatchling.rest) = super::identities::average(lists);
    }
    answer.warnings.push(format!("averaged over {}", mixture.names.join(" and ")));
    Ok(answer)
}

/// The same for a colony whose genes are passed on as the case says.
pub(super) fn identify_of(
    case: &Case<'_>,
    asked: &Asked,
    until: &ListUntil,
) -> Result<IdentifyAnswer, Unanswerable> {
    identify_warned(case, asked, until, true)
}

/// The same; `warn` says whether to look for a clutch that fits badly.
fn identify_warned(
    case: &Case<'_>,
    asked: &Asked,
    until: &ListUntil,
    warn: bool,
) -> Result<IdentifyAnswer, Unanswerable> {
    let resolved = super::belief::resolve_units(case.colony, case.units.as_deref(), asked.memory)?;
    let colony = resolved.colony.as_ref();
    let mut model =
        Model::solve_case(Case { colony, ..case.clone() }, Grouping::Apart, asked.memory)?;
    let wanted = |id: &AnimalId| {
        let animal = colony.animal(*id);
        let clutch = |clutch| asked.clutches.is_empty() || asked.clutches.contains(&clutch);
        let hatchling = match animal.origin {
            Origin::Clutch(of) => clutch(of),
            Origin::Founder => false,
        };
        hatchling && animal.id.is_some() && (asked.animals.is_empty() || asked.animals.contains(id))
    };
    let hatchlings = colony.animal_ids().filter(wanted).collect::<Vec<_>>();
    let hatchlings = hatchlings.into_iter().map(|id| hatchling(&mut model, id, until)).collect();
    Ok(IdentifyAnswer {
        method: Method::Exact,
        log_evidence: model.log_evidence().ln(),
        assumptions: colony.assumptions,
        warnings: Vec::new(),
        divided: resolved.divided.clone(),
        surprise: if warn { super::fit::surprise(&model) } else { None },
        hatchlings,
    })
}

fn hatchling(model: &mut Model<'_>, id: AnimalId, until: &ListUntil) -> HatchlingAnswer {
    let found = identities(model, id, until);
    let animal = model.colony.animal(id);
    let named = named(animal);
    let uncertain_call = named.is_some();
    let two = two_named(&found.list, named.unwrap_or_default());
    let asked = two.as_ref().map(|(_, genes)| genes.as_slice());
    let pair = two.as_ref().map(|(pair, _)| *pair).or(match found.list.as_slice() {
        [first, second, ..] => Some([first, second]),
        _ => None,
    });
    let tell_apart = match pair {
        Some([one, other]) if one.probability.min(other.probability) >= WORTH_TELLING => {
            let mut told = tell_apart(model, one, other);
            told.retain(|told| asked.is_none_or(|genes| genes.contains(&told.gene)));
            told
        }
        _ => Vec::new(),
    };
    HatchlingAnswer {
        animal: id,
        shared: found.shared,
        visible: Vec::new(),
        identities: found.list,
        rest: found.rest,
        uncertain_call,
        tell_apart,
    }
}

/// The identities that the keeper named, the later call first.
fn named(animal: &Animal) -> Option<&[Alternative]> {
    let later = animal.grown.as_ref().map(|grown| &grown.call);
    [later, Some(&animal.seen.call)].into_iter().flatten().find_map(|call| match call {
        Call::Either(named) => Some(named.as_slice()),
        _ => None,
    })
}

/// The likeliest identity of each of two that the keeper named, if both are listed, and the genes
/// at which those that were named differ.
fn two_named<'a>(
    list: &'a [Identity],
    named: &[Alternative],
) -> Option<([&'a Identity; 2], Vec<GeneId>)> {
    let [one, other] = named else { return None };
    let in_one_only = |look: &&Look| one.looks.contains(look) != other.looks.contains(look);
    let differ: Vec<GeneId> =
        one.looks.iter().chain(&other.looks).filter(in_one_only).map(|look| look.gene).collect();
    let of = |looks: &[Look]| {
        let same =
            |identity: &Identity, gene: GeneId| class(&identity.looks, gene) == class(looks, gene);
        list.iter().find(|identity| differ.iter().all(|gene| same(identity, *gene)))
    };
    Some(([of(&one.looks)?, of(&other.looks)?], differ))
}

fn tell_apart(model: &Model<'_>, first: &Identity, second: &Identity) -> Vec<TellApart> {
    let [one, other] = [&first.looks, &second.looks];
    let differ = |gene: &GeneId| class(one, *gene) != class(other, *gene);
    let told = |gene: GeneId| TellApart {
        gene,
        classes: [class(one, gene), class(other, gene)],
        cross: cross(model.net.locus(gene), gene, [first, second]),
    };
    model.colony.gene_ids().filter(differ).map(told).collect()
}

fn class(looks: &[Look], gene: GeneId) -> usize {
    looks.iter().find(|look| look.gene == gene).map_or(0, |look| look.class)
}

/// The shortest cross with a normal or a two-copy mate that tells two identities apart.
fn cross(locus: &Locus, gene: GeneId, identities: [&Identity; 2]) -> Option<Cross> {
    if locus.one_copy_sex.is_some() {
        return None;
    }
    let young = transmission(locus.frequencies.len());
    let of = |identity: &Identity| -> Vec<f64> {
        let own = identity.genotype.iter().find(|(of, _)| *of == gene).map(|(_, own)| own);
        let chance = |g: &Genotype| {
            own.and_then(|own| own.iter().find(|(of, _)| of == g)).map_or(0.0, |(_, c)| *c)
        };
        locus.genotypes.iter().map(chance).collect()
    };
    let weights = identities.map(of);
    let mut best: Option<Cross> = None;
    for (mate, genotype) in locus.genotypes.iter().enumerate() {
        if locus.lethal[mate] || !matches!(genotype, Genotype::Two(a, b) if a == b) {
            continue;
        }
        for class in 0..locus.classes {
            let shows = locus.class_chance(class);
            let chance = |own: usize| -> f64 {
                (0..shows.len()).map(|child| young[[child, own, mate]] * shows[child]).sum()
            };
            for which in 0..2 {
                let never = (0..shows.len())
                    .all(|own| weights[1 - which][own] < 1e-6 || chance(own) == 0.0);
                let missed = |n: u32| -> f64 {
                    let power = i32::try_from(n).unwrap_or(i32::MAX);
                    let of = |own: usize| weights[which][own] * (1.0 - chance(own)).powi(power);
                    (0..shows.len()).map(of).sum()
                };
                let enough = (1..=AT_MOST_YOUNG).find(|n| never && missed(*n) <= MISLED);
                if let Some(young) = enough.filter(|n| best.is_none_or(|best| *n < best.young)) {
                    best = Some(Cross { mate: *genotype, class, shows: which, young });
                }
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Format, read};

    #[test]
    fn the_two_that_the_keeper_named_are_told_apart() {
        let text = "[gene.ash]\ninheritance = \"recessive\"\n\
                    [gene.dusk]\ninheritance = \"dominant\"\nfrom_age = \"adult\"\n\
                    [[animal]]\nid = \"Dam\"\nlooks = [\"dusk\"]\nsold_as = [\"het ash\"]\n\
                    [[animal]]\nid = \"Sire\"\nlooks = []\nsold_as = [\"het ash\"]\n\
                    [[clutch]]\nid = \"K\"\ndam = \"Dam\"\nsire = \"Sire\"\n\
                    [[clutch.hatchling]]\nid = \"K-1\"\n\
                    either = [{ looks = [\"ash\"], fit = 0.5 }, { looks = [], fit = 0.5 }]\n";
        let colony = read(text.as_bytes(), Format::Toml).expect("sound").colony;
        let answer = identify(&colony, &Asked::default()).expect("possible");
        let hatchling = &answer.hatchlings[0];
        let ash = colony.find_gene("ash").expect("declared");
        // Whether it is dusk divides the likeliest two, and was not asked.
        assert_eq!(hatchling.identities[0].looks.iter().find(|look| look.gene == ash), None);
        assert_eq!(hatchling.identities[1].looks.iter().find(|look| look.gene == ash), None);
        let genes: Vec<GeneId> = hatchling.tell_apart.iter().map(|told| told.gene).collect();
        assert_eq!(genes, [ash]);
    }

    #[test]
    fn two_that_were_named_are_told_apart_only_where_they_were_named_to_differ() {
        // Fern is linked to ash, and either the one or the other: the likeliest ash is no fern,
        // the likeliest without ash is.
        let text = "[gene.ash]\ninheritance = \"dominant\"\n\
                    [gene.fern]\ninheritance = \"dominant\"\nfrom_age = \"adult\"\n\
                    [[linkage]]\ngenes = [\"ash\", \"fern\"]\ncrossover = 0.01\n\
                    [[animal]]\nid = \"Ash\"\nlooks = [\"ash\"]\n\
                    [[animal]]\nid = \"Fern\"\nlooks = [\"fern\"]\n\
                    [[animal]]\nid = \"Plain\"\nlooks = []\n\
                    [[clutch]]\nid = \"J\"\ndam = \"Ash\"\nsire = \"Fern\"\n\
                    [[clutch.hatchling]]\nid = \"Both\"\nsex = \"female\"\nlooks = [\"ash\"]\n\
                    grown = { looks = [\"ash\", \"fern\"] }\n\
                    [[clutch]]\nid = \"K\"\ndam = \"Both\"\nsire = \"Plain\"\n\
                    [[clutch.hatchling]]\nid = \"K-1\"\n\
                    either = [{ looks = [\"ash\"], fit = 0.5 }, { looks = [], fit = 0.5 }]\n";
        let colony = read(text.as_bytes(), Format::Toml).expect("sound").colony;
        let answer = identify(&colony, &Asked::default()).expect("possible");
        let hatchling = answer.hatchlings.last().expect("two hatchlings");
        let [ash, fern] = ["ash", "fern"].map(|name| colony.find_gene(name).expect("declared"));
        let looks = |gene| vec![Look { gene, class: 1 }];
        assert_eq!(hatchling.identities[0].looks, looks(fern));
        assert_eq!(hatchling.identities[1].looks, looks(ash));
        let genes: Vec<GeneId> = hatchling.tell_apart.iter().map(|told| told.gene).collect();
        assert_eq!(genes, [ash]);
    }

    #[test]
    fn identities_are_folded_at_genes_of_which_nothing_was_seen() {
        let young = |unread: &str| {
            format!(
                "[gene.ash]\ninheritance = \"recessive\"\n\
                 [gene.dusk]\ninheritance = \"dominant\"\nfrom_age = \"adult\"\n\
                 [gene.fern]\ninheritance = \"recessive\"\n\
                 [[animal]]\nid = \"Dam\"\nlooks = [\"dusk\"]\nsold_as = [\"het ash\", \"het fern\"]\n\
                 [[animal]]\nid = \"Sire\"\nlooks = []\nsold_as = [\"het ash\", \"het fern\"]\n\
                 [[clutch]]\nid = \"K\"\ndam = \"Dam\"\nsire = \"Sire\"\n\
                 [[clutch.hatchling]]\nid = \"K-1\"\n{unread}\
                 either = [{{ looks = [\"ash\"], fit = 0.5 }}, {{ looks = [], fit = 0.5 }}]\n"
            )
        };
        let one = |unread: &str| {
            let colony = read(young(unread).as_bytes(), Format::Toml).expect("sound").colony;
            let hatchling = identify(&colony, &Asked::default()).expect("possible").hatchlings;
            (colony, hatchling[0].clone())
        };
        // Two of ash, dusk, and of fern where nobody judged it.
        for (unread, listed) in [("", 4), ("unread = [\"fern\"]\n", 8)] {
            let (colony, hatchling) = one(unread);
            let likely = hatchling.identities.iter().filter(|one| one.probability > 0.01);
            assert_eq!(likely.count(), listed);
            let seen = hatchling.visible.iter().filter(|one| one.identity.probability > 0.01);
            let seen: Vec<&Visible> = seen.collect();
            let ash = Look { gene: colony.find_gene("ash").expect("declared"), class: 1 };
            let looks: Vec<&[Look]> = seen.iter().map(|one| &one.identity.looks[..]).collect();
            assert_eq!(looks, [&[][..], &[ash][..]]);
            // One quarter is ash by descent, each call fits as well.
            assert!((seen[1].identity.probability - 0.25).abs() < 0.01);
            let total = |list: &mut dyn Iterator<Item = f64>| list.sum::<f64>();
            let all = total(&mut hatchling.identities.iter().map(|one| one.probability));
            let folded = total(&mut hatchling.visible.iter().map(|one| one.identity.probability));
            assert!((all - folded).abs() < 1e-12);
            let fern = colony.find_gene("fern").expect("declared");
            for (look, chance) in &seen[0].unseen {
                let by_descent = if look.gene == fern { 0.25 } else { 0.5 };
                assert!((chance - by_descent).abs() < 0.01, "{look:?}: {chance}");
            }
            assert_eq!(seen[0].unseen.len(), if unread.is_empty() { 1 } else { 2 });
        }
    }
}
