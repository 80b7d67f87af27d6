//! What was typed into a field, as an entry of the records.

use proveout::presentation::page::{Fault, YoungForm};
use proveout::records::Date;
use proveout::records::edit::Entry;

/// Text, each line ended by one sign: a browser sends two.
pub fn text(value: &str) -> Entry {
    Entry::Text(lines(value))
}

fn lines(value: &str) -> String {
    value.replace("\r\n", "\n")
}

/// Whether two texts are the same, however their lines are ended.
pub fn same_lines(one: &str, other: &str) -> bool {
    lines(one) == lines(other)
}

/// What an animal may be, of two, each with how well its look fits that.
pub fn either(prefix: &str, what: &str, call: &YoungForm, faults: &mut Vec<Fault>) -> Entry {
    let mut one = |place: usize| {
        let (names, fit) = &call.either[place];
        let field = format!("{prefix}-{}-fit", ["first", "second"][place]);
        let read = decimal(&field, what, [0.0, 1.0], fit, faults);
        if fit.is_empty() {
            faults.push(Fault::new(&field, format!("{what}: a number from 0 to 1")));
        }
        let fit = Entry::Number(read.unwrap_or_default());
        Entry::Table(vec![("looks".into(), looks(names)), ("fit".into(), fit)])
    };
    Entry::List(vec![one(0), one(1)])
}

/// A list of names; `normal` where there is none.
pub fn looks(names: &[String]) -> Entry {
    if names.is_empty() { Entry::List(vec![text("normal")]) } else { list(names) }
}

/// A list of names.
pub fn list(names: &[String]) -> Entry {
    Entry::List(names.iter().map(|name| text(name)).collect())
}

/// A date where it is one; other text is left to the reader, which says what is wrong with it.
pub fn date(value: &str) -> Entry {
    let parts: Vec<Option<u32>> = value.split('-').map(digits).collect();
    let part = |number: u32| u8::try_from(number).ok();
    let read = || {
        let (year, month, day) = match parts.as_slice() {
            [Some(year)] => (*year, None, None),
            [Some(year), Some(month)] => (*year, Some(part(*month)?), None),
            [Some(year), Some(month), Some(day)] => (*year, Some(part(*month)?), Some(part(*day)?)),
            _ => return None,
        };
        let year = i32::try_from(year).ok()?;
        Some(Date { year, month, day })
    };
    // Only what is written in the same way again can be taken for the date that was meant.
    match read() {
        Some(date) if date.to_string() == value => Entry::Date(date),
        _ => text(value),
    }
}

fn digits(part: &str) -> Option<u32> {
    let all = !part.is_empty() && part.len() < 5 && part.bytes().all(|byte| byte.is_ascii_digit());
    all.then(|| part.parse().ok()).flatten()
}

/// A whole number of young or eggs; empty is none.
pub fn whole(field: &str, what: &str, value: &str, faults: &mut Vec<Fault>) -> Option<u32> {
    if value.is_empty() {
        return None;
    }
    match value.parse::<u32>() {
        Ok(number) if number <= 100_000 => Some(number),
        _ => {
            faults.push(Fault::new(field, format!("{what}: a whole number, such as 6")));
            None
        }
    }
}

/// A number, with a point or a comma; empty is none.
pub fn decimal(
    field: &str,
    what: &str,
    [least, most]: [f64; 2],
    value: &str,
    faults: &mut Vec<Fault>,
) -> Option<f64> {
    if value.is_empty() {
        return None;
    }
    match value.replace(',', ".").parse::<f64>() {
        Ok(number) if (least..=most).contains(&number) => Some(number),
        _ => {
            let words = match most < f64::MAX {
                true => format!("{what}: a number from {least} to {most}, such as 0.7"),
                false => format!("{what}: a number of {least} or more, such as 0.7"),
            };
            faults.push(Fault::new(field, words));
            None
        }
    }
}

/// A name like the last one, with the next number or letter at its end: `2024-A` gives `2024-B`.
pub fn next_name<'n>(last: &str, taken: impl Iterator<Item = &'n str> + Clone) -> String {
    let mut name = last.to_owned();
    for _ in 0..1000 {
        name = after(&name);
        if !taken.clone().any(|one| one == name) {
            return name;
        }
    }
    String::new()
}

fn after(name: &str) -> String {
    let digits = name.bytes().rev().take_while(u8::is_ascii_digit).count();
    let (head, tail) = name.split_at(name.len() - digits);
    if let Ok(number) = tail.parse::<u64>()
        && number < u64::MAX
    {
        return format!("{head}{:0width$}", number + 1, width = digits);
    }
    match name.chars().next_back() {
        Some(last @ ('A'..='Y' | 'a'..='y')) => {
            let next = char::from_u32(u32::from(last) + 1).unwrap_or(last);
            format!("{}{next}", &name[..name.len() - 1])
        }
        _ => format!("{name}-2"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_known_to_the_day_the_month_or_the_year() {
        let date_of = |year, month, day| Entry::Date(Date { year, month, day });
        assert_eq!(date("2024-06-01"), date_of(2024, Some(6), Some(1)));
        assert_eq!(date("2024-06"), date_of(2024, Some(6), None));
        assert_eq!(date("2024"), date_of(2024, None, None));
        for odd in ["1.6.2024", "2024-6-1", "last week", "2024-06-01-1", "", "99999"] {
            assert_eq!(date(odd), text(odd));
        }
    }

    #[test]
    fn numbers_take_a_comma_and_say_what_they_want() {
        let mut faults = Vec::new();
        assert_eq!(decimal("f", "Fit", [0.0, 1.0], "0,7", &mut faults), Some(0.7));
        assert_eq!(whole("n", "Eggs", "6", &mut faults), Some(6));
        assert_eq!((whole("n", "Eggs", "", &mut faults), faults.len()), (None, 0));
        assert_eq!(decimal("f", "Fit", [0.0, 1.0], "NaN", &mut faults), None);
        assert_eq!(whole("n", "Eggs", "-1", &mut faults), None);
        assert_eq!(faults.len(), 2);
    }

    #[test]
    fn the_next_name_is_one_that_is_free() {
        let taken = ["2024-A", "2024-B", "24A-9", "x"];
        let next = |last| next_name(last, taken.into_iter());
        assert_eq!(next("2024-A"), "2024-C");
        assert_eq!(next("24A-9"), "24A-10");
        assert_eq!(next("x"), "y");
        assert_eq!(next("Nest"), "Nesu");
        assert_eq!(next("ë"), "ë-2");
    }
}
