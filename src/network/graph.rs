//! A factor graph: variables with finitely many states, and tables over some of them.

/// Position of a variable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VariableId(pub usize);

/// Position of a factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FactorId(pub usize);

/// Position of a table that factors share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TableId(pub usize);

/// Where the numbers of a factor are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// In a table of the graph.
    Table(TableId),
    /// In the evidence, from this position on; all ones until a record fills it.
    Slot(usize),
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Factor {
    scope: (usize, usize),
    source: Source,
}

/// Variables, and the factors that join them.
///
/// The joint weight of a configuration is the product of all factors and of the likelihood that
/// the [`Evidence`](super::Evidence) gives to each variable's state. Tables are row-major over
/// the factor's scope, the first variable slowest.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FactorGraph {
    states: Vec<usize>,
    copies: Vec<u32>,
    likelihood_start: Vec<usize>,
    likelihood_len: usize,
    factors: Vec<Factor>,
    scopes: Vec<VariableId>,
    tables: Vec<Vec<f64>>,
    slot_len: usize,
    left_out: Option<u64>,
}

impl FactorGraph {
    /// Adds a variable with this many states.
    pub fn variable(&mut self, states: usize) -> VariableId {
        self.copies_of_variable(states, 1)
    }

    /// Adds a variable that stands for `copies` independent ones with the same factors.
    ///
    /// Its neighbours must all be variables with one copy.
    pub fn copies_of_variable(&mut self, states: usize, copies: u32) -> VariableId {
        let id = VariableId(self.states.len());
        self.likelihood_start.push(self.likelihood_len);
        self.likelihood_len += states;
        self.states.push(states);
        self.copies.push(copies);
        id
    }

    /// Makes a variable stand for one more independent copy.
    pub fn another_copy(&mut self, variable: VariableId) {
        self.copies[variable.0] += 1;
    }

    /// Adds a table that several factors can share.
    pub fn table(&mut self, values: Vec<f64>) -> TableId {
        self.tables.push(values);
        TableId(self.tables.len() - 1)
    }

    /// Joins variables by a shared table, which must have one value for each combination.
    pub fn factor(&mut self, scope: &[VariableId], table: TableId) -> FactorId {
        debug_assert_eq!(self.tables[table.0].len(), self.size(scope));
        self.join(scope, Source::Table(table))
    }

    /// Joins variables by a table that the evidence holds: ones, until a record fills it.
    pub fn slot(&mut self, scope: &[VariableId]) -> FactorId {
        let start = self.slot_len;
        self.slot_len += self.size(scope);
        self.join(scope, Source::Slot(start))
    }

    fn join(&mut self, scope: &[VariableId], source: Source) -> FactorId {
        let start = self.scopes.len();
        self.scopes.extend_from_slice(scope);
        self.factors.push(Factor { scope: (start, self.scopes.len()), source });
        FactorId(self.factors.len() - 1)
    }

    /// Says that a table was not made, since it and others would take this many bytes.
    pub fn leaves_out(&mut self, bytes: u64) {
        self.left_out = Some(bytes);
    }

    /// Bytes that the graph would take with a table that was too large to be made, if there is one.
    pub fn left_out(&self) -> Option<u64> {
        self.left_out
    }

    /// Bytes of its tables, and of the slots in the evidence.
    pub fn bytes(&self) -> u64 {
        let numbers = self.tables.iter().map(Vec::len).sum::<usize>() + self.slot_len;
        (numbers * size_of::<f64>()) as u64
    }

    /// How many combinations of states these variables have.
    pub fn size(&self, scope: &[VariableId]) -> usize {
        scope.iter().map(|variable| self.states[variable.0]).product()
    }

    /// How many variables there are.
    pub fn variables(&self) -> usize {
        self.states.len()
    }

    /// How many states a variable has.
    pub fn states(&self, variable: VariableId) -> usize {
        self.states[variable.0]
    }

    /// How many independent copies a variable stands for.
    pub fn copies(&self, variable: VariableId) -> u32 {
        self.copies[variable.0]
    }

    /// Every factor.
    pub fn factors(&self) -> impl Iterator<Item = FactorId> + use<> {
        (0..self.factors.len()).map(FactorId)
    }

    /// The variables a factor joins.
    pub fn scope(&self, factor: FactorId) -> &[VariableId] {
        let (start, end) = self.factors[factor.0].scope;
        &self.scopes[start..end]
    }

    /// Where the numbers of a factor are.
    pub fn source(&self, factor: FactorId) -> Source {
        self.factors[factor.0].source
    }

    /// The numbers of a shared table.
    pub fn values(&self, table: TableId) -> &[f64] {
        &self.tables[table.0]
    }

    /// For each variable the lowest variable it hangs together with through factors.
    pub fn components(&self) -> Vec<usize> {
        let mut above: Vec<usize> = (0..self.variables()).collect();
        fn root(above: &mut [usize], mut at: usize) -> usize {
            while above[at] != at {
                above[at] = above[above[at]];
                at = above[at];
            }
            at
        }
        for factor in self.factors() {
            let scope = self.scope(factor);
            for pair in scope.windows(2) {
                let [one, other] = [pair[0], pair[1]].map(|v| root(&mut above, v.0));
                above[one.max(other)] = one.min(other);
            }
        }
        (0..self.variables()).map(|at| root(&mut above, at)).collect()
    }

    /// Total length of the likelihoods of all variables, one after the other.
    pub(super) fn likelihood_len(&self) -> usize {
        self.likelihood_len
    }

    /// Where the likelihood of a variable begins.
    pub(super) fn likelihood_start(&self, variable: VariableId) -> usize {
        self.likelihood_start[variable.0]
    }

    /// Total length of all slots.
    pub(super) fn slot_len(&self) -> usize {
        self.slot_len
    }
}
