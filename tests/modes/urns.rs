//! Looks that are not inherited: rates as urns.

use super::world::Way;

/// The rates at which animals show a look that is not inherited, as urns.
pub struct Urns {
    by_clutch: bool,
    common: [f64; 2],
    clutches: Vec<(usize, [f64; 2])>,
}

impl Urns {
    pub fn new(way: Way) -> Self {
        Urns { by_clutch: way == Way::ClutchEffect, common: [1.0, 99.0], clutches: Vec::new() }
    }

    fn of(&mut self, place: Option<usize>) -> &mut [f64; 2] {
        let Some(clutch) = place.filter(|_| self.by_clutch) else { return &mut self.common };
        let at = match self.clutches.iter().position(|(of, _)| *of == clutch) {
            Some(at) => at,
            None => {
                self.clutches.push((clutch, [0.1, 0.9]));
                self.clutches.len() - 1
            }
        };
        &mut self.clutches[at].1
    }

    pub fn chance(&mut self, place: Option<usize>) -> f64 {
        let [yes, no] = *self.of(place);
        yes / (yes + no)
    }

    pub fn saw(&mut self, place: Option<usize>, hit: bool) {
        self.of(place)[usize::from(!hit)] += 1.0;
    }
}
