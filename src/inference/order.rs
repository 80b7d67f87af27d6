//! In which order to eliminate the variables.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Above this many neighbours the missing pairs are not counted: such a variable waits.
const COUNTED_NEIGHBOURS: usize = 40;

/// An order of elimination, and the neighbours that each variable had when its turn came.
///
/// # Source
///
/// Greedy min-fill, ties by the smallest table: Lauritzen & Spiegelhalter 1988, JRSS B
/// 50:157–224, and the fill-in heuristics of Kjærulff 1990.
#[derive(Clone, Debug, Default)]
pub struct EliminationOrder {
    /// The variables in order.
    pub order: Vec<u32>,
    /// For each variable of `order`, its neighbours still to be eliminated.
    pub neighbours: Vec<Vec<u32>>,
}

/// Chooses an order for a graph of variables.
///
/// `adjacent[v]` lists the neighbours of `v`, sorted; `sizes[v]` its number of states. Variables
/// of size 0 are left out. Those marked in `first` go before all others.
pub(super) fn min_fill(
    adjacent: Vec<Vec<u32>>,
    sizes: &[usize],
    first: &[u32],
) -> EliminationOrder {
    min_fill_within(adjacent, sizes, first, u64::MAX, &mut |_| 0).0
}

/// The same with no table of more than `most` entries: where one would be larger, the variable of
/// highest `rank` among those of the table is taken out of the graph instead, as if its state were
/// known, until it fits. Gives those variables as well; none of them is in `first`, whose tables
/// may be larger.
pub(super) fn min_fill_within(
    adjacent: Vec<Vec<u32>>,
    sizes: &[usize],
    first: &[u32],
    most: u64,
    rank: &mut dyn FnMut(u32) -> u64,
) -> (EliminationOrder, Vec<u32>) {
    let mut taken = Vec::new();
    let mut greedy = Greedy {
        stamp: vec![0; adjacent.len()],
        heap: BinaryHeap::with_capacity(adjacent.len() * 2),
        done: sizes.iter().map(|size| *size == 0).collect(),
        adjacent,
        sizes,
        touched: Vec::new(),
        result: EliminationOrder::default(),
    };
    for variable in first {
        greedy.eliminate(*variable);
    }
    for variable in 0..greedy.adjacent.len() as u32 {
        if !greedy.done[variable as usize] {
            greedy.push(variable);
        }
    }
    while let Some(Reverse((_, table, variable, stamp))) = greedy.heap.pop() {
        if greedy.done[variable as usize] || greedy.stamp[variable as usize] != stamp {
            continue;
        }
        if table <= most {
            greedy.eliminate(variable);
            continue;
        }
        let clique = greedy.adjacent[variable as usize].iter().copied().chain([variable]);
        if let Some((_, out)) = clique.map(|v| (rank(v), v)).max() {
            greedy.take_out(out);
            greedy.push_again(variable);
            taken.push(out);
        }
    }
    (greedy.result, taken)
}

type Entry = Reverse<(usize, u64, u32, u32)>;

struct Greedy<'a> {
    adjacent: Vec<Vec<u32>>,
    sizes: &'a [usize],
    done: Vec<bool>,
    stamp: Vec<u32>,
    heap: BinaryHeap<Entry>,
    /// Room for those whose neighbours have changed.
    touched: Vec<u32>,
    result: EliminationOrder,
}

impl Greedy<'_> {
    fn push(&mut self, variable: u32) {
        let at = variable as usize;
        self.stamp[at] += 1;
        let table = self.adjacent[at]
            .iter()
            .fold(self.sizes[at] as u64, |t, n| t.saturating_mul(self.sizes[*n as usize] as u64));
        self.heap.push(Reverse((self.fill(at), table, variable, self.stamp[at])));
    }

    /// How many pairs of neighbours are not joined yet.
    fn fill(&self, at: usize) -> usize {
        let near = &self.adjacent[at];
        if near.len() > COUNTED_NEIGHBOURS {
            return near.len() * (near.len() - 1) / 2;
        }
        let joined = |a: u32, b: u32| self.adjacent[a as usize].binary_search(&b).is_ok();
        let missing =
            |(i, a): (usize, &u32)| near[i + 1..].iter().filter(|b| !joined(*a, **b)).count();
        near.iter().enumerate().map(missing).sum()
    }

    /// Takes a variable and its edges out, and gives its neighbours.
    fn detach(&mut self, variable: u32) -> Vec<u32> {
        let near = std::mem::take(&mut self.adjacent[variable as usize]);
        self.done[variable as usize] = true;
        for n in &near {
            let list = &mut self.adjacent[*n as usize];
            if let Ok(at) = list.binary_search(&variable) {
                list.remove(at);
            }
        }
        near
    }

    fn take_out(&mut self, variable: u32) {
        for n in self.detach(variable) {
            self.push_again(n);
        }
    }

    /// Pushes a variable whose neighbours have changed, unless it is done.
    fn push_again(&mut self, variable: u32) {
        if !self.done[variable as usize] {
            self.push(variable);
        }
    }

    fn eliminate(&mut self, variable: u32) {
        let near = self.detach(variable);
        let mut touched = std::mem::take(&mut self.touched);
        touched.clear();
        touched.extend_from_slice(&near);
        for (i, a) in near.iter().enumerate() {
            for b in &near[i + 1..] {
                self.join(*a, *b, &mut touched);
            }
        }
        touched.sort_unstable();
        touched.dedup();
        for n in touched.iter().copied() {
            // A variable that was never pushed belongs to the second phase and is pushed there.
            if !self.done[n as usize] && self.stamp[n as usize] > 0 {
                self.push(n);
            }
        }
        self.touched = touched;
        self.result.order.push(variable);
        self.result.neighbours.push(near);
    }

    /// Joins two variables; their common neighbours then miss one pair less.
    fn join(&mut self, a: u32, b: u32, touched: &mut Vec<u32>) {
        let Err(at) = self.adjacent[a as usize].binary_search(&b) else { return };
        self.adjacent[a as usize].insert(at, b);
        if let Err(at) = self.adjacent[b as usize].binary_search(&a) {
            self.adjacent[b as usize].insert(at, a);
        }
        let [few, many] = if self.adjacent[a as usize].len() < self.adjacent[b as usize].len() {
            [a, b]
        } else {
            [b, a]
        };
        let common = self.adjacent[few as usize]
            .iter()
            .filter(|n| self.adjacent[many as usize].binary_search(n).is_ok());
        touched.extend(common);
    }
}
