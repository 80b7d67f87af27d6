//! Dates as they are written in Europe and America, to the day, the month or the year.

use crate::records::Date;

use super::words::MONTHS;

/// What stands first in a date of three numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// 31.12.2024
    Day,
    /// 12/31/2024
    Month,
    /// 24-12-31; a year of four digits in front needs no order.
    Year,
}

impl Order {
    /// Every order, with the words of the mapping for it.
    pub const WORDS: [(&'static str, Order); 3] =
        [("day first", Order::Day), ("month first", Order::Month), ("year first", Order::Year)];
}

/// The signs that may stand between the numbers of a date.
pub const SIGNS: [char; 3] = ['.', '/', '-'];

/// How the dates of a sheet are to be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DateRules {
    /// The order for each of [`SIGNS`], where it is known.
    pub orders: [Option<Order>; 3],
    /// The first of the hundred years that two digits stand for.
    pub years_from: u16,
}

impl Default for DateRules {
    fn default() -> Self {
        DateRules { orders: [None; 3], years_from: 1970 }
    }
}

impl DateRules {
    /// Reads a date.
    ///
    /// # Errors
    ///
    /// Why it is none, as a fragment that goes on from the text of the cell.
    pub fn read(&self, text: &str) -> Result<Date, String> {
        let text = without_time(text);
        if text.chars().any(char::is_alphabetic) {
            return self.with_month_name(text);
        }
        if text.len() == 8
            && let Some([year, month, day]) = eight_digits(text)
        {
            return calendar(year, Some(month), Some(day));
        }
        let found = SIGNS.iter().position(|sign| text.contains(*sign));
        let Some(sign) = found else { return lone_number(text) };
        let parts: Option<Vec<(u16, usize)>> = text.split(SIGNS[sign]).map(number).collect();
        match parts.as_deref() {
            Some([(year, 4), (month, _)] | [(month, _), (year, 4)]) => {
                calendar(*year, Some(*month), None)
            }
            Some([(year, 4), (month, _), (day, _)]) => calendar(*year, Some(*month), Some(*day)),
            Some([one, other, last @ (_, 2 | 4)]) => self.in_order(sign, [*one, *other, *last]),
            Some([_, _]) => Err("does not say which year".to_string()),
            _ => Err("is not a date".to_string()),
        }
    }

    fn in_order(&self, sign: usize, parts: [(u16, usize); 3]) -> Result<Date, String> {
        let Some(order) = self.orders[sign] else {
            return Err(format!(
                "may be day or month first; the mapping gives no order for dates with `{}`",
                SIGNS[sign]
            ));
        };
        let (year, month, day) = arranged(parts, order);
        if order == Order::Year && parts[2].1 == 4 {
            return Err("does not have its year first".to_string());
        }
        calendar(self.full_year(year), Some(month.0), Some(day.0))
    }

    fn full_year(&self, (year, digits): (u16, usize)) -> u16 {
        if digits > 2 {
            return year;
        }
        let century = self.years_from / 100 * 100;
        if century + year < self.years_from { century + 100 + year } else { century + year }
    }

    fn with_month_name(&self, text: &str) -> Result<Date, String> {
        let tokens: Vec<&str> =
            text.split(|sign: char| !sign.is_alphanumeric()).filter(|t| !t.is_empty()).collect();
        let month = |token: &str| {
            let token = token.to_lowercase();
            let named = |(_, names): &(u8, &[&str])| names.contains(&token.as_str());
            MONTHS.iter().find(|month| named(month)).map(|(month, _)| u16::from(*month))
        };
        let digits = |token: &str| {
            let ending = ["st", "nd", "rd", "th", "er"].iter().find_map(|e| token.strip_suffix(e));
            number(ending.unwrap_or(token))
        };
        let (at, month) = tokens
            .iter()
            .enumerate()
            .find_map(|(at, token)| Some((at, month(token)?)))
            .ok_or("is not a date")?;
        let rest: Option<Vec<(u16, usize)>> =
            tokens.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, t)| digits(t)).collect();
        match (at, rest.ok_or("is not a date")?.as_slice()) {
            (_, [(year, 4)]) => calendar(*year, Some(month), None),
            (_, [_]) => Err("does not say whether the number is a day or a year".to_string()),
            (1, [(year, 4), (day, _)]) => calendar(*year, Some(month), Some(*day)),
            (0 | 1, [(day, _), year @ (_, 2 | 4)]) => {
                calendar(self.full_year(*year), Some(month), Some(*day))
            }
            _ => Err("is not a date".to_string()),
        }
    }
}

/// Year, month and day of three numbers in this order.
fn arranged<T: Copy>([a, b, c]: [T; 3], order: Order) -> (T, T, T) {
    match order {
        Order::Day => (c, b, a),
        Order::Month => (c, a, b),
        Order::Year => (a, b, c),
    }
}

/// A time of day that a spreadsheet wrote behind the date.
fn without_time(text: &str) -> &str {
    let text = text.trim();
    let cut = text.rfind([' ', 'T']).filter(|at| {
        let time = &text[at + 1..];
        time.contains(':') && time.starts_with(|sign: char| sign.is_ascii_digit())
    });
    cut.map_or(text, |at| text[..at].trim_end())
}

fn number(part: &str) -> Option<(u16, usize)> {
    let part = part.trim();
    let plain = (1..=4).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
    if plain { part.parse().ok().map(|number| (number, part.len())) } else { None }
}

fn eight_digits(text: &str) -> Option<[u16; 3]> {
    let digits = text.bytes().all(|byte| byte.is_ascii_digit());
    let part = |from: usize, to: usize| text[from..to].parse::<u16>().ok();
    if digits { Some([part(0, 4)?, part(4, 6)?, part(6, 8)?]) } else { None }
}

fn lone_number(text: &str) -> Result<Date, String> {
    match number(text) {
        Some((year, 4)) => calendar(year, None, None),
        _ if text.len() == 5 && text.bytes().all(|byte| byte.is_ascii_digit()) => {
            Err("is a day number of the spreadsheet; format the column as a date".to_string())
        }
        _ => Err("is not a date".to_string()),
    }
}

fn calendar(year: u16, month: Option<u16>, day: Option<u16>) -> Result<Date, String> {
    let leap = year.is_multiple_of(4) && !year.is_multiple_of(100) || year.is_multiple_of(400);
    let days = match month {
        Some(2) if leap => 29,
        Some(2) => 28,
        Some(4 | 6 | 9 | 11) => 30,
        _ => 31,
    };
    let sound = (1900..=2199).contains(&year)
        && month.is_none_or(|month| (1..=12).contains(&month))
        && day.is_none_or(|day| (1..=days).contains(&day));
    if !sound {
        return Err("is not a date of the calendar".to_string());
    }
    let small = |value: Option<u16>| value.and_then(|value| u8::try_from(value).ok());
    Ok(Date { year: i32::from(year), month: small(month), day: small(day) })
}

/// What the dates of a sheet say about their order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OrderEvidence {
    /// The orders in which every date with this sign exists; `None`: no such dates.
    pub possible: Option<Vec<Order>>,
    /// One date of the sheet with this sign, for the question.
    pub example: String,
}

/// For each of [`SIGNS`], the orders that the dates leave possible.
///
/// METHOD: with two digits, "year first" is thought of only when the other orders are impossible:
/// otherwise nearly every sheet would have to be asked about.
pub fn evidence<'t>(texts: impl Iterator<Item = &'t str> + Clone) -> [OrderEvidence; 3] {
    [0, 1, 2].map(|sign| {
        let dates = texts.clone().map(without_time).filter(|text| needs_order(text, sign));
        let Some(example) = dates.clone().next() else { return OrderEvidence::default() };
        let fits = |order: Order| {
            let mut rules = DateRules::default();
            rules.orders[sign] = Some(order);
            dates.clone().all(|text| rules.read(text).is_ok())
        };
        let usual = [Order::Day, Order::Month];
        let mut possible: Vec<Order> = usual.into_iter().filter(|order| fits(*order)).collect();
        if possible.is_empty() && fits(Order::Year) {
            possible.push(Order::Year);
        }
        OrderEvidence { possible: Some(possible), example: example.to_string() }
    })
}

/// Whether this is a date of three numbers that exists in one order at least.
fn needs_order(text: &str, sign: usize) -> bool {
    let mut rules = DateRules::default();
    if SIGNS.iter().position(|s| text.contains(*s)) != Some(sign) || rules.read(text).is_ok() {
        return false;
    }
    Order::WORDS.iter().any(|(_, order)| {
        rules.orders[sign] = Some(*order);
        rules.read(text).is_ok()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, order: Order) -> Result<String, String> {
        let rules = DateRules { orders: [Some(order); 3], ..DateRules::default() };
        rules.read(text).map(|date| date.to_string())
    }

    #[test]
    fn dates_of_europe_and_america_are_read() {
        for text in [
            "31.12.2024",
            "31/12/24",
            "2024-12-31",
            "31 Dec 2024",
            "Dec 31, 2024",
            "31. Dezember 2024",
            "31-Dec-24",
            "2024-12-31 00:00:00",
            "20241231",
            "31.12.24",
        ] {
            assert_eq!(read(text, Order::Day).as_deref(), Ok("2024-12-31"), "{text}");
        }
        assert_eq!(read("12/31/2024", Order::Month).as_deref(), Ok("2024-12-31"));
        assert_eq!(read("24-12-31", Order::Year).as_deref(), Ok("2024-12-31"));
        for text in ["Dec 2024", "12/2024", "2024-12", "déc. 2024", "December 2024"] {
            assert_eq!(read(text, Order::Day).as_deref(), Ok("2024-12"), "{text}");
        }
        assert_eq!(read("2024", Order::Day).as_deref(), Ok("2024"));
        assert_eq!(read("5.6.98", Order::Day).as_deref(), Ok("1998-06-05"));
    }

    #[test]
    fn what_is_no_date_is_refused() {
        for text in [
            "30.02.2024",
            "12/31/2024",
            "5/6",
            "Dec 24",
            "45657",
            "soon",
            "1.2.3.4",
            "",
            "32.1.24",
            "é",
            "T:",
            "1/1/1",
            "may",
        ] {
            assert!(read(text, Order::Day).is_err(), "{text}");
        }
        assert!(DateRules::default().read("05/06/2024").unwrap_err().contains("day or month"));
    }

    #[test]
    fn the_order_is_settled_only_by_dates_that_exist_in_one_order() {
        let orders = |texts: &[&str]| evidence(texts.iter().copied())[1].possible.clone();
        assert_eq!(orders(&["05/06/24", "31/12/24"]), Some(vec![Order::Day]));
        assert_eq!(orders(&["05/06/24", "12/31/2024"]), Some(vec![Order::Month]));
        assert_eq!(orders(&["05/06/24"]), Some(vec![Order::Day, Order::Month]));
        assert_eq!(orders(&["31/12/24", "12/31/24"]), Some(vec![]));
        assert_eq!(orders(&["99/12/31"]), Some(vec![Order::Year]));
        assert_eq!(orders(&["2024-05-06", "2024"]), None);
    }
}
