//! Integrals by Gauss–Legendre nodes.

use std::num::NonZeroUsize;

use gauss_quad::GaussLegendre;

/// Nodes of a stretch and their weights; the weights sum to one, as for a uniform distribution.
///
/// # Source
///
/// Gauss–Legendre quadrature, exact for polynomials up to degree `2 · number − 1`.
pub fn uniform_nodes(lower: f64, upper: f64, number: NonZeroUsize) -> Vec<(f64, f64)> {
    let rule = GaussLegendre::new(number);
    let middle = f64::midpoint(lower, upper);
    let half = (upper - lower) / 2.0;
    rule.iter().map(|(node, weight)| (middle + half * node, weight / 2.0)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_give_the_moments_of_the_uniform_distribution() {
        let nodes = uniform_nodes(0.5, 1.0, NonZeroUsize::new(6).unwrap());
        let moment = |power: i32| nodes.iter().map(|(x, w)| w * x.powi(power)).sum::<f64>();
        assert!((moment(0) - 1.0).abs() < 1e-14);
        assert!((moment(1) - 0.75).abs() < 1e-14);
        assert!((moment(11) - (1.0 - 0.5f64.powi(12)) / (12.0 * 0.5)).abs() < 1e-14);
    }
}
