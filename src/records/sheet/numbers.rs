//! Counts in cells: eggs, and young as `1.2.3` (males, females, unsexed).

/// A count goes up to this.
const MOST: u32 = 1_000_000;

/// A whole number; `6.0`, or `6,0` where the comma is the decimal mark, is 6.
pub(super) fn whole(text: &str, decimal_comma: bool) -> Result<u32, String> {
    let mark = if decimal_comma { ',' } else { '.' };
    let number = match text.split_once(mark) {
        Some((number, zeros)) if !zeros.is_empty() && zeros.bytes().all(|b| b == b'0') => number,
        _ => text,
    };
    parse(number).ok_or_else(|| "is not a whole number".to_string())
}

fn parse(text: &str) -> Option<u32> {
    let digits = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if digits { text.parse().ok().filter(|number| *number <= MOST) } else { None }
}

/// Young as males, females and unsexed: `3`, `1.2` or `1.2.3`.
pub(super) fn young(text: &str, decimal_comma: bool) -> Result<[u32; 3], String> {
    let parts: Option<Vec<u32>> = text.split('.').map(|part| parse(part.trim())).collect();
    match parts.as_deref() {
        Some([unsexed]) => Ok([0, 0, *unsexed]),
        Some([males, females, unsexed]) => Ok([*males, *females, *unsexed]),
        // A spreadsheet writes 3.0 for 3 as well.
        Some([_, 0]) if !decimal_comma => {
            Err(format!("may be a number or males and females; write `{text}.0` for the latter"))
        }
        Some([males, females]) => Ok([*males, *females, 0]),
        _ if decimal_comma => whole(text, true).map(|unsexed| [0, 0, unsexed]),
        _ => Err("is not a count of young, such as 3 or 1.2.0".to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_read_as_keepers_write_them() {
        assert_eq!(young("3", false), Ok([0, 0, 3]));
        assert_eq!(young("1.2", false), Ok([1, 2, 0]));
        assert_eq!(young("1.2.3", false), Ok([1, 2, 3]));
        assert_eq!(young("3,0", true), Ok([0, 0, 3]));
        for wrong in ["", "-1", "1.2.3.4", "three", "3.0", "9999999", "+1", "1..2"] {
            assert!(young(wrong, false).is_err(), "{wrong}");
        }
        assert_eq!(whole("6.0", false), Ok(6));
        assert_eq!(whole("6,00", true), Ok(6));
        assert!(whole("6.5", false).is_err() && whole("6,0", false).is_err());
    }
}
