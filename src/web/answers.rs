//! The answers of the engine to one version of the records: asked for here and nowhere else.
//!
//! An answer is worked out when it is first needed and kept for as long as its version is
//! remembered, so that a change is compared with an answer that is there already.

use std::borrow::Cow;
use std::sync::OnceLock;

use proveout::questions::{
    Asked, Expectation, GenotypesAnswer, IdentifyAnswer, LabelsAnswer, ModeAnswer, ModeAsked,
    Moves, Unanswerable, Version, expected, genotypes, identify, labels, mode, moves,
};
use proveout::records::{
    AnimalId, Checked, ClutchId, Colony, Format, Inheritance, Notice, RecordError,
    not_computed_yet, read,
};

use super::desk::Settings;

/// From this chance on a thing counts as proven.
pub const LEVEL: f64 = 0.99;

type Answer<T> = Result<T, Unanswerable>;

/// One version of the records, with the answers to it.
pub struct Sheet {
    /// Its name: SHA-256 of its text.
    pub version: String,
    /// Its text.
    pub text: String,
    /// What it says, or everything that is wrong with it.
    read: Result<Checked, Vec<RecordError>>,
    memory: u64,
    carried: OnceLock<Answer<GenotypesAnswer>>,
    young: OnceLock<Answer<IdentifyAnswer>>,
    modes: OnceLock<Answer<Vec<ModeAnswer>>>,
}

impl Sheet {
    /// Reads a text.
    pub fn read(text: &str, version: String, format: Format, settings: &Settings) -> Self {
        let read = read(text.as_bytes(), format).and_then(|mut checked| {
            for (key, value) in &settings.assume {
                checked.colony.assumptions.set(key, *value);
            }
            let refused = not_computed_yet(&checked.colony);
            if refused.is_empty() { Ok(checked) } else { Err(refused) }
        });
        Sheet {
            version,
            text: text.to_owned(),
            read,
            memory: settings.memory,
            carried: OnceLock::new(),
            young: OnceLock::new(),
            modes: OnceLock::new(),
        }
    }

    /// The colony.
    ///
    /// # Errors
    ///
    /// Everything that is wrong with the text.
    pub fn colony(&self) -> Result<&Colony, &[RecordError]> {
        self.read.as_ref().map(|checked| &checked.colony).map_err(Vec::as_slice)
    }

    /// Doubts about the records that stop nothing.
    pub fn notices(&self) -> &[Notice] {
        self.read.as_ref().map_or(&[], |checked| &checked.notices)
    }

    /// Everything that keeps this version from being answered for: mistakes, or records that
    /// cannot all be true.
    pub fn wrong(&self) -> Vec<RecordError> {
        match self.carried() {
            Err(Unanswerable::Impossible(errors)) => errors,
            _ => Vec::new(),
        }
    }

    fn sound(&self) -> Answer<&Colony> {
        self.colony().map_err(|errors| Unanswerable::Impossible(errors.to_vec()))
    }

    fn all(&self) -> Asked {
        Asked { memory: self.memory, ..Asked::default() }
    }

    /// What every animal carries, without how it came about.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`].
    pub fn carried(&self) -> Answer<&GenotypesAnswer> {
        let ask = || genotypes(self.sound()?, &self.all());
        self.carried.get_or_init(ask).as_ref().map_err(Clone::clone)
    }

    /// What every hatchling is.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`].
    pub fn young(&self) -> Answer<&IdentifyAnswer> {
        let ask = || identify(self.sound()?, &self.all());
        self.young.get_or_init(ask).as_ref().map_err(Clone::clone)
    }

    /// How each suspected gene is inherited, without what the answer rests on.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`].
    pub fn modes(&self) -> Answer<&[ModeAnswer]> {
        let ask = || {
            let colony = self.sound()?;
            let unknown = |gene: &_| colony.gene(*gene).inheritance == Inheritance::Unknown;
            let ask = |gene| {
                let (priors, memory) = (Vec::new(), self.memory);
                mode(colony, &ModeAsked { gene, priors, explain: false, memory })
            };
            colony.gene_ids().filter(unknown).map(ask).collect()
        };
        self.modes.get_or_init(ask).as_deref().map_err(Clone::clone)
    }

    /// How one suspected gene is inherited, with the cross that decides.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`].
    pub fn mode(&self, gene: proveout::records::GeneId) -> Answer<ModeAnswer> {
        let (priors, memory) = (Vec::new(), self.memory);
        mode(self.sound()?, &ModeAsked { gene, priors, explain: true, memory })
    }

    /// What one animal carries, and how that came about.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`].
    pub fn animal(&self, animal: AnimalId) -> Answer<GenotypesAnswer> {
        genotypes(self.sound()?, &Asked { animals: vec![animal], explain: true, ..self.all() })
    }

    /// What could have been expected of one clutch.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`].
    pub fn expected(&self, clutch: ClutchId) -> Answer<Vec<Expectation>> {
        expected(self.sound()?, &Asked { clutches: vec![clutch], ..self.all() })
    }

    /// What may be written on labels.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`].
    pub fn labels(&self) -> Answer<LabelsAnswer> {
        labels(self.sound()?, &Asked { explain: true, ..self.all() }, LEVEL)
    }

    /// What is different here from what it was in an earlier version; of hatchlings only what these
    /// are, where some are named.
    ///
    /// # Errors
    ///
    /// [`Unanswerable`] of this version; an earlier one without answers is compared as empty.
    pub fn moves(&self, earlier: &Sheet, whom: &[AnimalId]) -> Answer<Moves> {
        let colony = self.sound()?;
        // The answers do not need each other, and there may be two processors.
        let (young, carried) = std::thread::scope(|scope| {
            let young = scope.spawn(|| self.young_of(whom));
            let carried = self.carried();
            (young.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)), carried)
        });
        let (young, carried, modes) = (young?, carried?, self.modes()?);
        let after = Version { colony, carried, young: &young, modes };
        Ok(moves(earlier.answers().ok().as_ref(), &after))
    }

    /// What some hatchlings are, or all of them where none is named.
    fn young_of(&self, whom: &[AnimalId]) -> Answer<Cow<'_, IdentifyAnswer>> {
        if whom.is_empty() || self.young.get().is_some() {
            return self.young().map(Cow::Borrowed);
        }
        let asked = Asked { animals: whom.to_vec(), ..self.all() };
        identify(self.sound()?, &asked).map(Cow::Owned)
    }

    /// All answers that a change is compared with.
    fn answers(&self) -> Answer<Version<'_>> {
        let (carried, young, modes) = (self.carried()?, self.young()?, self.modes()?);
        Ok(Version { colony: self.sound()?, carried, young, modes })
    }

    /// Works out beforehand what a change will be compared with.
    pub fn warm(&self) {
        // Whoever asks for it will be told why it cannot be.
        let _ = self.answers();
    }
}
