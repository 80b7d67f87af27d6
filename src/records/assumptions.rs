//! The keeper's assumptions, each with its default.

/// What the keeper assumes; none of these has a published value for the trade.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assumptions {
    /// Frequency of each mutant allele in unrelated stock.
    pub background: f64,
    /// Chance that one call on one gene names the wrong look.
    pub misread: f64,
    /// Chance that a whole clutch has another, unrecorded sire.
    pub other_sire: f64,
    /// Chance that a hatchling with an id is not from its clutch.
    pub mix_up: f64,
    /// Chance that a fertile egg of viable genotype dies.
    pub egg_loss: f64,
    /// Chance that a seller's statement is right.
    pub trust: f64,
    /// Chance that a young without a father has both alleles of a differing dam.
    pub virgin_heterozygosity: f64,
}

impl Default for Assumptions {
    fn default() -> Self {
        Assumptions {
            background: 0.005,
            misread: 0.001,
            other_sire: 0.0,
            mix_up: 0.0,
            egg_loss: 0.1,
            trust: 1.0,
            virgin_heterozygosity: 0.0,
        }
    }
}

impl Assumptions {
    /// The keys of `[assume]`, in the order of the format.
    pub const KEYS: [&'static str; 7] = [
        "background",
        "misread",
        "other_sire",
        "mix_up",
        "egg_loss",
        "trust",
        "virgin_heterozygosity",
    ];

    /// The value of a key of `[assume]`, or `None` when there is no such key.
    pub fn get(&self, key: &str) -> Option<f64> {
        let mut copy = *self;
        copy.slot(key).map(|value| *value)
    }

    /// Sets the value of a key of `[assume]`; `false` when there is no such key.
    pub fn set(&mut self, key: &str, value: f64) -> bool {
        self.slot(key).map(|slot| *slot = value).is_some()
    }

    fn slot(&mut self, key: &str) -> Option<&mut f64> {
        Some(match key {
            "background" => &mut self.background,
            "misread" => &mut self.misread,
            "other_sire" => &mut self.other_sire,
            "mix_up" => &mut self.mix_up,
            "egg_loss" => &mut self.egg_loss,
            "trust" => &mut self.trust,
            "virgin_heterozygosity" => &mut self.virgin_heterozygosity,
            _ => return None,
        })
    }
}
