//! How many young a clutch has.

use crate::numbers::exp;
use crate::questions::Unanswerable;
use crate::records::Colony;

/// No clutch is planned with more hatched young than these.
const MOST: u32 = 200;

/// Hatched young of a clutch, and clutches of a season.
#[derive(Clone, Debug, PartialEq)]
pub struct Young {
    /// The mean number.
    pub mean: f64,
    /// Each number with its chance.
    pub chances: Vec<(u32, f64)>,
    /// Clutches a female lays in a season.
    pub clutches: f64,
}

impl Young {
    /// What the records say, or what is given instead.
    ///
    /// # Errors
    ///
    /// `Question` when neither says it: no number is built in, as it differs between species.
    pub(super) fn of(colony: &Colony, given: Option<f64>) -> Result<Self, Unanswerable> {
        let (mean, sd) = match (given, colony.clutch_size) {
            (Some(mean), _) => (mean, 0.0),
            (None, Some(size)) => (size.mean, size.sd),
            (None, None) => {
                return Err(Unanswerable::Question(
                    "nothing says how many young hatch from a clutch: write `clutch_size = 6` at \
                     the top of the file, or give --young 6"
                        .into(),
                ));
            }
        };
        let clutches = colony.clutches_per_year.unwrap_or(1.0);
        Ok(Young { mean, chances: spread(mean, sd), clutches })
    }

    /// The usual number: the nearest whole one to the mean.
    pub fn usual(&self) -> u32 {
        whole(self.mean)
    }

    /// The young of a season of one pair.
    pub fn season(&self) -> u32 {
        whole(self.mean * self.clutches.max(1.0))
    }

    /// The mean of something over the numbers of young.
    pub(super) fn mean_of(&self, of: impl Fn(u32) -> f64) -> f64 {
        self.chances.iter().map(|(number, chance)| chance * of(*number)).sum()
    }
}

fn whole(value: f64) -> u32 {
    (0..=MOST)
        .min_by(|a, b| (f64::from(*a) - value).abs().total_cmp(&(f64::from(*b) - value).abs()))
        .unwrap_or(0)
}

/// Whole numbers around a mean: the normal density at each, made to sum to one.
fn spread(mean: f64, sd: f64) -> Vec<(u32, f64)> {
    if sd <= 0.0 {
        return vec![(whole(mean), 1.0)];
    }
    let density = |number: u32| {
        let away = (f64::from(number) - mean) / sd;
        exp(-0.5 * away * away)
    };
    let near = (0..=MOST).filter(|number| (f64::from(*number) - mean).abs() <= 4.0 * sd);
    let mut chances: Vec<(u32, f64)> = near.map(|number| (number, density(number))).collect();
    let all: f64 = chances.iter().map(|(_, chance)| chance).sum();
    if all <= 0.0 {
        return vec![(whole(mean), 1.0)];
    }
    chances.iter_mut().for_each(|(_, chance)| *chance /= all);
    chances
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_of_sizes_sum_to_one_around_the_mean() {
        let chances = spread(6.0, 2.0);
        let sum: f64 = chances.iter().map(|(_, chance)| chance).sum();
        let mean: f64 = chances.iter().map(|(n, chance)| f64::from(*n) * chance).sum();
        assert!((sum - 1.0).abs() < 1e-12 && (mean - 6.0).abs() < 0.02, "{mean}");
        assert_eq!(spread(6.0, 0.0), vec![(6, 1.0)]);
    }
}
