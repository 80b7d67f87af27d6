//! Which record is wrong?

use super::slips::{
    Apart, is_slip, log_evidence, nothing_of, one_uncounted, other_dam, other_sire, same_season,
    swapped,
};
use super::{Asked, ClutchFit, Method, Unanswerable};
use crate::network::ItemKind;
use crate::numbers::{exp, ln, log_sum_exp};
use crate::records::{AnimalId, Assumptions, Call, ClutchId, Colony, GeneId, Place, RecordError};

/// Slips nearer in gain than this are tied.
const TIED: f64 = 1e-9;
/// A hatchling whose swap could not even then reach these odds is not swapped with every clutch.
const NOT_SUSPECT: f64 = 0.02;

/// What may have gone wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SlipKind {
    /// A look was called wrongly: the gene is unread.
    Call,
    /// A seller's statement is wrong: the animal is drawn from unrelated stock.
    Statement,
    /// Another male sired the clutch.
    Sire,
    /// Another female laid it.
    Dam,
    /// The hatchling is another animal: unrelated, or from another clutch of that season.
    Identity,
}

/// One record that may be the slip.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// What may have gone wrong.
    pub kind: SlipKind,
    /// The animal; `None` for a count, a sire or a dam.
    pub animal: Option<AnimalId>,
    /// The clutch; `None` for a founder.
    pub clutch: Option<ClutchId>,
    /// The gene; `None` for several.
    pub gene: Option<GeneId>,
    /// Where the record stands.
    pub place: Place,
    /// The chance that it is wrong, judged alone.
    pub probability: f64,
    /// Natural log of how much more probable all records are if it is; infinite when they are
    /// impossible otherwise.
    pub gain: f64,
    /// Its place in the list, from 1; tied slips share it.
    pub rank: usize,
    /// Which way the identity is most probably wrong: from this clutch, or unrelated.
    pub from: Option<ClutchId>,
    /// The other slip, where it takes two to make the records possible.
    pub with: Option<Box<Slip>>,
}

/// Which record is wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct ConflictsAnswer {
    /// How it was computed.
    pub method: Method,
    /// Natural log of the probability of all records; minus infinity when they are impossible.
    pub log_evidence: f64,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// The chance that any one record is a slip, before the records are looked at.
    pub slip_prior: f64,
    /// Suspect records, most suspect first; only those whose undoing makes the rest more probable.
    pub slips: Vec<Slip>,
    /// Records that cannot all be true; empty when the records are possible.
    pub irreducible: Vec<RecordError>,
    /// How surprising each clutch is; empty when it would take too long.
    pub fit: Vec<ClutchFit>,
}

/// Answers which record is wrong.
///
/// # Source
///
/// Slips are judged one at a time: odds = s/(1−s) × P(all | slip)/P(all). A call slip: unread; a
/// statement: unrelated stock; sire or dam: unrelated stock for the whole clutch, all genes;
/// identity: the animal is unrelated, or from another clutch of that season, half each. Pairs only
/// when no single slip gives more than zero.
///
/// # Errors
///
/// [`Unanswerable::TooLarge`]; impossible records are an answer here.
pub fn conflicts(
    colony: &Colony,
    asked: &Asked,
    slip_prior: f64,
) -> Result<ConflictsAnswer, Unanswerable> {
    let resolved = match super::belief::resolve(colony, asked.memory) {
        Ok(resolved) => resolved.colony,
        Err(Unanswerable::Impossible(_)) => std::borrow::Cow::Borrowed(colony),
        Err(other) => return Err(other),
    };
    let mut search = Search::new(&resolved, asked, slip_prior)?;
    search.records()?;
    search.counts()?;
    search.parents()?;
    search.identities()?;
    let impossible = search.base == f64::NEG_INFINITY;
    if impossible && search.found.is_empty() {
        search.pairs()?;
    }
    let irreducible = match impossible {
        true => super::impossible::irreducible(&resolved, asked.memory)?,
        false => Vec::new(),
    };
    let fit = super::fit::of_colony(&resolved, asked.memory);
    Ok(ConflictsAnswer {
        method: Method::Exact,
        log_evidence: search.base,
        assumptions: colony.assumptions,
        warnings: warnings(colony),
        slip_prior,
        slips: search.ranked(),
        irreducible,
        fit,
    })
}

/// What this question does not average over.
fn warnings(colony: &Colony) -> Vec<String> {
    let mut warnings: Vec<String> = super::genotypes::unknown_inheritance(colony)
        .map(|id| not_counted(&colony.gene(id).name))
        .collect();
    let unknown = super::unknowns::names(colony);
    if !unknown.is_empty() {
        warnings.push(format!(
            "{} is not averaged over here: a penetrance is taken as 1, a crossover as one half",
            unknown.join(" and ")
        ));
    }
    warnings
}

struct Search<'a> {
    colony: &'a Colony,
    asked: &'a Asked,
    prior: f64,
    apart: Apart,
    base: f64,
    /// Slips with the log evidence if they are.
    found: Vec<(Slip, f64)>,
}

impl<'a> Search<'a> {
    fn new(colony: &'a Colony, asked: &'a Asked, prior: f64) -> Result<Self, Unanswerable> {
        let apart = Apart::new(colony, asked.memory)?;
        let base = apart.all();
        Ok(Search { colony, asked, prior, apart, base, found: Vec::new() })
    }

    fn add(&mut self, slip: Slip, log: f64) {
        let wanted = slip.animal.is_none_or(|id| self.asked.wants(self.colony, id))
            && slip.gene.is_none_or(|gene| self.asked.wants_gene(gene));
        if wanted && log > self.base + TIED {
            self.found.push((slip, log));
        }
    }

    fn slip(&self, kind: SlipKind, place: Place) -> Slip {
        Slip {
            kind,
            animal: None,
            clutch: None,
            gene: None,
            place,
            probability: 0.0,
            gain: 0.0,
            rank: 0,
            from: None,
            with: None,
        }
    }

    fn slip_of_item(&self, item: usize) -> Slip {
        let item = &self.apart.net.items[item];
        let kind = match item.kind {
            ItemKind::Statement => SlipKind::Statement,
            _ => SlipKind::Call,
        };
        let mut slip = self.slip(kind, item.place);
        (slip.animal, slip.clutch, slip.gene) = (item.animal, item.clutch, item.gene);
        slip
    }

    fn slips_of_items(&self) -> Vec<usize> {
        let items = &self.apart.net.items;
        (0..items.len()).filter(|at| is_slip(&items[*at])).collect()
    }

    fn records(&mut self) -> Result<(), Unanswerable> {
        for item in self.slips_of_items() {
            let log = self.apart.without(item);
            let slip = self.slip_of_item(item);
            self.add(slip, log);
        }
        Ok(())
    }

    fn counts(&mut self) -> Result<(), Unanswerable> {
        for clutch in self.colony.clutch_ids() {
            for (at, count) in self.colony.clutch(clutch).counts.iter().enumerate() {
                // An uncertain call is one record; otherwise each gene was called by itself.
                let genes: Vec<Option<GeneId>> = match &count.seen.call {
                    Call::NotRecorded => continue,
                    Call::Either(_) => vec![None],
                    Call::Looks(_) => {
                        let read = |gene: &GeneId| !count.seen.unread.contains(gene);
                        self.colony.gene_ids().filter(read).map(Some).collect()
                    }
                };
                for gene in genes {
                    let other = one_uncounted(self.colony, clutch, at, gene);
                    let mut slip = self.slip(SlipKind::Call, count.place);
                    (slip.clutch, slip.gene) = (Some(clutch), gene);
                    self.add(slip, log_evidence(&other, self.asked.memory)?);
                }
            }
        }
        Ok(())
    }

    fn parents(&mut self) -> Result<(), Unanswerable> {
        for clutch in self.colony.clutch_ids() {
            let ways = [
                (SlipKind::Sire, other_sire(self.colony, clutch)),
                (SlipKind::Dam, other_dam(self.colony, clutch)),
            ];
            for (kind, other) in ways {
                let Some(other) = other else { continue };
                let log = log_evidence(&other, self.asked.memory)?;
                let mut slip = self.slip(kind, self.colony.clutch(clutch).place);
                slip.clutch = Some(clutch);
                self.add(slip, log);
            }
        }
        Ok(())
    }

    fn identities(&mut self) -> Result<(), Unanswerable> {
        for clutch in self.colony.clutch_ids() {
            for animal in &self.colony.clutch(clutch).hatchlings {
                if self.colony.animal(*animal).id.is_some() {
                    self.identity(*animal, clutch)?;
                }
            }
        }
        Ok(())
    }

    fn identity(&mut self, animal: AnimalId, clutch: ClutchId) -> Result<(), Unanswerable> {
        let memory = self.asked.memory;
        let seasons = same_season(self.colony, animal);
        let breeds = super::because::clutches_of(self.colony, animal).next().is_some();
        if !breeds && seasons.len() > 3 {
            // METHOD: for a hatchling without young, nothing it could be makes the records more
            // probable than having no record of it.
            let Some(nothing) = nothing_of(self.colony, animal) else { return Ok(()) };
            let most = log_evidence(&nothing, memory)? - self.base;
            if most + ln(self.prior / (1.0 - self.prior)) < ln(NOT_SUSPECT) {
                return Ok(());
            }
        }
        let Some(unrelated) = swapped(self.colony, animal, None) else { return Ok(()) };
        let unrelated = log_evidence(&unrelated, memory)?;
        let mut best = (unrelated, None);
        let mut elsewhere = Vec::new();
        for other in &seasons {
            let Some(moved) = swapped(self.colony, animal, Some(*other)) else { continue };
            let log = log_evidence(&moved, memory)?;
            if log > best.0 {
                best = (log, Some(*other));
            }
            elsewhere.push(log);
        }
        let log = if elsewhere.is_empty() {
            unrelated
        } else {
            let mean = log_sum_exp(&elsewhere) - ln(elsewhere.len() as f64);
            log_sum_exp(&[unrelated, mean]) - ln(2.0)
        };
        let mut slip = self.slip(SlipKind::Identity, self.colony.animal(animal).place);
        (slip.animal, slip.clutch, slip.from) = (Some(animal), Some(clutch), best.1);
        self.add(slip, log);
        Ok(())
    }

    /// Two slips that together make impossible records possible.
    ///
    /// Every way out must undo a record of each irreducible set: one of the first set, and one of
    /// the set that is left without it.
    fn pairs(&mut self) -> Result<(), Unanswerable> {
        let first = self.in_irreducible(self.colony)?;
        for item in first {
            let Some(without) = without_item(self.colony, &self.apart, item) else { continue };
            let mut rest = Apart::new(&without, self.asked.memory)?;
            let left = super::impossible::irreducible(&without, self.asked.memory)?;
            let items: Vec<usize> = (0..rest.net.items.len())
                .filter(|at| is_slip(&rest.net.items[*at]))
                .filter(|at| left.iter().any(|e| e.place == rest.net.items[*at].place))
                .collect();
            for other in items {
                let log = rest.without(other);
                let of = &rest.net.items[other];
                let mut slip = self.slip_of_item(item);
                let mut second = self.slip(SlipKind::Call, of.place);
                if of.kind == ItemKind::Statement {
                    second.kind = SlipKind::Statement;
                }
                (second.animal, second.clutch, second.gene) = (of.animal, of.clutch, of.gene);
                slip.with = Some(Box::new(second));
                self.add(slip, log);
            }
        }
        Ok(())
    }

    fn in_irreducible(&self, colony: &Colony) -> Result<Vec<usize>, Unanswerable> {
        let set = super::impossible::irreducible(colony, self.asked.memory)?;
        let stands = |at: &usize| {
            let place = self.apart.net.items[*at].place;
            set.iter().any(|error| error.place == place)
        };
        Ok(self.slips_of_items().into_iter().filter(stands).collect())
    }

    /// The slips in order, with their chances and ranks.
    fn ranked(mut self) -> Vec<Slip> {
        self.found.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.place.start.cmp(&b.0.place.start)));
        let logs: Vec<f64> = self.found.iter().map(|(_, log)| *log).collect();
        let all = log_sum_exp(&logs);
        let mut slips: Vec<Slip> = Vec::with_capacity(self.found.len());
        for (at, (mut slip, log)) in self.found.into_iter().enumerate() {
            slip.gain = log - self.base;
            slip.probability = if self.base == f64::NEG_INFINITY {
                exp(log - all)
            } else {
                let odds = self.prior / (1.0 - self.prior) * exp(slip.gain);
                if odds.is_infinite() { 1.0 } else { odds / (1.0 + odds) }
            };
            let tied = at > 0 && (logs[at - 1] - log).abs() <= TIED * log.abs().max(1.0);
            slip.rank = if tied { slips[at - 1].rank } else { at + 1 };
            slips.push(slip);
        }
        slips
    }
}

/// The colony without one record of looks or one statement.
fn without_item(colony: &Colony, apart: &Apart, item: usize) -> Option<Colony> {
    let item = &apart.net.items[item];
    let id = item.animal?;
    let mut other = colony.clone();
    let animal = &mut other.animals[id.0];
    match (item.kind, item.gene) {
        (ItemKind::Statement, Some(gene)) => animal.statements.retain(|s| s.gene != gene),
        (ItemKind::Either, _) => animal.seen.call = Call::NotRecorded,
        (_, Some(gene)) => {
            for seen in [Some(&mut animal.seen), animal.grown.as_mut()].into_iter().flatten() {
                if let Call::Looks(looks) = &mut seen.call {
                    looks.retain(|look| look.gene != gene);
                }
                seen.unread.push(gene);
            }
        }
        _ => return None,
    }
    Some(other)
}

fn not_counted(gene: &str) -> String {
    format!(
        "{gene} is not counted here: how it is inherited is not known, and its looks say nothing \
         of other genes but for what they mask"
    )
}
