//! What a count out of many says of a chance.

use proveout::numbers::{exp, ln_multinomial};

/// The chance of at most `count` hits in `all`.
fn at_most(count: u32, all: u32, p: f64) -> f64 {
    (0..=count).map(|hits| exp(ln_multinomial(&[hits, all - hits], &[p, 1.0 - p]))).sum()
}

/// The largest chance under which so few hits still come up once in a hundred.
///
/// # Source
///
/// Clopper & Pearson 1934, Biometrika 26:404–413, one-sided, 99 %.
pub fn upper(count: u32, all: u32) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if at_most(count, all, middle) > 0.01 { low = middle } else { high = middle }
    }
    high
}

#[test]
fn no_hit_in_n_bounds_the_chance_by_the_closed_form() {
    assert!((upper(0, 100) - (1.0 - 0.01_f64.powf(0.01))).abs() < 1e-12);
    assert!((upper(0, 2) - 0.9).abs() < 1e-12);
    assert!(upper(3, 100) > upper(2, 100));
}
