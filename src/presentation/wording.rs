//! The one place that rounds and words a chance.

/// A chance as people grasp it: natural frequency first, a percentage beside it.
///
/// Never rounded to certainty: `0 in 100` and `100 in 100` only when it is exactly that.
///
/// # Examples
///
/// ```
/// use proveout::presentation::wording::chance;
/// assert_eq!(chance(0.0323), "3 in 100 (3.2 %)");
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
        let count = (p * of).round();
        if count >= 1.0 && count <= of - 1.0 {
            return format!("{} in {written}", thousands(count));
        }
    }
    if p < 0.5 { "fewer than 1 in 10,000".into() } else { "more than 9,999 in 10,000".into() }
}

/// A percentage: `67 %`, `3.2 %`, `under 0.1 %`; `0 %` and `100 %` only when exact.
pub fn percent(p: f64) -> String {
    let value = p * 100.0;
    match p {
        _ if p == 0.0 => "0 %".into(),
        _ if p == 1.0 => "100 %".into(),
        _ if value < 0.1 => "under 0.1 %".into(),
        _ if value > 99.9 => "over 99.9 %".into(),
        _ if !(10.0..=90.0).contains(&value) => format!("{value:.1} %"),
        _ => format!("{value:.0} %"),
    }
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
    fn odds_and_multipliers_read_as_people_write_them() {
        assert_eq!(odds(1.0 / 33.0), "1 : 32");
        assert_eq!(odds(2.0 / 3.0), "2 : 1");
        assert_eq!(multiplier(1.0 / 64.0), "×1/64");
        assert_eq!(multiplier(0.75), "×1/1.3");
        assert_eq!(multiplier(f64::INFINITY), "proven");
    }
}
