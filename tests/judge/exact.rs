//! Exact numbers: rationals, and the few ways the judge makes them.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, ToPrimitive, Zero};

/// An exact number.
pub type Exact = BigRational;

/// A number of the records, taken as exactly what its `f64` says.
pub fn exact(number: f64) -> Exact {
    BigRational::from_float(number).expect("the records hold finite numbers only")
}

/// The fraction `above / below`.
pub fn fraction(above: i64, below: i64) -> Exact {
    BigRational::new(BigInt::from(above), BigInt::from(below))
}

/// A whole number.
pub fn whole(number: usize) -> Exact {
    BigRational::from_integer(BigInt::from(number))
}

/// Zero.
pub fn zero() -> Exact {
    Exact::zero()
}

/// One.
pub fn one() -> Exact {
    Exact::one()
}

/// `above / below`, where 0/0 is 0 (and so is anything over 0: nothing can be left there).
pub fn over(above: &Exact, below: &Exact) -> Exact {
    if below.is_zero() { zero() } else { above / below }
}

/// The weights divided by their sum; all zero when the sum is.
pub fn normalised(weights: &[Exact]) -> Vec<Exact> {
    let total: Exact = weights.iter().sum();
    weights.iter().map(|weight| over(weight, &total)).collect()
}

/// Adds to what a map has under a key.
pub fn add<K: Ord>(sums: &mut BTreeMap<K, Exact>, key: K, value: Exact) {
    match sums.entry(key) {
        Entry::Vacant(place) => _ = place.insert(value),
        Entry::Occupied(mut sum) => *sum.get_mut() += value,
    }
}

/// `base` to the power `exponent`.
pub fn power(base: &Exact, exponent: usize) -> Exact {
    num_traits::pow(base.clone(), exponent)
}

/// The nearest `f64`, also for a fraction whose parts are too large for one.
pub fn float(number: &Exact) -> f64 {
    if number.is_zero() {
        return 0.0;
    }
    // Keep the leading 1000 bits of each part; the shifts cancel or are put back at the end.
    let kept = |part: &BigInt| {
        let excess = part.bits().saturating_sub(1000);
        (part >> excess, i64::try_from(excess).expect("no number is that long"))
    };
    let (above, up) = kept(number.numer());
    let (below, down) = kept(number.denom());
    let quotient = BigRational::new(above, below).to_f64().expect("parts of 1000 bits fit");
    quotient * 2f64.powi(i32::try_from(up - down).expect("no number is that large"))
}

/// The natural logarithm of a number, however small; minus infinity for zero.
pub fn ln(number: &Exact) -> f64 {
    if number.is_zero() {
        return f64::NEG_INFINITY;
    }
    let part = |part: &BigInt| {
        let excess = part.bits().saturating_sub(1000);
        let leading = (part >> excess).to_f64().expect("1000 bits fit");
        leading.ln() + excess as f64 * std::f64::consts::LN_2
    };
    part(number.numer()) - part(number.denom())
}
