//! Sums of products of tables, exactly.
//!
//! Two ways, and `judge_itself.rs` holds one against the other: [`sum_literally`] visits every
//! configuration and is the definition; [`sum_to`] sums out one variable at a time.
//!
//! Inside a table all entries share one denominator, so that the sums are sums of whole numbers.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use num_bigint::{BigInt, BigUint, Sign};
use num_traits::{One, Zero};

use super::exact::{Exact, add, zero};

/// A variable of a network: one animal's genotype, by number.
pub type Variable = usize;

/// A table over some variables; what is not listed is zero.
#[derive(Clone, Debug)]
pub struct Table {
    scope: Vec<Variable>,
    entries: Vec<(Vec<usize>, BigUint)>,
    below: BigUint,
}

fn natural(number: BigInt) -> BigUint {
    assert!(number.sign() != Sign::Minus, "a probability below zero");
    number.magnitude().clone()
}

impl Table {
    /// A table from its entries: a state for each variable of the scope, and the value.
    pub fn new(scope: Vec<Variable>, entries: Vec<(Vec<usize>, Exact)>) -> Self {
        let mut denominators: Vec<&BigInt> = entries.iter().map(|(_, v)| v.denom()).collect();
        denominators.sort();
        denominators.dedup();
        let below = denominators.into_iter().fold(BigInt::one(), |lcm, denominator| {
            if (&lcm % denominator).is_zero() {
                lcm
            } else {
                lowest_common_multiple(&lcm, denominator)
            }
        });
        let entries = entries
            .into_iter()
            .filter(|(_, value)| !value.is_zero())
            .map(|(states, value)| (states, natural(value.numer() * (&below / value.denom()))))
            .collect();
        Table { scope, entries, below: natural(below) }
    }

    /// A number, as a table over nothing.
    pub fn number(value: Exact) -> Self {
        Table::new(vec![], vec![(vec![], value)])
    }

    /// The table with each entry to the power `exponent`.
    pub fn power(&self, exponent: usize) -> Self {
        let raise = |number: &BigUint| num_traits::pow(number.clone(), exponent);
        assert!(exponent > 0, "a power of nothing");
        let entries = self.entries.iter().map(|(s, value)| (s.clone(), raise(value))).collect();
        Table { scope: self.scope.clone(), entries, below: raise(&self.below) }
    }

    /// The product of two tables.
    fn times(&self, other: &Table) -> Table {
        let shared: Vec<Variable> =
            self.scope.iter().copied().filter(|v| other.scope.contains(v)).collect();
        let fresh: Vec<usize> =
            (0..other.scope.len()).filter(|&i| !self.scope.contains(&other.scope[i])).collect();
        let here: Vec<usize> = shared.iter().map(|&v| self.position(v)).collect();
        let there: Vec<usize> = shared.iter().map(|&v| other.position(v)).collect();
        let mut matching: HashMap<Vec<usize>, Vec<&(Vec<usize>, BigUint)>> = HashMap::new();
        for entry in &other.entries {
            matching.entry(pick(&entry.0, &there)).or_default().push(entry);
        }
        let mut entries = Vec::new();
        for (states, value) in &self.entries {
            for (others, factor) in matching.get(&pick(states, &here)).into_iter().flatten() {
                let mut states = states.clone();
                states.extend(fresh.iter().map(|&i| others[i]));
                entries.push((states, value * factor));
            }
        }
        let mut scope = self.scope.clone();
        scope.extend(fresh.iter().map(|&i| other.scope[i]));
        Table { scope, entries, below: &self.below * &other.below }
    }

    /// The table summed over every variable but these.
    pub fn onto(&self, kept: &[Variable]) -> Table {
        let scope: Vec<Variable> =
            self.scope.iter().copied().filter(|v| kept.contains(v)).collect();
        let places: Vec<usize> = scope.iter().map(|&v| self.position(v)).collect();
        let mut sums: BTreeMap<Vec<usize>, BigUint> = BTreeMap::new();
        for (states, value) in &self.entries {
            *sums.entry(pick(states, &places)).or_default() += value;
        }
        Table { scope, entries: sums.into_iter().collect(), below: self.below.clone() }
    }

    /// The table summed over one variable.
    pub fn without(&self, variable: Variable) -> Table {
        let left: Vec<Variable> = self.scope.iter().copied().filter(|&v| v != variable).collect();
        self.onto(&left)
    }

    /// The sum of two tables over the same variables.
    pub fn plus(&self, other: &Table) -> Table {
        assert!(self.scope == other.scope, "tables over other variables");
        let below = lowest_common_multiple(&self.below.clone().into(), &other.below.clone().into());
        let below = natural(below);
        let mut sums: BTreeMap<Vec<usize>, BigUint> = BTreeMap::new();
        for table in [self, other] {
            let factor = &below / &table.below;
            for (states, value) in &table.entries {
                *sums.entry(states.clone()).or_default() += value * &factor;
            }
        }
        Table { scope: self.scope.clone(), entries: sums.into_iter().collect(), below }
    }

    /// The share of each group of entries in the sum of all; the group of an entry is a function
    /// of the state of the first variable.
    pub fn shares<K: Ord>(&self, group: impl Fn(usize) -> K) -> BTreeMap<K, Exact> {
        let mut groups: BTreeMap<K, BigUint> = BTreeMap::new();
        for (states, value) in &self.entries {
            *groups.entry(group(states[0])).or_default() += value;
        }
        let total = BigInt::from(groups.values().sum::<BigUint>());
        let share = |part: BigUint| Exact::new(part.into(), total.clone());
        groups.into_iter().map(|(group, part)| (group, share(part))).collect()
    }

    fn position(&self, variable: Variable) -> usize {
        self.scope.iter().position(|&v| v == variable).expect("a variable of the scope")
    }

    fn values(&self) -> BTreeMap<Vec<usize>, Exact> {
        let fraction = |value: &BigUint| {
            Exact::new(BigInt::from(value.clone()), BigInt::from(self.below.clone()))
        };
        self.entries.iter().map(|(states, value)| (states.clone(), fraction(value))).collect()
    }
}

fn pick(states: &[usize], places: &[usize]) -> Vec<usize> {
    places.iter().map(|&place| states[place]).collect()
}

fn lowest_common_multiple(one: &BigInt, other: &BigInt) -> BigInt {
    // The reduced fraction one/other has other / gcd(one, other) below it.
    let reduced = Exact::new(one.clone(), other.clone());
    one * reduced.denom()
}

/// Sum of the product of all tables over everything but `kept`.
pub fn sum_to(tables: &[Table], kept: Variable) -> Table {
    let product = eliminate(tables, &[kept]);
    assert!(product.scope == [kept], "the variable is in no table");
    product
}

/// Sum of the product of all tables over everything.
pub fn sum_all(tables: &[Table]) -> Exact {
    eliminate(tables, &[]).values().into_values().sum()
}

/// Multiplies the tables and sums out one variable after another, the one in the smallest company
/// first: Σ_v Π = Π(tables without v) · Σ_v Π(tables with v).
fn eliminate(tables: &[Table], kept: &[Variable]) -> Table {
    let mut tables = tables.to_vec();
    loop {
        let open: BTreeSet<Variable> = tables
            .iter()
            .flat_map(|table| table.scope.iter().copied())
            .filter(|variable| !kept.contains(variable))
            .collect();
        let Some(variable) = open.into_iter().min_by_key(|&v| company(&tables, v)) else { break };
        let (with, without): (Vec<Table>, Vec<Table>) =
            tables.into_iter().partition(|table| table.scope.contains(&variable));
        let product = multiply(with);
        tables = without;
        tables.push(product.without(variable));
    }
    multiply(tables)
}

fn company(tables: &[Table], variable: Variable) -> usize {
    let with = tables.iter().filter(|table| table.scope.contains(&variable));
    with.flat_map(|table| table.scope.iter()).collect::<BTreeSet<_>>().len()
}

fn multiply(mut tables: Vec<Table>) -> Table {
    tables.sort_by_key(|table| table.scope.len());
    let number = Table::number(Exact::from_integer(BigInt::one()));
    tables.iter().fold(number, |product, table| product.times(table))
}

/// The sum of everything, and the same as [`sum_to`] for every variable at once, by visiting every
/// configuration that is not zero.
pub fn sum_literally(tables: &[Table]) -> (Exact, BTreeMap<(Variable, usize), Exact>) {
    let variables: BTreeSet<Variable> = tables.iter().flat_map(|t| t.scope.clone()).collect();
    let mut visit = Visit {
        variables: variables.into_iter().collect(),
        tables: tables.iter().map(|table| (table, table.values())).collect(),
        total: zero(),
        sums: BTreeMap::new(),
    };
    visit.from(&mut BTreeMap::new(), Exact::from_integer(BigInt::one()));
    (visit.total, visit.sums)
}

struct Visit<'a> {
    variables: Vec<Variable>,
    tables: Vec<(&'a Table, BTreeMap<Vec<usize>, Exact>)>,
    total: Exact,
    sums: BTreeMap<(Variable, usize), Exact>,
}

impl Visit<'_> {
    /// Visits what begins with `states`; a table counts as soon as all its variables are set.
    fn from(&mut self, states: &mut BTreeMap<Variable, usize>, weight: Exact) {
        let last = states.len().checked_sub(1).map(|place| self.variables[place]);
        let mut weight = weight;
        for (table, values) in &self.tables {
            let newest = table.scope.iter().max().copied();
            if newest == last {
                let here: Vec<usize> = table.scope.iter().map(|v| states[v]).collect();
                weight *= values.get(&here).cloned().unwrap_or_else(zero);
            }
        }
        if weight.is_zero() {
            return;
        }
        let Some(&variable) = self.variables.get(states.len()) else {
            for (&variable, &state) in &*states {
                add(&mut self.sums, (variable, state), weight.clone());
            }
            self.total += weight;
            return;
        };
        let possible: BTreeSet<usize> =
            self.tables.iter().flat_map(|(table, _)| table.states_of(variable)).collect();
        for state in possible {
            states.insert(variable, state);
            self.from(states, weight.clone());
            states.remove(&variable);
        }
    }
}

impl Table {
    fn states_of(&self, variable: Variable) -> BTreeSet<usize> {
        let Some(place) = self.scope.iter().position(|&v| v == variable) else {
            return BTreeSet::new();
        };
        self.entries.iter().map(|(states, _)| states[place]).collect()
    }
}
