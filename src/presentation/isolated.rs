//! Names made fit for reading: those from right to left kept apart, long ones shortened.

use std::borrow::Cow;

use crate::records::Colony;

/// Opens and closes a stretch of text whose direction is its own (Unicode Standard Annex 9).
const OPEN: char = '\u{2068}';
const CLOSE: char = '\u{2069}';

/// The colony with every name that could turn the text around it set apart; for reading only.
///
/// Signs that change the direction of text are taken out of names. Names written from left to
/// right stay as they are.
pub fn isolated(colony: &Colony) -> Cow<'_, Colony> {
    let mut own = colony.clone();
    let mut changed = rename(&mut own, &apart);
    for animal in &mut own.animals {
        for said in &mut animal.statements {
            changed |= replace(&mut said.text, &apart);
        }
    }
    for caution in own.genes.iter_mut().filter_map(|gene| gene.caution.as_mut()) {
        changed |= replace(caution, &apart);
    }
    for text in own.title.iter_mut().chain(&mut own.species) {
        changed |= replace(text, &apart);
    }
    if changed { Cow::Owned(own) } else { Cow::Borrowed(colony) }
}

/// The colony with its long names shortened in the middle, for pictures.
pub(super) fn shortened(colony: &Colony) -> Cow<'_, Colony> {
    let mut own = colony.clone();
    if rename(&mut own, &short) { Cow::Owned(own) } else { Cow::Borrowed(colony) }
}

/// Changes every name for which there is another; says whether there was one.
fn rename(colony: &mut Colony, change: &dyn Fn(&str) -> Option<String>) -> bool {
    let ids = colony.animals.iter_mut().filter_map(|animal| animal.id.as_mut());
    let clutches = colony.clutches.iter_mut().map(|clutch| &mut clutch.id);
    let genes = colony.genes.iter_mut().flat_map(|gene| {
        std::iter::once(&mut gene.name).chain(&mut gene.alleles).chain(&mut gene.looks)
    });
    let combinations = colony.combinations.iter_mut().map(|combination| &mut combination.name);
    let names = ids.chain(clutches).chain(genes).chain(combinations);
    // Every one is to be changed, not only the first.
    names.filter_map(|name| replace(name, change).then_some(())).count() > 0
}

fn replace(name: &mut String, change: &dyn Fn(&str) -> Option<String>) -> bool {
    let other = change(name);
    let changed = other.is_some();
    other.into_iter().for_each(|other| *name = other);
    changed
}

/// The longest name that is drawn in full, in characters; and what is kept of its two ends.
const LONGEST: usize = 22;
const KEPT: [usize; 2] = [13, 8];

/// The two ends of a long name; `None` when it need not be cut.
fn short(name: &str) -> Option<String> {
    let turned = name.starts_with(OPEN);
    let letters: Vec<char> = name.chars().filter(|c| !turns(*c)).collect();
    if letters.len() <= LONGEST {
        return None;
    }
    let [first, last] = KEPT;
    let (first, last) = (&letters[..first], &letters[letters.len() - last..]);
    let short: String = first.iter().chain(&['…']).chain(last).collect();
    Some(if turned { format!("{OPEN}{short}{CLOSE}") } else { short })
}

/// A name set apart; `None` when it need not be.
fn apart(name: &str) -> Option<String> {
    name.chars().any(|c| right_to_left(c) || turns(c)).then(|| {
        let kept: String = name.chars().filter(|c| !turns(*c)).collect();
        format!("{OPEN}{kept}{CLOSE}")
    })
}

/// Letters of the scripts that run from right to left.
fn right_to_left(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefc}'
        | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}

/// Signs that change the direction of what follows.
fn turns(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_name_keeps_both_ends() {
        assert_eq!(short("The house by the water, 17"), Some("The house by …ater, 17".into()));
        assert_eq!(short("Pernel"), None);
        let turned = short(&apart(&"ש".repeat(40)).unwrap_or_default()).unwrap_or_default();
        assert!(turned.starts_with(OPEN) && turned.ends_with(CLOSE), "{turned}");
    }

    #[test]
    fn only_names_that_turn_the_text_are_changed() {
        assert_eq!(apart("Pernel"), None);
        assert_eq!(apart("כחול"), Some("\u{2068}כחול\u{2069}".to_owned()));
        assert_eq!(apart("a\u{202e}b"), Some("\u{2068}ab\u{2069}".to_owned()));
    }
}
