//! Values on the command line: chances, numbers, sizes.

/// A chance between 0 and 1, neither of them.
pub fn chance(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(chance) if chance > 0.0 && chance < 1.0 => Ok(chance),
        _ => Err("expected a chance between 0 and 1, such as 0.01".into()),
    }
}

/// A chance over a half, from which on a thing counts as proven.
pub fn above_half(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(chance) if chance > 0.5 && chance < 1.0 => Ok(chance),
        _ => Err("expected a chance over 0.5 and under 1, such as 0.99".into()),
    }
}

/// A number of young, up to 200.
pub fn young(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(number) if number > 0.0 && number <= 200.0 => Ok(number),
        _ => Err("expected a number of young up to 200, such as 6".into()),
    }
}

/// A number of bytes, with K, M, G or T.
pub fn memory(text: &str) -> Result<u64, String> {
    let text = text.trim();
    let split = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let (digits, unit) = text.split_at(split);
    let unit = match unit.trim().to_ascii_lowercase().trim_end_matches("ib").trim_end_matches('b') {
        "" => 1,
        "k" => 1 << 10,
        "m" => 1 << 20,
        "g" => 1 << 30,
        "t" => 1u64 << 40,
        _ => return Err("expected a number of bytes with K, M, G or T, such as 500M".into()),
    };
    let number: u64 = digits.parse().map_err(|_| "expected a number such as 500M or 2G")?;
    number.checked_mul(unit).ok_or_else(|| "that is more than any machine has".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_as_people_write_them() {
        assert_eq!(memory("500M"), Ok(500 << 20));
        assert_eq!(memory("2 GiB"), Ok(2 << 30));
        assert_eq!(memory("1024"), Ok(1024));
        assert!(memory("lots").is_err() && memory("99999999999999999999G").is_err());
    }
}
