//! Dates as breeders write them: a day, a month or a year.

/// A date known to the day, the month or the year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Date {
    /// Year.
    pub year: i32,
    /// Month from 1, when known.
    pub month: Option<u8>,
    /// Day from 1, when known.
    pub day: Option<u8>,
}

impl Date {
    /// The first day it can mean, as (year, month, day).
    pub fn earliest(self) -> (i32, u8, u8) {
        (self.year, self.month.unwrap_or(1), self.day.unwrap_or(1))
    }

    /// The last day it can mean, as (year, month, day); day 31 stands for the end of any month.
    pub fn latest(self) -> (i32, u8, u8) {
        (self.year, self.month.unwrap_or(12), self.day.unwrap_or(31))
    }

    /// Whether it lies before `other` whatever both mean exactly.
    pub fn surely_before(self, other: Date) -> bool {
        self.latest() < other.earliest()
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}", self.year)?;
        if let Some(month) = self.month {
            write!(f, "-{month:02}")?;
        }
        if let (Some(_), Some(day)) = (self.month, self.day) {
            write!(f, "-{day:02}")?;
        }
        Ok(())
    }
}
