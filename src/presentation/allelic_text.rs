//! One locus or two, in words.

use std::fmt::Write;

use super::check_text::wrapped;
use super::names;
use super::wording::{chance, likelihood_word, percent, strength_word, times};
use crate::questions::{AllelicAnswer, AllelicResult};
use crate::records::Colony;

/// Whether two genes are one locus, as a breeder reads it.
pub fn allelic_text(colony: &Colony, answer: &AllelicAnswer) -> String {
    let [one, other] = answer.genes.map(|gene| colony.gene(gene).name.as_str());
    let mut text = format!("Are {one} and {other} one gene?\n");
    text.push_str(&super::check_text::in_short(colony));
    for warning in &answer.warnings {
        text.push_str(&wrapped(0, 2, &format!("Warning: {warning}")));
    }
    text.push_str(&verdict(answer));
    text.push_str("\n     before          now\n");
    for (result, meaning) in possibilities(answer) {
        let line =
            format!("{:>11}  {:>11}  {meaning}", percent(result.prior), percent(result.posterior));
        text.push_str(&wrapped(0, 26, &line));
    }
    text.push_str(&tests(colony, answer));
    text.push_str(&crossover(answer));
    text
}

fn possibilities(answer: &AllelicAnswer) -> [(&AllelicResult, &'static str); 3] {
    [
        (
            &answer.same_locus,
            "one locus: two versions of one gene; a parent passes one or the other",
        ),
        (&answer.linked, "two genes on one chromosome, that travel together more often than not"),
        (&answer.free, "two genes that are passed on independently"),
    ]
}

fn verdict(answer: &AllelicAnswer) -> String {
    let mut all = possibilities(answer);
    all.sort_by(|a, b| b.0.posterior.total_cmp(&a.0.posterior));
    let [(top, meaning), (next, rival), _] = all;
    let what = |meaning: &str| meaning.split(':').next().unwrap_or_default().to_owned();
    let line = format!(
        "Likeliest: {}: {}, {}.",
        what(meaning),
        chance(top.posterior),
        likelihood_word(top.posterior),
    );
    let mut text = format!("\n{}", wrapped(0, 0, &line));
    let factor = top.times_as_probable_as(next);
    let rival = what(rival);
    let line = if next.log_evidence == f64::NEG_INFINITY {
        format!("The records rule out the next: {rival}.")
    } else if factor < 1.0 {
        format!(
            "The records alone speak for the next, {rival}: {} times as probable under it, {} \
             evidence.",
            times(1.0 / factor),
            strength_word(1.0 / factor),
        )
    } else {
        format!(
            "The records are {} times as probable as under the next, {rival}: {} evidence for it.",
            times(factor),
            strength_word(factor),
        )
    };
    text.push_str(&wrapped(0, 0, &line));
    text
}

fn tests(colony: &Colony, answer: &AllelicAnswer) -> String {
    let [one, other] = answer.genes.map(|gene| colony.gene(gene).name.as_str());
    if answer.tests.is_empty() {
        return format!(
            "\n{}",
            wrapped(
                0,
                0,
                &format!(
                    "No clutch of an animal that surely carries both {one} and {other} was \
                     judged for both: such an animal bred to one that carries neither is the test."
                ),
            )
        );
    }
    let mut text = String::from("\nClutches of animals that carry both\n");
    for test in &answer.tests {
        let [both, first, second, neither] = test.counts;
        let line = format!(
            "{} ({}): {both} both, {first} {one} only, {second} {other} only, {neither} neither",
            colony.clutch(test.clutch).id,
            names::animal(colony, test.parent),
        );
        text.push_str(&wrapped(2, 6, &line));
    }
    let both: Vec<&str> = answer
        .tests
        .iter()
        .filter(|test| test.counts[0] > 0)
        .map(|test| colony.clutch(test.clutch).id.as_str())
        .collect();
    if !both.is_empty() && answer.same_locus.posterior > 0.0 {
        let line = format!(
            "Look again at the young called both ({}): a mate that carries neither can have none \
             with a parent whose two looks are one gene, so that one locus stands only as far as \
             a call may be wrong or the mate may carry one of them.",
            both.join(", "),
        );
        text.push_str(&wrapped(0, 0, &line));
    }
    text
}

fn crossover(answer: &AllelicAnswer) -> String {
    let mut text = String::new();
    if let Some(range) = answer.crossover {
        let line = format!(
            "If they are linked: a crossover in {} of eggs and sperm, {} to {} with 95 % \
             probability.",
            percent(range.mean),
            percent(range.lower),
            percent(range.upper),
        );
        let _ = write!(text, "\n{}", wrapped(0, 0, &line));
    }
    if let Some(bound) = answer.bound {
        let line = format!(
            "{} young of parents that carry both show no recombinant: that bounds the crossover \
             rate at {} (95 % confidence). One locus and two very close ones look alike until a \
             recombinant comes.",
            bound.young,
            percent(bound.below),
        );
        text.push_str(&wrapped(0, 0, &line));
    }
    text
}
