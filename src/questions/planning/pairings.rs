//! Which test pairing next?

use super::allelic_pairings::{AllelicPairings, allelic_pairings};
use super::planner::{Carrier, Planner, Prepared};
use super::prospect::{Outcome, Prospect, Verdicts};
use super::young::Young;
use crate::questions::modes::mode_pairings::{ModePairing, mode_pairings};
use crate::questions::{AllelicAsked, Asked, Method, Unanswerable};
use crate::records::{AnimalId, Assumptions, Colony, GeneId, Inheritance};

/// Nobody asks about a chance outside of these.
const OPEN: std::ops::RangeInclusive<f64> = 0.01..=0.99;
/// A pairing that tells less than this says nothing.
const SAYS_NOTHING: f64 = 1e-4;

/// What is asked about pairings.
#[derive(Clone, Debug, PartialEq)]
pub struct PairingsAsked {
    /// Animals and genes to narrow to, and memory.
    pub asked: Asked,
    /// One question only: whether the animal carries the gene; then pairs of its relatives are
    /// looked at as well.
    pub carrier: Option<(AnimalId, GeneId)>,
    /// How this gene is inherited, and nothing else.
    pub mode: Option<GeneId>,
    /// Whether these two genes are one locus, linked or free, and nothing else.
    pub allelic: Option<AllelicAsked>,
    /// Hatched young of a clutch, instead of what the records say.
    pub young: Option<f64>,
    /// The level at which a question counts as settled.
    pub level: f64,
}

/// One pairing, and what it would say about one question.
#[derive(Clone, Debug, PartialEq)]
pub struct Pairing {
    /// The dam.
    pub dam: AnimalId,
    /// The sire.
    pub sire: AnimalId,
    /// The question: whether an animal, one of the two or a relative, carries an allele.
    pub question: Carrier,
    /// The chance of yes today.
    pub today: f64,
    /// What one clutch tells, in bits.
    pub bits: f64,
    /// The same for each egg laid.
    pub bits_per_egg: f64,
    /// What all clutches of a season tell.
    pub bits_per_season: f64,
    /// Inbreeding of the young; `None` where there are too many ancestors to work it out.
    pub inbreeding: Option<f64>,
    /// The chance that a fertile egg has a genotype that never hatches.
    pub lethal: f64,
    /// The chance of yes that ever more normal young would leave.
    pub floor: f64,
    /// What the outcomes come to at the level.
    pub verdicts: Verdicts,
    /// What a clutch of the usual size may show; counts follow the looks of the gene.
    pub outcomes: Vec<Outcome>,
}

/// Pairings, the most telling first.
#[derive(Clone, Debug, PartialEq)]
pub struct PairingsAnswer {
    /// How it was computed.
    pub method: Method,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// Hatched young of a clutch.
    pub young: Young,
    /// Animals that can be bred: females and males.
    pub breeders: [usize; 2],
    /// The level at which a question counts as settled.
    pub level: f64,
    /// The pairings.
    pub pairings: Vec<Pairing>,
    /// What pairings would tell of how a suspected gene is inherited, when that was asked.
    pub modes: Option<ModePairings>,
    /// What pairings would tell of whether two genes are one locus, when that was asked.
    pub allelic: Option<AllelicPairings>,
}

/// Pairings that tell how a suspected gene is inherited.
#[derive(Clone, Debug, PartialEq)]
pub struct ModePairings {
    /// The gene.
    pub gene: GeneId,
    /// The pairings, the most telling first, each with its bits for each egg laid and the
    /// inbreeding of its young.
    pub pairings: Vec<(ModePairing, f64, Option<f64>)>,
}

/// Answers which pairings of kept animals would tell most about who carries what.
///
/// # Source
///
/// Planning: information of a pairing about a question Q is H(Q) − E[H(Q | outcome)], outcome =
/// counts of looks among n young, exact, both parents' hidden genotypes integrated jointly.
///
/// # Errors
///
/// [`Unanswerable`]; `Question` when nothing says how many young a clutch has.
pub fn pairings(colony: &Colony, asked: &PairingsAsked) -> Result<PairingsAnswer, Unanswerable> {
    let young = Young::of(colony, asked.young)?;
    let prepared = Prepared::new(colony, &asked.asked)?;
    let mut planner = prepared.planner(&asked.asked)?;
    let mut warnings = prepared.warnings.clone();
    let breeders = [planner.breeders[0].len(), planner.breeders[1].len()];
    if breeders.contains(&0) {
        warnings.push(
            "there is no pair to breed: it takes a female and a male with `status = \"kept\"`, a \
             known sex, and of age"
                .into(),
        );
    }
    let mut modes = None;
    if let Some(gene) = asked.mode {
        let pairs = all_pairs(&planner);
        let sizes = [young.usual(), young.season()];
        let found = mode_pairings(colony, gene, &pairs, sizes, asked.asked.memory)?;
        let eggs = young.mean / planner.hatch_rate();
        let with = |one: ModePairing| {
            let kin = planner.inbreeding(one.dam, one.sire);
            let an_egg = one.bits / eggs;
            (one, an_egg, kin)
        };
        modes = Some(ModePairings { gene, pairings: found.into_iter().map(with).collect() });
    }
    let allelic = match &asked.allelic {
        Some(about) => Some(allelic_pairings(colony, &prepared, &asked.asked, about, &young)?),
        None => None,
    };
    let other = modes.is_some() || allelic.is_some();
    let questions = if other { Vec::new() } else { questions(&planner, colony, asked) };
    let mut found = Vec::new();
    for question in questions {
        for (dam, sire) in pairs_of(&planner, question.animal) {
            let prospect = planner.prospect(question, dam, sire);
            let pair = [dam, sire];
            found.extend(pairing(&mut planner, &young, question, pair, prospect, asked.level));
        }
        if asked.carrier.is_some() {
            for (dam, sire) in planner.pairs_beside(question) {
                let prospect = planner.prospect_beside(question, dam, sire);
                let pair = [dam, sire];
                found.extend(pairing(&mut planner, &young, question, pair, prospect, asked.level));
            }
        }
    }
    found.sort_by(|a: &Pairing, b| {
        b.bits.total_cmp(&a.bits).then(a.question.cmp(&b.question)).then_with(|| {
            let relatives = |one: &Pairing| one.inbreeding.unwrap_or(0.0);
            relatives(a).total_cmp(&relatives(b)).then((a.dam, a.sire).cmp(&(b.dam, b.sire)))
        })
    });
    let (method, assumptions, level) = (Method::Exact, colony.assumptions, asked.level);
    Ok(PairingsAnswer {
        method,
        assumptions,
        warnings,
        young,
        breeders,
        level,
        pairings: found,
        modes,
        allelic,
    })
}

/// The open questions about animals that can be bred.
fn questions(planner: &Planner<'_>, colony: &Colony, asked: &PairingsAsked) -> Vec<Carrier> {
    let mut questions = Vec::new();
    for animal in planner.breeders.iter().flatten().copied() {
        for gene in colony.gene_ids() {
            let declared = colony.gene(gene);
            let wanted = match asked.carrier {
                Some(one) => one == (animal, gene),
                None => asked.asked.wants(colony, animal) && asked.asked.wants_gene(gene),
            };
            if !wanted || declared.inheritance == Inheritance::Unknown {
                continue;
            }
            for allele in 1..=declared.alleles.len() {
                let question = Carrier { animal, gene, allele };
                if OPEN.contains(&planner.today(question)) {
                    questions.push(question);
                }
            }
        }
    }
    questions
}

fn all_pairs(planner: &Planner<'_>) -> Vec<(AnimalId, AnimalId)> {
    let [females, males] = &planner.breeders;
    females.iter().flat_map(|dam| males.iter().map(move |sire| (*dam, *sire))).collect()
}

/// The pairs an animal can be bred in, as dam and sire.
fn pairs_of(planner: &Planner<'_>, animal: AnimalId) -> Vec<(AnimalId, AnimalId)> {
    let [females, males] = &planner.breeders;
    if females.contains(&animal) {
        males.iter().map(|male| (animal, *male)).collect()
    } else {
        females.iter().map(|female| (*female, animal)).collect()
    }
}

fn pairing(
    planner: &mut Planner<'_>,
    young: &Young,
    question: Carrier,
    [dam, sire]: [AnimalId; 2],
    prospect: Prospect,
    level: f64,
) -> Option<Pairing> {
    let bits = young.mean_of(|number| prospect.bits(number));
    if bits < SAYS_NOTHING {
        return None;
    }
    let season = young.season();
    let bits_per_season =
        if season == young.usual() { bits } else { prospect.bits(season).max(bits) };
    let eggs = young.mean / planner.hatch_rate();
    let outcomes = told(&prospect, young.usual());
    Some(Pairing {
        dam,
        sire,
        question,
        today: prospect.today(),
        bits,
        bits_per_egg: if eggs > 0.0 { bits / eggs } else { 0.0 },
        bits_per_season,
        inbreeding: planner.inbreeding(dam, sire),
        lethal: planner.lethal(dam, sire),
        floor: prospect.floor(),
        verdicts: Verdicts::of(&outcomes, level),
        outcomes,
    })
}

/// The outcomes of a clutch, likeliest first.
fn told(prospect: &Prospect, young: u32) -> Vec<Outcome> {
    let mut outcomes = prospect.outcomes(young);
    outcomes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    outcomes
}
