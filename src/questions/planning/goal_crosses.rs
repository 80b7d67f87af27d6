//! What any pair gives at the genes of a goal: the states of its young, and how they are called.

use std::cell::RefCell;
use std::rc::Rc;

use ndarray::{Array2, Array3};
use rustc_hash::FxHashMap;

use super::goal::Target;
use crate::genetics::GeneCall;
use crate::network::ColonyNetwork;
use crate::records::{AnimalId, Colony, GeneId, Hidden, Sex};

/// The sexes in the order of every pair of things here.
pub(super) const SEXES: [Sex; 2] = [Sex::Female, Sex::Male];
/// Chances below this are left out of a cross.
const NOTHING: f64 = 1e-13;

/// The genes of a goal, the units they lie in, and what each pair of parents gives.
///
/// A *whole state* of an animal of one sex is its state at every unit, counted with the first unit
/// slowest.
pub(super) struct Crosses {
    /// Positions of the units in the network.
    pub(super) units: Vec<usize>,
    /// One gene of each unit.
    pub(super) genes: Vec<GeneId>,
    sizes: [Vec<usize>; 2],
    /// `states[sex][unit]`: the states of the unit that an animal of the sex can be in.
    states: [Vec<Vec<usize>>; 2],
    young: [Vec<Array3<f64>>; 2],
    viable: Vec<Array2<f64>>,
    /// `goal[sex][whole state]`: the chance that the animal is of the goal.
    pub(super) goal: [Vec<f64>; 2],
    /// Every way a young may be called at the goal's genes; `None` where a mask hides the gene.
    pub(super) looks: Vec<Vec<Option<usize>>>,
    /// `called[sex][whole state]`: looks with their chances.
    pub(super) called: [Vec<Vec<(usize, f64)>>; 2],
    known: RefCell<FxHashMap<(usize, usize), Rc<Cross>>>,
}

/// The young of one pair.
pub(super) struct Cross {
    /// Of each sex: whole states with their chances; both sexes together sum to one.
    pub(super) young: [Vec<(usize, f64)>; 2],
    /// Of each sex: the looks with their chances.
    pub(super) looks: [Vec<(usize, f64)>; 2],
    /// The chance that a hatched young is of the goal.
    pub(super) goal: f64,
    /// The chance that a fertile egg has a genotype that can hatch.
    pub(super) viable: f64,
}

impl Cross {
    /// The chance that a young is of this sex and called so.
    pub(super) fn called(&self, sex: usize, look: usize) -> f64 {
        self.looks[sex].iter().find(|(of, _)| *of == look).map_or(0.0, |(_, chance)| *chance)
    }
}

impl Crosses {
    /// The units of the target's genes and those of `more`.
    pub(super) fn new(
        net: &ColonyNetwork,
        colony: &Colony,
        target: &Target,
        more: Option<GeneId>,
    ) -> Self {
        let wanted = target.genes();
        let mut units: Vec<usize> = wanted.iter().chain(&more).map(|g| net.unit(*g)).collect();
        units.sort_unstable();
        units.dedup();
        let of = |sex: Sex| -> Vec<Vec<usize>> {
            units.iter().map(|unit| net.units[*unit].states_of(Some(sex))).collect()
        };
        let states = SEXES.map(of);
        let brood = |unit: &usize| net.units[*unit].brood(None);
        let mut crosses = Crosses {
            genes: units.iter().map(|unit| net.units[*unit].loci[0].gene).collect(),
            sizes: [0, 1].map(|sex| states[sex].iter().map(Vec::len).collect()),
            young: SEXES.map(|sex| units.iter().map(|u| brood(u).hatched(Some(sex))).collect()),
            viable: units.iter().map(|unit| brood(unit).viability()).collect(),
            goal: [Vec::new(), Vec::new()],
            looks: Vec::new(),
            called: [Vec::new(), Vec::new()],
            known: RefCell::default(),
            units,
            states,
        };
        let reading = Reading::new(net, colony, &wanted);
        for sex in 0..2 {
            for whole in 0..crosses.number(sex) {
                let digits = crosses.digits(sex, whole);
                let genotype = |gene: GeneId| {
                    let unit = net.unit(gene);
                    let at = crosses.units.iter().position(|u| *u == unit).unwrap_or(0);
                    let locus = net.units[unit].locus_of(gene).unwrap_or(0);
                    net.units[unit].genotype[locus][crosses.states[sex][at][digits[at]]]
                };
                let goal = target.chance(net, &genotype);
                let called = reading.called(colony, &genotype);
                crosses.goal[sex].push(goal);
                let called = called.into_iter().map(|(l, p)| (crosses.intern(l), p)).collect();
                crosses.called[sex].push(called);
            }
        }
        crosses
    }

    /// How many whole states an animal of a sex can be in, without making them.
    pub(super) fn size(net: &ColonyNetwork, target: &Target) -> usize {
        let mut units: Vec<usize> = target.genes().iter().map(|gene| net.unit(*gene)).collect();
        units.sort_unstable();
        units.dedup();
        let of = |sex: Sex| {
            let sizes = units.iter().map(|unit| net.units[*unit].states_of(Some(sex)).len());
            sizes.fold(1usize, usize::saturating_mul)
        };
        of(Sex::Female).max(of(Sex::Male))
    }

    fn intern(&mut self, look: Vec<Option<usize>>) -> usize {
        if let Some(at) = self.looks.iter().position(|known| *known == look) {
            return at;
        }
        self.looks.push(look);
        self.looks.len() - 1
    }

    /// How many whole states an animal of the sex can be in.
    pub(super) fn number(&self, sex: usize) -> usize {
        self.sizes[sex].iter().product()
    }

    fn digits(&self, sex: usize, mut whole: usize) -> Vec<usize> {
        let mut digits = vec![0; self.units.len()];
        for (digit, size) in digits.iter_mut().zip(&self.sizes[sex]).rev() {
            *digit = whole % size;
            whole /= size;
        }
        digits
    }

    /// The whole state of these states at the units.
    pub(super) fn whole(&self, sex: usize, digits: &[usize]) -> usize {
        digits.iter().zip(&self.sizes[sex]).fold(0, |whole, (digit, size)| whole * size + digit)
    }

    /// Chances of the whole states of an animal from those at each unit.
    pub(super) fn product(&self, by_unit: &[Vec<f64>]) -> Vec<f64> {
        by_unit.iter().fold(vec![1.0], |whole, unit| {
            whole.iter().flat_map(|w| unit.iter().map(move |own| w * own)).collect()
        })
    }

    /// For each state of an animal's variable at a unit its place among those of the sex.
    pub(super) fn places(
        &self,
        net: &ColonyNetwork,
        animal: AnimalId,
        sex: usize,
        unit: usize,
    ) -> Vec<Option<usize>> {
        let gene = self.genes[unit];
        let states = net.states(animal, gene);
        let place = |state: usize| {
            let mut only = vec![0.0; states];
            only[state] = 1.0;
            let spread = net.as_parent(animal, gene, SEXES[sex], &only);
            spread.iter().position(|chance| *chance > 0.5)
        };
        (0..states).map(place).collect()
    }

    /// The young of a dam and a sire in these whole states.
    pub(super) fn cross(&self, dam: usize, sire: usize) -> Rc<Cross> {
        if let Some(known) = self.known.borrow().get(&(dam, sire)) {
            return Rc::clone(known);
        }
        let made = Rc::new(self.make(dam, sire));
        self.known.borrow_mut().insert((dam, sire), Rc::clone(&made));
        made
    }

    fn make(&self, dam: usize, sire: usize) -> Cross {
        let (d, s) = (self.digits(0, dam), self.digits(1, sire));
        let young = [0, 1].map(|sex| {
            let mut made = vec![(0usize, 0.5)];
            for (at, table) in self.young[sex].iter().enumerate() {
                let size = self.sizes[sex][at];
                let mut longer = Vec::new();
                for (whole, chance) in made {
                    for child in 0..size {
                        let chance = chance * table[[child, s[at], d[at]]];
                        if chance > NOTHING {
                            longer.push((whole * size + child, chance));
                        }
                    }
                }
                made = longer;
            }
            made
        });
        let goal = |sex: usize| -> f64 {
            young[sex].iter().map(|(state, chance)| chance * self.goal[sex][*state]).sum()
        };
        let looks = [0, 1].map(|sex| self.looks_of(sex, &young[sex]));
        let places = self.viable.iter().zip(d.iter().zip(&s));
        let viable = places.map(|(table, (d, s))| table[[*s, *d]]).product();
        Cross { goal: goal(0) + goal(1), young, looks, viable }
    }

    /// How young of these states are called.
    pub(super) fn looks_of(&self, sex: usize, young: &[(usize, f64)]) -> Vec<(usize, f64)> {
        let mut sums = vec![0.0; self.looks.len()];
        for (state, chance) in young {
            for (look, called) in &self.called[sex][*state] {
                sums[*look] += chance * called;
            }
        }
        sums.into_iter().enumerate().filter(|(_, sum)| *sum > 0.0).collect()
    }

    /// The chance that a fertile egg has a genotype at one unit that can hatch.
    pub(super) fn viable_at(&self, unit: usize, dam: usize, sire: usize) -> f64 {
        self.viable[unit][[self.digits(1, sire)[unit], self.digits(0, dam)[unit]]]
    }

    /// For each sex and whole state the chance that an animal shows a look of a gene.
    pub(super) fn shows(&self, net: &ColonyNetwork, gene: GeneId) -> [Vec<f64>; 2] {
        let unit = net.unit(gene);
        let at = self.units.iter().position(|own| *own == unit).unwrap_or(0);
        let locus = net.units[unit].locus_of(gene).unwrap_or(0);
        let shows = &net.locus(gene).shows;
        [0, 1].map(|sex| {
            let of = |whole: usize| {
                let state = self.states[sex][at][self.digits(sex, whole)[at]];
                1.0 - shows[net.units[unit].genotype[locus][state]][0]
            };
            (0..self.number(sex)).map(of).collect()
        })
    }

    /// The mean of that over the young of a pair.
    pub(super) fn shown(&self, shows: &[Vec<f64>; 2], dam: usize, sire: usize) -> f64 {
        let cross = self.cross(dam, sire);
        let of = |sex: usize| -> f64 {
            cross.young[sex].iter().map(|(state, chance)| chance * shows[sex][*state]).sum()
        };
        of(0) + of(1)
    }

    /// The states of the young of one sex that are called so, with chances that sum to one.
    pub(super) fn kept(
        &self,
        sex: usize,
        young: &[(usize, f64)],
        look: usize,
    ) -> Vec<(usize, f64)> {
        let of = |state: usize| {
            self.called[sex][state].iter().find(|(l, _)| *l == look).map_or(0.0, |(_, p)| *p)
        };
        let mut kept: Vec<(usize, f64)> =
            young.iter().map(|(state, p)| (*state, p * of(*state))).filter(|k| k.1 > 0.0).collect();
        let all: f64 = kept.iter().map(|(_, chance)| chance).sum();
        kept.iter_mut().for_each(|(_, chance)| *chance /= all);
        kept
    }
}

/// How an animal is called at the genes of the goal.
struct Reading {
    genes: Vec<GeneId>,
    /// `calls[gene][class][genotype]`.
    calls: Vec<Vec<Vec<f64>>>,
}

impl Reading {
    fn new(net: &ColonyNetwork, colony: &Colony, genes: &[GeneId]) -> Self {
        debug_assert!(genes.iter().all(|gene| gene.0 < colony.genes.len()));
        let calls = |gene: &GeneId| {
            let locus = net.locus(*gene);
            let call = |class| GeneCall::Class { class, hidden: Vec::new() }.likelihood(locus);
            (0..locus.names).map(call).collect()
        };
        Reading { genes: genes.to_vec(), calls: genes.iter().map(calls).collect() }
    }

    /// Every call with its chance, what masks hide left out.
    fn called(
        &self,
        colony: &Colony,
        genotype: &dyn Fn(GeneId) -> usize,
    ) -> Vec<(Vec<Option<usize>>, f64)> {
        let mut all: Vec<(Vec<usize>, f64)> = vec![(Vec::new(), 1.0)];
        for (gene, calls) in self.genes.iter().zip(&self.calls) {
            let at = genotype(*gene);
            let with = |(classes, chance): &(Vec<usize>, f64)| {
                let longer = |(class, call): (usize, &Vec<f64>)| {
                    ([&classes[..], &[class]].concat(), chance * call[at])
                };
                calls.iter().enumerate().map(longer).collect::<Vec<_>>()
            };
            all = all.iter().flat_map(with).filter(|(_, chance)| *chance > NOTHING).collect();
        }
        let mut seen: Vec<(Vec<Option<usize>>, f64)> = Vec::new();
        for (classes, chance) in all {
            let look = self.masked(colony, &classes);
            match seen.iter_mut().find(|(known, _)| *known == look) {
                Some((_, sum)) => *sum += chance,
                None => seen.push((look, chance)),
            }
        }
        seen
    }

    /// What is left to be seen where one look hides another.
    fn masked(&self, colony: &Colony, classes: &[usize]) -> Vec<Option<usize>> {
        let class = |gene: GeneId| self.genes.iter().position(|g| *g == gene).map(|at| classes[at]);
        let mut seen: Vec<Option<usize>> = classes.iter().copied().map(Some).collect();
        let acts = |mask: &&crate::records::Mask| {
            mask.looks.iter().all(|look| class(look.gene) == Some(look.class))
        };
        for hidden in colony.masks.iter().filter(acts).flat_map(|mask| &mask.hides) {
            for (at, gene) in self.genes.iter().enumerate() {
                match hidden {
                    Hidden::Gene(of) if of == gene => seen[at] = None,
                    Hidden::Look(look) if look.gene == *gene && look.class == classes[at] => {
                        seen[at] = Some(0);
                    }
                    _ => {}
                }
            }
        }
        seen
    }
}
