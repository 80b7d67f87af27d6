//! Probabilities and log weights.
//!
//! The only room that calls `ln` or `exp`, so that every change of scale happens in one place.

mod beta;
mod log_weight;
mod multinomial;
mod probability;
mod quadrature;

pub use beta::{at_least_one, beta_binomial, ln_beta};
pub use log_weight::{LogWeight, exp, ln, log_sum_exp};
pub use multinomial::{at_least, ln_multinomial};
pub use probability::{Interval, Probability};
pub use quadrature::uniform_nodes;
