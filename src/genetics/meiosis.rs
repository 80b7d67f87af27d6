//! Transmission: which gametes a parent makes, and what two gametes make.

use ndarray::Array3;

/// Chances of each offspring genotype, given the genotypes of its sire and dam.
///
/// Covers one autosomal locus with `alleles` alleles. Genotypes are unordered pairs in the order
/// `0/0, 0/1, …, 0/(a-1), 1/1, …`, so there are `g = a(a+1)/2` of them.
///
/// # Shape and units
///
/// `table[[child, sire, dam]]` has shape `(g, g, g)` and holds probabilities, not logarithms.
/// Summing over the first axis gives one for every pair of parents.
///
/// # Panics
///
/// If `alleles` is zero: a locus without alleles is a bug in the caller, not in the data.
///
/// # Source
///
/// Mendel (1866), first law; each parent passes on either of its two copies with chance one half.
///
/// # Examples
///
/// ```
/// let table = proveout::genetics::transmission(2);
/// let [clear, carrier, affected] = [0, 1, 2];
/// assert_eq!(table[[affected, carrier, carrier]], 0.25);
/// ```
pub fn transmission(alleles: usize) -> Array3<f64> {
    assert!(alleles > 0, "a locus without alleles");
    let pairs: Vec<[usize; 2]> =
        (0..alleles).flat_map(|a| (a..alleles).map(move |b| [a, b])).collect();
    let mut table = Array3::zeros((pairs.len(), pairs.len(), pairs.len()));
    for (child, made) in pairs.iter().enumerate() {
        for (sire, from_sire) in pairs.iter().enumerate() {
            for (dam, from_dam) in pairs.iter().enumerate() {
                let ways = from_sire.iter().flat_map(|s| from_dam.iter().map(move |d| (s, d)));
                let hits = ways.filter(|(s, d)| [*s.min(d), *s.max(d)] == [&made[0], &made[1]]);
                table[[child, sire, dam]] = hits.count() as f64 / 4.0;
            }
        }
    }
    table
}

/// Every gamete of a pair of chromosomes with its chance.
///
/// `rates[i]` is the chance of a crossover between place `i` and place `i + 1` of the map; no
/// interference. A gamete is a choice of strand (0 or 1) for each place.
///
/// # Source
///
/// Transmission: each parent passes one of its two strands with probability one half, and changes
/// strand between neighbours with the crossover rate.
pub fn gametes(rates: &[f64]) -> Vec<(Vec<usize>, f64)> {
    let mut made: Vec<(Vec<usize>, f64)> = vec![(vec![0], 0.5), (vec![1], 0.5)];
    for rate in rates {
        let longer = made.into_iter().flat_map(|(strands, chance)| {
            let last = strands.last().copied().unwrap_or(0);
            [(last, 1.0 - rate), (1 - last, *rate)].into_iter().map(move |(strand, step)| {
                let mut strands = strands.clone();
                strands.push(strand);
                (strands, chance * step)
            })
        });
        made = longer.filter(|(_, chance)| *chance > 0.0).collect();
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_of_parents_has_young_that_sum_to_one() {
        for alleles in 1..=4 {
            let table = transmission(alleles);
            let sums = table.sum_axis(ndarray::Axis(0));
            assert!(sums.iter().all(|sum| *sum == 1.0), "{alleles} alleles: {sums}");
        }
    }

    #[test]
    fn gametes_of_three_places_follow_both_rates() {
        let made = gametes(&[0.1, 0.25]);
        let total: f64 = made.iter().map(|(_, chance)| chance).sum();
        assert!((total - 1.0).abs() < 1e-15);
        let double = made.iter().find(|(strands, _)| strands == &[0, 1, 0]).expect("double");
        assert!((double.1 - 0.5 * 0.1 * 0.25).abs() < 1e-15);
    }
}
