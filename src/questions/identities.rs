//! The joint identities of one hatchling, most probable first.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use rustc_hash::FxHashMap;

use super::Model;
use crate::network::Evidence;
use crate::records::{AnimalId, GeneId, Genotype, Look};

/// How long the list of identities becomes.
pub(super) struct ListUntil {
    /// Until together they reach this chance,
    enough: f64,
    /// or until there are this many.
    at_most: usize,
}

impl ListUntil {
    /// What is shown.
    pub(super) const SHOWN: ListUntil = ListUntil { enough: 0.999, at_most: 50 };
    /// What is averaged over, before it is shown.
    pub(super) const NEARLY_ALL: ListUntil = ListUntil { enough: 1.0 - 1e-9, at_most: 2000 };
}

/// A class whose chance is nearer to one than this is certain.
const CERTAIN: f64 = 1e-12;

/// One combination of true look classes, with its chance.
#[derive(Clone, Debug, PartialEq)]
pub struct Identity {
    /// The looks it shows, masks lifted; empty = normal.
    pub looks: Vec<Look>,
    /// The chances of its genotypes at each gene, given this identity.
    pub genotype: Vec<(GeneId, Vec<(Genotype, f64)>)>,
    /// Its chance.
    pub probability: f64,
}

/// Identities that differ only at genes of which nothing was seen, as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Visible {
    /// The looks at the other genes, masks lifted; the genotypes of all genes and the chance are
    /// those of all identities together.
    pub identity: Identity,
    /// The looks it has at the genes of which nothing was seen, each with its chance if it is this.
    pub unseen: Vec<(Look, f64)>,
}

/// Folds identities that differ only at these genes, most probable first.
///
/// A gene at which all of them show the same is not folded: its look is known.
pub(super) fn visible(list: &[Identity], unseen: &[GeneId]) -> Vec<Visible> {
    let class = |one: &Identity, gene: &GeneId| one.looks.iter().find(|l| l.gene == *gene).copied();
    let differs = |gene: &&GeneId| list.iter().any(|one| class(one, gene) != class(&list[0], gene));
    let folded: Vec<GeneId> = unseen.iter().filter(differs).copied().collect();
    let mut all: Vec<Visible> = Vec::new();
    for one in list {
        let (hidden, looks): (Vec<Look>, Vec<Look>) =
            one.looks.iter().copied().partition(|look| folded.contains(&look.gene));
        let at = all.iter().position(|known| known.identity.looks == looks);
        let at = at.unwrap_or_else(|| {
            let identity = Identity { looks, probability: 0.0, ..one.clone() };
            all.push(Visible { identity, unseen: Vec::new() });
            all.len() - 1
        });
        blend(&mut all[at].identity, one, one.probability);
        for look in hidden {
            match all[at].unseen.iter_mut().find(|(known, _)| *known == look) {
                Some((_, chance)) => *chance += one.probability,
                None => all[at].unseen.push((look, one.probability)),
            }
        }
    }
    for one in &mut all {
        one.unseen.sort_by_key(|(look, _)| *look);
        one.unseen.iter_mut().for_each(|(_, chance)| *chance /= one.identity.probability);
    }
    all.sort_by(|a, b| b.identity.probability.total_cmp(&a.identity.probability));
    all
}

/// The identities of a hatchling, the genes that share evidence, and what is not listed.
pub(super) struct Identities {
    pub(super) shared: Vec<GeneId>,
    pub(super) list: Vec<Identity>,
    pub(super) rest: f64,
}

/// Lists the identities of one hatchling of a model whose animals stand apart.
pub(super) fn identities(model: &mut Model<'_>, animal: AnimalId, until: &ListUntil) -> Identities {
    let mut search = Search::new(model, animal);
    let shared = search.shared();
    let mut list = Vec::new();
    let mut rest = 1.0;
    let mut heap = BinaryHeap::from([Node { chance: 1.0, classes: Vec::new() }]);
    while let Some(node) = heap.pop() {
        if node.classes.len() == search.uncertain.len() {
            rest -= node.chance;
            list.push(search.identity(&node));
            if list.len() == until.at_most || rest <= 1.0 - until.enough {
                break;
            }
            continue;
        }
        heap.extend(search.branch(&node));
    }
    if heap.is_empty() && list.len() < until.at_most {
        rest = 0.0;
    }
    search.restore();
    Identities { shared, list, rest: rest.max(0.0) }
}

/// The average of several lists of identities, each with its share, listed as one list is.
pub(super) fn average<'l>(
    lists: impl Iterator<Item = (f64, &'l [Identity])>,
) -> (Vec<Identity>, f64) {
    let mut all: Vec<Identity> = Vec::new();
    for (share, list) in lists {
        for identity in list {
            let weight = share * identity.probability;
            match all.iter_mut().find(|known| known.looks == identity.looks) {
                Some(known) => blend(known, identity, weight),
                None => {
                    let mut first = identity.clone();
                    first.probability = weight;
                    all.push(first);
                }
            }
        }
    }
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let until = ListUntil::SHOWN;
    let mut rest = 1.0;
    let mut listed = 0;
    for identity in all.iter().take(until.at_most) {
        rest -= identity.probability;
        listed += 1;
        if rest <= 1.0 - until.enough {
            break;
        }
    }
    all.truncate(listed);
    (all, rest.max(0.0))
}

/// Adds an identity of this weight to one with the same looks.
fn blend(known: &mut Identity, other: &Identity, weight: f64) {
    let total = known.probability + weight;
    let share = if total > 0.0 { weight / total } else { 0.0 };
    for ((_, own), (_, others)) in known.genotype.iter_mut().zip(&other.genotype) {
        for ((_, chance), (_, o)) in own.iter_mut().zip(others) {
            *chance += share * (o - *chance);
        }
    }
    known.probability = total;
}

/// The true classes at the first uncertain genes, and the chance that they are so.
struct Node {
    chance: f64,
    classes: Vec<usize>,
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Node {}
impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Node {
    fn cmp(&self, other: &Self) -> Ordering {
        let deeper = self.classes.len().cmp(&other.classes.len());
        let chance = self.chance.total_cmp(&other.chance);
        chance.then(deeper).then_with(|| other.classes.cmp(&self.classes))
    }
}

/// Posterior genotype weights of every gene of the animal, by locus order.
type Posteriors = Vec<Vec<f64>>;

/// A part of the network, and the classes fixed there.
type Fixed = (usize, Vec<(GeneId, usize)>);

struct Search<'m, 'a> {
    model: &'m mut Model<'a>,
    animal: AnimalId,
    /// Genes whose true class is not certain.
    uncertain: Vec<GeneId>,
    /// The part of the network each gene belongs to.
    component: Vec<Option<usize>>,
    unconditional: Posteriors,
    /// Posteriors of the genes of a component under classes fixed at some of them.
    known: FxHashMap<Fixed, FxHashMap<GeneId, Vec<f64>>>,
}

impl<'m, 'a> Search<'m, 'a> {
    fn new(model: &'m mut Model<'a>, animal: AnimalId) -> Self {
        let genes: Vec<GeneId> = model.colony.gene_ids().collect();
        let known: Vec<GeneId> = super::genotypes::known_genes(model.colony).collect();
        let unconditional: Posteriors =
            genes.iter().map(|gene| model.posterior(animal, *gene)).collect();
        let component = genes
            .iter()
            .map(|gene| model.tree.component_of(model.net.variable(animal, *gene)))
            .collect();
        let mut search = Search {
            uncertain: Vec::new(),
            component,
            unconditional,
            known: FxHashMap::default(),
            model,
            animal,
        };
        let unsure = |gene: &GeneId| {
            let top = search.classes(*gene, &search.unconditional[gene.0]);
            top.into_iter().fold(0.0, f64::max) < 1.0 - CERTAIN
        };
        search.uncertain = known.into_iter().filter(unsure).collect();
        search
    }

    /// The uncertain genes that share evidence with another of them.
    fn shared(&self) -> Vec<GeneId> {
        let shares = |gene: &&GeneId| {
            self.uncertain.iter().any(|other| {
                other != *gene
                    && self.component[gene.0].is_some()
                    && self.component[gene.0] == self.component[other.0]
            })
        };
        self.uncertain.iter().filter(shares).copied().collect()
    }

    /// The chance of each true look class at a gene, given genotype weights.
    fn classes(&self, gene: GeneId, weights: &[f64]) -> Vec<f64> {
        let locus = self.model.net.locus(gene);
        let total: f64 = weights.iter().sum();
        let chance = |class: usize| {
            let shown = self.model.net.locus(gene).of_class(class);
            weights.iter().zip(shown).map(|(w, s)| w * s).sum::<f64>() / total
        };
        (0..locus.classes).map(chance).collect()
    }

    fn branch(&mut self, node: &Node) -> Vec<Node> {
        let gene = self.uncertain[node.classes.len()];
        let weights = self.given(gene, &node.classes);
        let chances = self.classes(gene, &weights);
        let longer = |(class, chance): (usize, f64)| {
            let mut classes = node.classes.clone();
            classes.push(class);
            Node { chance: node.chance * chance, classes }
        };
        chances.into_iter().enumerate().filter(|(_, c)| *c > 0.0).map(longer).collect()
    }

    /// Genotype weights at a gene, given the classes of the first uncertain genes.
    fn given(&mut self, gene: GeneId, classes: &[usize]) -> Vec<f64> {
        let Some(component) = self.component[gene.0] else {
            return self.unconditional[gene.0].clone();
        };
        let fixed: Vec<(GeneId, usize)> = self
            .uncertain
            .iter()
            .zip(classes)
            .filter(|(other, _)| self.component[other.0] == Some(component))
            .map(|(other, class)| (*other, *class))
            .collect();
        let own_class = fixed.iter().find(|(other, _)| *other == gene).map(|(_, class)| *class);
        // Nothing else in this part is fixed: Bayes' rule at the gene alone.
        if fixed.iter().all(|(other, _)| *other == gene) {
            let weights = self.unconditional[gene.0].clone();
            return match own_class {
                Some(class) => self.restrict(gene, class, weights),
                None => weights,
            };
        }
        let key = (component, fixed);
        if let Some(weights) = self.known.get(&key).and_then(|known| known.get(&gene)) {
            return weights.clone();
        }
        let posteriors = self.run(component, &key.1);
        let weights = posteriors.get(&gene).cloned().unwrap_or_default();
        self.known.insert(key, posteriors);
        weights
    }

    fn restrict(&self, gene: GeneId, class: usize, weights: Vec<f64>) -> Vec<f64> {
        let shown = self.model.net.locus(gene).of_class(class);
        weights.into_iter().zip(shown).map(|(w, s)| w * s).collect()
    }

    /// Runs one part of the network with the classes at some genes of the animal fixed.
    fn run(&mut self, component: usize, fixed: &[(GeneId, usize)]) -> FxHashMap<GeneId, Vec<f64>> {
        let mut evidence: Evidence = self.model.evidence.clone();
        for (gene, class) in fixed {
            self.model.net.fix_class(self.animal, *gene, *class, &mut evidence);
        }
        let ran = self.model.work.weigh_component(&self.model.tree, component, &evidence);
        let genes = self.component.iter().enumerate().filter(|(_, of)| **of == Some(component));
        let genes: Vec<GeneId> = genes.map(|(gene, _)| GeneId(gene)).collect();
        let mut weights = |gene: GeneId| match ran {
            Ok(()) => {
                let variable = self.model.net.variable(self.animal, gene);
                self.model.work.reach(&self.model.tree, variable);
                self.model.posterior(self.animal, gene)
            }
            Err(_) => vec![0.0; self.unconditional[gene.0].len()],
        };
        genes.into_iter().map(|gene| (gene, weights(gene))).collect()
    }

    fn identity(&mut self, node: &Node) -> Identity {
        let mut looks = Vec::new();
        let mut genotype = Vec::new();
        for gene in super::genotypes::known_genes(self.model.colony).collect::<Vec<_>>() {
            let weights = self.given(gene, &node.classes);
            let fixed = self.uncertain.iter().position(|other| *other == gene);
            let class = match fixed {
                Some(at) => node.classes[at],
                None => most_likely(&self.classes(gene, &weights)),
            };
            if class > 0 {
                looks.push(Look { gene, class });
            }
            let total: f64 = weights.iter().sum();
            let locus = self.model.net.locus(gene);
            let sex = self.model.colony.animal(self.animal).sex;
            let own = locus.in_own_alleles(sex, &weights);
            genotype.push((gene, own.into_iter().map(|(g, w)| (g, w / total)).collect()));
        }
        Identity { looks, genotype, probability: node.chance }
    }

    /// Puts the results of the records back into the workspace.
    fn restore(&mut self) {
        let mut parts: Vec<usize> = self.known.keys().map(|(component, _)| *component).collect();
        parts.sort_unstable();
        parts.dedup();
        for component in parts {
            let evidence = &self.model.evidence;
            let ran = self.model.work.run_component(&self.model.tree, component, evidence);
            debug_assert!(ran.is_ok());
        }
    }
}

fn most_likely(chances: &[f64]) -> usize {
    let best = chances.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
    best.map_or(0, |(class, _)| class)
}
