//! Who descends from whom by which share, and what two of them have in common.

/// A pedigree as a list of nodes, each behind those it comes from.
///
/// A node's coefficient with any earlier one is the mean, by its shares, of those of the nodes it
/// comes from; what it has in common with itself beyond that is its own rest. So the matrix of all
/// coefficients is T·D·Tᵀ, with D the rests and T the shares handed down, and one coefficient is a sum
/// over common ancestors: nothing grows with the square of the number of animals.
///
/// # Source
///
/// Wright 1922, Am Nat 56:330–338, for the coefficients; Henderson 1976, Biometrics 32:69–83, for
/// their decomposition (cited from memory; the tabular method is the judge in the tests).
#[derive(Clone, Debug, Default)]
pub(super) struct Descent {
    /// Where each node comes from, with shares that add up to one, in `sources`; none: unrelated.
    from: Vec<(u32, u32)>,
    sources: Vec<(u32, f64)>,
    /// The coefficient of each node with itself.
    own: Vec<f64>,
    /// What of it is not handed down.
    rest: Vec<f64>,
}

impl Descent {
    /// Adds a node that has nothing in common with those before it.
    pub(super) fn unrelated(&mut self) -> usize {
        self.add(&[], 0.5, 0.5)
    }

    /// Adds a young of two nodes, which may be one; `inbreeding` is its own.
    pub(super) fn young(&mut self, dam: usize, sire: usize, inbreeding: f64) -> usize {
        let own = f64::midpoint(1.0, inbreeding);
        let shared = (self.own[dam] + 2.0 * self.between(dam, sire) + self.own[sire]) / 4.0;
        self.add(&[(dam, 0.5), (sire, 0.5)], own, own - shared)
    }

    /// Adds a node that is one of several, by their chances.
    pub(super) fn one_of(&mut self, list: &[(usize, f64)]) -> usize {
        let own: f64 = list.iter().map(|(one, chance)| chance * self.own[*one]).sum();
        let pairs = list.iter().flat_map(|a| list.iter().map(move |b| (a, b)));
        let shared: f64 = pairs.map(|((a, p), (b, q))| p * q * self.between(*a, *b)).sum();
        self.add(list, own, own - shared)
    }

    fn add(&mut self, list: &[(usize, f64)], own: f64, rest: f64) -> usize {
        let first = self.sources.len() as u32;
        self.sources.extend(list.iter().map(|(one, share)| (*one as u32, *share)));
        self.from.push((first, self.sources.len() as u32));
        self.own.push(own);
        self.rest.push(rest);
        self.own.len() - 1
    }

    /// How many nodes there are.
    pub(super) fn len(&self) -> usize {
        self.own.len()
    }

    /// The coefficient of kinship of two nodes.
    pub(super) fn between(&self, one: usize, other: usize) -> f64 {
        if one == other {
            return self.own[one];
        }
        let mut shares = vec![[0.0; 2]; one.max(other) + 1];
        shares[one][0] = 1.0;
        shares[other][1] = 1.0;
        let mut sum = 0.0;
        for at in (0..shares.len()).rev() {
            let [a, b] = shares[at];
            if a == 0.0 && b == 0.0 {
                continue;
            }
            sum += a * b * self.rest[at];
            let (first, last) = self.from[at];
            for (source, share) in &self.sources[first as usize..last as usize] {
                let above = &mut shares[*source as usize];
                above[0] += a * share;
                above[1] += b * share;
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The tabular method of Wright 1922, line by line.
    #[test]
    fn every_pair_agrees_with_the_table() {
        let mut state = 7u64;
        let mut below = |number: usize| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 33) as usize % number
        };
        let (mut descent, mut table) = (Descent::default(), Vec::<Vec<f64>>::new());
        for at in 0..60 {
            let (row, own): (Vec<f64>, f64) = match if at < 6 { 0 } else { below(4) } {
                0 => {
                    descent.unrelated();
                    (vec![0.0; at], 0.5)
                }
                1 => {
                    let list = [(below(at), 0.25), (below(at), 0.75)];
                    descent.one_of(&list);
                    let with = |other| list.iter().map(|(o, p)| p * entry(&table, *o, other)).sum();
                    ((0..at).map(with).collect(), list.iter().map(|(o, p)| p * table[*o][*o]).sum())
                }
                _ => {
                    let (dam, sire) = (below(at), below(at));
                    let shared = entry(&table, dam, sire);
                    descent.young(dam, sire, shared);
                    let with = |o| f64::midpoint(entry(&table, dam, o), entry(&table, sire, o));
                    ((0..at).map(with).collect(), f64::midpoint(1.0, shared))
                }
            };
            table.push(row.into_iter().chain([own]).collect());
        }
        for one in 0..60 {
            for other in 0..60 {
                let (want, found) = (entry(&table, one, other), descent.between(one, other));
                assert!((want - found).abs() < 1e-14, "{one} {other}: {want} {found}");
            }
        }
    }

    fn entry(table: &[Vec<f64>], one: usize, other: usize) -> f64 {
        table[one.max(other)][one.min(other)]
    }
}
