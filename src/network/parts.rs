//! The network of each unit by itself, as it is before anything was seen.

use rustc_hash::FxHashMap;

use super::{Evidence, FactorGraph, FactorId, Source, TableId, VariableId};

/// A network of some of the variables of another.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// Its graph; graphs of parts of the same structure are equal.
    pub graph: FactorGraph,
    /// Variables of the whole, each with the one of the part that stands for it. Several may be stood
    /// for by one.
    pub place: Vec<(VariableId, VariableId)>,
}

impl FactorGraph {
    /// Splits the graph into parts without the factors that records fill; `of` tells the part of a
    /// variable, `None` for one that belongs to every part. Factors that join several parts are left
    /// out.
    ///
    /// Young of which nothing is known and from which nothing descends are one variable where they
    /// have the same parents: they have the same chances, and say nothing of their parents.
    pub fn parts(
        &self,
        number: usize,
        of: &dyn Fn(VariableId) -> Option<usize>,
        known: &Evidence,
    ) -> Vec<Part> {
        let mut splitting = Splitting {
            whole: self,
            parts: (0..number).map(|_| Made::default()).collect(),
            lone: self.lone(known),
            normalised: FxHashMap::default(),
        };
        for factor in self.factors() {
            let Source::Table(table) = self.source(factor) else { continue };
            let mut parts = self.scope(factor).iter().filter_map(|v| of(*v));
            match parts.next() {
                Some(first) if parts.all(|other| other == first) => {
                    splitting.add(first, factor, table);
                }
                Some(_) => {}
                None => (0..number).for_each(|part| splitting.add(part, factor, table)),
            }
        }
        for variable in (0..self.variables()).map(VariableId) {
            if let Some(part) = of(variable) {
                splitting.parts[part].variable(self, variable, self.copies(variable));
            }
        }
        let part = |mut made: Made| {
            if let Some(bytes) = self.left_out() {
                made.graph.leaves_out(bytes);
            }
            Part { graph: made.graph, place: made.place }
        };
        splitting.parts.into_iter().map(part).collect()
    }

    /// Variables of which nothing is known and that a single shared table joins to others.
    fn lone(&self, known: &Evidence) -> Vec<bool> {
        let mut count = vec![0u8; self.variables()];
        for factor in self.factors().filter(|f| matches!(self.source(*f), Source::Table(_))) {
            for variable in self.scope(factor) {
                count[variable.0] = count[variable.0].saturating_add(1);
            }
        }
        let nothing =
            |at: usize| known.likelihood(VariableId(at)).iter().all(|weight| *weight == 1.0);
        count.into_iter().enumerate().map(|(at, count)| count == 1 && nothing(at)).collect()
    }

    /// Whether a table is a distribution of its first variable, whatever the states of the others.
    fn is_distribution(&self, factor: FactorId, table: TableId) -> bool {
        let scope = self.scope(factor);
        let others = self.size(&scope[1..]);
        let mut sums = vec![0.0; others];
        for row in self.values(table).chunks_exact(others) {
            sums.iter_mut().zip(row).for_each(|(sum, value)| *sum += value);
        }
        sums.iter().all(|sum| (sum - 1.0).abs() < 1e-14)
    }
}

struct Splitting<'g> {
    whole: &'g FactorGraph,
    parts: Vec<Made>,
    lone: Vec<bool>,
    normalised: FxHashMap<TableId, bool>,
}

/// A part as far as it is made.
#[derive(Default)]
struct Made {
    graph: FactorGraph,
    place: Vec<(VariableId, VariableId)>,
    variables: FxHashMap<VariableId, VariableId>,
    tables: FxHashMap<TableId, TableId>,
    /// The young of parents that stands for all of which nothing is known.
    young: FxHashMap<(TableId, Vec<VariableId>), VariableId>,
}

impl Splitting<'_> {
    fn add(&mut self, part: usize, factor: FactorId, table: TableId) {
        let (whole, made) = (self.whole, &mut self.parts[part]);
        let scope = whole.scope(factor);
        let Some((child, parents)) = scope.split_first() else { return };
        let distribution =
            *self.normalised.entry(table).or_insert_with(|| whole.is_distribution(factor, table));
        if distribution && self.lone[child.0] && !parents.is_empty() {
            let key = (table, parents.to_vec());
            if let Some(stands) = made.young.get(&key) {
                made.variables.insert(*child, *stands);
                made.place.push((*child, *stands));
                return;
            }
            let stands = made.variable(whole, *child, 1);
            made.young.insert(key, stands);
        }
        let own: Vec<VariableId> =
            scope.iter().map(|v| made.variable(whole, *v, whole.copies(*v))).collect();
        let table = made.table(whole, table);
        made.graph.factor(&own, table);
    }
}

impl Made {
    /// The variable of the part, added when it is first met.
    fn variable(&mut self, whole: &FactorGraph, variable: VariableId, copies: u32) -> VariableId {
        if let Some(known) = self.variables.get(&variable) {
            return *known;
        }
        let own = self.graph.copies_of_variable(whole.states(variable), copies);
        self.variables.insert(variable, own);
        self.place.push((variable, own));
        own
    }

    fn table(&mut self, whole: &FactorGraph, table: TableId) -> TableId {
        if let Some(known) = self.tables.get(&table) {
            return *known;
        }
        let own = self.graph.table(whole.values(table).to_vec());
        self.tables.insert(table, own);
        own
    }
}
