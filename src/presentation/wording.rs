//! The one place that rounds and words a chance.

/// A chance as people grasp it: natural frequency first, a percentage beside it.
///
/// Never rounded to certainty: `0 in 100` and `100 in 100` only when it is exactly that. Both are
/// rounded alike, and a half is rounded down, so that no chance is told greater for it.
///
/// # Examples
///
/// ```
/// use proveout::presentation::wording::chance;
/// assert_eq!(chance(0.0323), "3 in 100 (3.2 %)");
/// assert_eq!(chance(0.008), "8 in 1,000 (0.8 %)");
/// assert_eq!(chance(0.125), "12 in 100 (12 %)");
/// assert_eq!(chance(0.9999), "9,999 in 10,000 (over 99.9 %)");
/// assert_eq!(chance(1.0), "100 in 100 (100 %)");
/// ```
pub fn chance(p: f64) -> String {
    format!("{} ({})", frequency(p), percent(p))
}

/// A natural frequency: `3 in 100`, `4 in 1,000`.
pub fn frequency(p: f64) -> String {
    if p == 0.0 || p == 1.0 {
        return format!("{} in 100", if p == 1.0 { 100 } else { 0 });
    }
    for (of, written) in [(100.0, "100"), (1_000.0, "1,000"), (10_000.0, "10,000")] {
        // One in a hundred is not said of less.
        if (1.0..=of - 1.0).contains(&(p * of)) {
            return format!("{} in {written}", thousands(half_down(p * of)));
        }
    }
    if p < 0.5 { "fewer than 1 in 10,000".into() } else { "more than 9,999 in 10,000".into() }
}

/// A natural frequency that is never more than the chance: for what is claimed of an animal.
///
/// # Examples
///
/// ```
/// use proveout::presentation::wording::at_least;
/// assert_eq!(at_least(0.669), "66 in 100");
/// assert_eq!(at_least(0.9996), "9,996 in 10,000");
/// assert_eq!(at_least(0.00009), "fewer than 1 in 10,000");
/// ```
pub fn at_least(p: f64) -> String {
    if p >= 1.0 {
        return "100 in 100".into();
    }
    let steps = [(100.0, "100"), (1_000.0, "1,000"), (10_000.0, "10,000")];
    for (at, (of, written)) in steps.into_iter().enumerate() {
        let count = rounded_down(p, of);
        // Near certainty a finer step says more, as long as there is one.
        let too_coarse = count + 1.0 >= of && at + 1 < steps.len();
        if count >= 1.0 && !too_coarse {
            return format!("{} in {written}", thousands(count));
        }
    }
    if p > 0.5 { "9,999 in 10,000".into() } else { "fewer than 1 in 10,000".into() }
}

/// A natural frequency that is never less than the chance: for what is left of a doubt.
///
/// # Examples
///
/// ```
/// use proveout::presentation::wording::at_most;
/// assert_eq!(at_most(0.0323), "4 in 100");
/// assert_eq!(at_most(0.0061), "7 in 1,000");
/// assert_eq!(at_most(1e-9), "1 in 10,000");
/// ```
pub fn at_most(p: f64) -> String {
    if p <= 0.0 {
        return "0 in 100".into();
    }
    let (of, written) = match p {
        p if p > 0.01 => (100.0, "100"),
        p if p > 0.001 => (1_000.0, "1,000"),
        _ => (10_000.0, "10,000"),
    };
    let count = (p * of).ceil();
    let count = if count / of < p { count + 1.0 } else { count };
    format!("{} in {written}", thousands(count.min(of)))
}

/// How many of `of`, rounded down; a product that was itself rounded up is taken back.
fn rounded_down(p: f64, of: f64) -> f64 {
    let count = (p * of).floor();
    if count / of > p { count - 1.0 } else { count }
}

/// A percentage that is never more than the chance, as the trade writes it: `66 %`, `100 %`.
pub fn trade_percent(p: f64) -> String {
    // Half, a third and a quarter of sums of fractions may miss a whole per cent by a last bit.
    format!("{:.0} %", (p * 100.0 + 1e-9).floor())
}

/// A percentage: `67 %`, `3.2 %`, `under 0.1 %`; `0 %` and `100 %` only when exact.
pub fn percent(p: f64) -> String {
    let value = p * 100.0;
    match p {
        _ if p == 0.0 => "0 %".into(),
        _ if p == 1.0 => "100 %".into(),
        _ if value < 0.1 => "under 0.1 %".into(),
        _ if value > 99.9 => "over 99.9 %".into(),
        _ if !(10.0..=90.0).contains(&value) => {
            format!("{:.1} %", half_down(p * 1_000.0) / 10.0)
        }
        _ => format!("{:.0} %", half_down(value)),
    }
}

/// The nearest whole number, the lower of two that are as near.
fn half_down(value: f64) -> f64 {
    (value - 0.5).ceil()
}

/// Odds for a chance: `1 : 32`, `2 : 1`; `none` and `certain` at the ends.
pub fn odds(p: f64) -> String {
    match p {
        _ if p <= 0.0 => "none".into(),
        _ if p >= 1.0 => "certain".into(),
        _ if p < 0.5 => format!("1 : {}", ratio((1.0 - p) / p)),
        _ => format!("{} : 1", ratio(p / (1.0 - p))),
    }
}

/// By what odds were multiplied: `×1/64`, `×3`; `ruled out` and `proven` at the ends.
pub fn multiplier(factor: f64) -> String {
    match factor {
        _ if factor == 0.0 => "ruled out".into(),
        _ if factor.is_infinite() => "proven".into(),
        _ if factor < 1.0 => format!("×1/{}", ratio(1.0 / factor)),
        _ => format!("×{}", ratio(factor)),
    }
}

/// How probable in words, on one scale for the whole program.
///
/// # Source
///
/// After the likelihood scale of the IPCC (Mastrandrea et al. 2010, Guidance Note): over 99 in
/// 100 virtually certain, 90 very likely, 66 likely, 33, 10, 1.
pub fn likelihood_word(p: f64) -> &'static str {
    match p {
        _ if p > 0.99 => "virtually certain",
        _ if p > 0.90 => "very likely",
        _ if p > 0.66 => "likely",
        _ if p >= 0.33 => "about as likely as not",
        _ if p >= 0.10 => "unlikely",
        _ if p >= 0.01 => "very unlikely",
        _ => "exceptionally unlikely",
    }
}

/// How strong evidence is, on one scale for the whole program.
///
/// # Source
///
/// Kass & Raftery 1995, JASA 90:773–795: Bayes factors 3, 20 and 150.
pub fn strength_word(factor: f64) -> &'static str {
    match factor {
        _ if factor < 3.0 => "hardly any",
        _ if factor < 20.0 => "positive",
        _ if factor < 150.0 => "strong",
        _ => "very strong",
    }
}

/// A value of an assumption as it is written in the file.
pub fn plain(value: f64) -> String {
    format!("{value}")
}

/// A number of a table of working: four figures, as many zeros as it takes.
///
/// # Examples
///
/// ```
/// use proveout::presentation::wording::figure;
/// assert_eq!(figure(2.0 / 3.0), "0.6667");
/// assert_eq!(figure(1.0 / 32.0), "0.03125");
/// assert_eq!(figure(1.0), "1");
/// assert_eq!(figure(0.00000123456), "1.235e-6");
/// ```
pub fn figure(value: f64) -> String {
    if value == 0.0 || value == 1.0 || !value.is_finite() {
        return format!("{value}");
    }
    if value.abs() < 1e-4 {
        return format!("{value:.3e}");
    }
    let places = (4..8).find(|places| value.abs() * 10f64.powi(places - 3) >= 1.0).unwrap_or(7);
    let text = format!("{value:.*}", places as usize);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `1 normal`, `6 normals` … for counted young.
pub fn counted(number: u32, one: &str) -> String {
    format!("{number} {one}")
}

/// How many times as probable: `1.5`, `64`, `16,100`.
pub fn times(factor: f64) -> String {
    ratio(factor)
}

/// A coefficient to three places: `0.25`, `0.188`.
pub fn coefficient(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Information in bits, as a number: `0.61`.
pub fn bits(value: f64) -> String {
    format!("{value:.2}")
}

/// The same for one egg of many, where less is told: `0.048`.
pub fn bits_an_egg(value: f64) -> String {
    format!("{value:.3}")
}

/// A number of bytes: `about 1.5 GiB`.
pub fn bytes(number: u64) -> String {
    let gib = number as f64 / (1u64 << 30) as f64;
    if number == u64::MAX {
        "more than 16 million TiB".into()
    } else if gib >= 1024.0 {
        format!("about {:.0} TiB", gib / 1024.0)
    } else if gib >= 1.0 {
        format!("about {gib:.1} GiB")
    } else {
        format!("about {:.1} MiB", gib * 1024.0)
    }
}

fn ratio(value: f64) -> String {
    if value >= 9.95 {
        return thousands(value.round());
    }
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn thousands(value: f64) -> String {
    if value >= 1e9 {
        return format!("{value:.1e}");
    }
    let digits = format!("{value:.0}");
    let mut grouped = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    grouped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_rounded_to_certainty() {
        for p in [1e-12, 1e-5, 0.0004, 0.004, 0.996, 0.99996, 1.0 - 1e-12] {
            assert!(!percent(p).starts_with("0 %") && !percent(p).starts_with("100 %"), "{p}");
            assert!(
                !frequency(p).starts_with("0 in") && !frequency(p).starts_with("100 in"),
                "{p}"
            );
        }
    }

    #[test]
    fn frequency_and_percentage_agree() {
        for (p, want) in [
            (0.125, "12 in 100 (12 %)"),
            (0.135, "13 in 100 (13 %)"),
            (0.008, "8 in 1,000 (0.8 %)"),
            (0.0025, "2 in 1,000 (0.2 %)"),
            (0.0123, "1 in 100 (1.2 %)"),
            (0.01, "1 in 100 (1.0 %)"),
            (0.9925, "992 in 1,000 (99.2 %)"),
            (0.875, "87 in 100 (87 %)"),
            (2.0 / 3.0, "67 in 100 (67 %)"),
            (0.0004, "4 in 10,000 (under 0.1 %)"),
            (0.00006, "fewer than 1 in 10,000 (under 0.1 %)"),
            (0.99994, "more than 9,999 in 10,000 (over 99.9 %)"),
        ] {
            assert_eq!(chance(p), want);
        }
        for thousandth in 100..=900 {
            let p = f64::from(thousandth) / 1_000.0;
            let [count, per_cent] = [frequency(p), percent(p)];
            let first = |text: &str| text.split(' ').next().map(str::to_owned);
            assert_eq!(first(&count), first(&per_cent), "{p}");
        }
    }

    #[test]
    fn odds_and_multipliers_read_as_people_write_them() {
        assert_eq!(odds(1.0 / 33.0), "1 : 32");
        assert_eq!(odds(2.0 / 3.0), "2 : 1");
        assert_eq!(multiplier(1.0 / 64.0), "×1/64");
        assert_eq!(multiplier(0.75), "×1/1.3");
        assert_eq!(multiplier(f64::INFINITY), "proven");
    }
}
