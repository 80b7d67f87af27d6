//! Names that are written from right to left, kept apart from the text around them.

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
    let mut turned = false;
    let mut set_apart = |name: &mut String| {
        if let Some(apart) = apart(name) {
            turned = true;
            *name = apart;
        }
    };
    own.title.iter_mut().for_each(&mut set_apart);
    for animal in &mut own.animals {
        animal.id.iter_mut().for_each(&mut set_apart);
        animal.statements.iter_mut().for_each(|said| set_apart(&mut said.text));
    }
    own.clutches.iter_mut().for_each(|clutch| set_apart(&mut clutch.id));
    for gene in &mut own.genes {
        set_apart(&mut gene.name);
        gene.alleles.iter_mut().chain(&mut gene.looks).for_each(&mut set_apart);
        gene.caution.iter_mut().for_each(&mut set_apart);
    }
    own.combinations.iter_mut().for_each(|combination| set_apart(&mut combination.name));
    if turned { Cow::Owned(own) } else { Cow::Borrowed(colony) }
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
    fn only_names_that_turn_the_text_are_changed() {
        assert_eq!(apart("Pernel"), None);
        assert_eq!(apart("כחול"), Some("\u{2068}כחול\u{2069}".to_owned()));
        assert_eq!(apart("a\u{202e}b"), Some("\u{2068}ab\u{2069}".to_owned()));
    }
}
