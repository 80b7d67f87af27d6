//! What a cell about looks says: one word or several, seen or told.

use super::names::Names;
use super::words::{NORMAL, fold};
use crate::records::{GeneId, Look, Says};

/// One thing that a cell says, as it stands there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// The words of the cell for it, in small letters.
    pub text: String,
    /// What kind of thing it says.
    pub form: Form,
    /// The name it says it of; empty for `normal`.
    pub name: String,
}

/// The forms in which a cell speaks of a gene.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// Shows nothing.
    Normal,
    /// A name alone, perhaps of a look.
    Named,
    /// `vis NAME`: the look, without doubt about that.
    Visual,
    /// `het NAME`, or with a percentage as it was written.
    Het(Option<String>),
    /// `poss het NAME` without a percentage.
    Possible,
    /// `not het NAME`.
    NotHet,
    /// `66% NAME`: a percentage of something that is not said.
    PercentOnly(String),
}

/// One thing that a cell says, understood.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// Shows nothing.
    Normal,
    /// These looks: one, or those of a combination.
    Looks(Vec<Look>, String),
    /// A statement on one gene, in the words of a records file.
    Told(GeneId, Says, String),
}

/// Why something is not understood, and what may help.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// What is wrong: a lower-case fragment without a full stop.
    pub reason: String,
    /// The next step or the nearest name.
    pub help: Option<String>,
}

impl Trouble {
    /// A trouble without help.
    pub fn new(reason: impl Into<String>) -> Trouble {
        Trouble { reason: reason.into(), help: None }
    }

    /// Adds what may help.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Trouble {
        self.help = Some(help.into());
        self
    }
}

/// Splits a cell where keepers put a sign between two things; a comma within a number does not
/// count.
pub fn pieces(cell: &str) -> Vec<String> {
    let signs: Vec<char> = cell.chars().collect();
    let mut pieces = vec![String::new()];
    for (at, sign) in signs.iter().enumerate() {
        let digit =
            |at: Option<usize>| at.and_then(|at| signs.get(at)).is_some_and(char::is_ascii_digit);
        let decimal = *sign == ',' && digit(at.checked_sub(1)) && digit(Some(at + 1));
        if matches!(sign, ',' | ';' | '+' | '&' | '/' | '\n' | '\r' | '|') && !decimal {
            pieces.push(String::new());
        } else if let Some(last) = pieces.last_mut() {
            last.push(*sign);
        }
    }
    let words = |piece: &String| piece.split_whitespace().collect::<Vec<_>>().join(" ");
    pieces.iter().map(words).filter(|piece| !piece.is_empty()).collect()
}

/// What was said in front of a name.
#[derive(Default)]
struct Before {
    percent: Option<String>,
    possible: bool,
    not: bool,
    het: bool,
    visual: bool,
    text: Vec<String>,
}

/// Takes a piece of a cell apart into the things it says.
///
/// Names are found by the longest one that is known; what is not known is taken as one name up to
/// the next word of the trade.
pub fn items(names: &Names, piece: &str) -> Vec<Item> {
    let spaced = piece.replace('%', "% ").replace(" %", "%");
    let tokens: Vec<&str> = spaced.split_whitespace().collect();
    let mut items = Vec::new();
    let mut before = Before::default();
    let mut at = 0;
    while at < tokens.len() {
        let known = names.longest_name(&tokens[at..]);
        if known < 2 && take_keyword(&mut before, &tokens, at, known == 1) {
            at += 1;
            continue;
        }
        let length = if known > 0 { known } else { unknown_name(names, &tokens[at..]) };
        let words = &tokens[at..at + length];
        items.push(item(std::mem::take(&mut before), words));
        at += length;
    }
    if !before.text.is_empty() {
        items.push(item(before, &[]));
    }
    items
}

fn keyword(token: &str) -> String {
    token.to_lowercase().trim_end_matches(['.', ':']).to_string()
}

fn is_percent(token: &str) -> bool {
    let number = token.strip_suffix('%').unwrap_or_default();
    !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit() || b".,".contains(&byte))
}

/// Notes a word of the trade in front of a name; `false` when it is none.
fn take_keyword(before: &mut Before, tokens: &[&str], at: usize, is_name: bool) -> bool {
    let token = tokens[at];
    let word = keyword(token);
    let next_het = tokens.get(at + 1).is_some_and(|next| keyword(next) == "het");
    match word.as_str() {
        _ if is_percent(token) => before.percent = token.strip_suffix('%').map(str::to_string),
        "het" | "hets" | "heterozygous" if !is_name => before.het = true,
        "poss" | "pos" | "possible" | "possibly" | "ph" | "mögl" | "evtl" if !is_name => {
            before.possible = true;
        }
        "not" | "no" | "nicht" | "kein" if next_het => before.not = true,
        "vis" | "visual" if !is_name => before.visual = true,
        _ => return false,
    }
    before.text.push(token.to_lowercase());
    true
}

/// How many tokens an unknown name has: up to the next known name or word of the trade.
fn unknown_name(names: &Names, tokens: &[&str]) -> usize {
    let first_two = tokens.get(..2).map(|two| fold(&two.join(" ")));
    if first_two.is_some_and(|two| NORMAL.contains(&two.as_str())) {
        return 2;
    }
    let ends = |at: &usize| {
        let mut before = Before::default();
        names.longest_name(&tokens[*at..]) > 0 || take_keyword(&mut before, tokens, *at, false)
    };
    (1..tokens.len()).find(ends).unwrap_or(tokens.len())
}

fn item(mut before: Before, words: &[&str]) -> Item {
    let name = words.join(" ");
    before.text.push(name.to_lowercase());
    let text = before.text.join(" ").trim().to_string();
    let form = match before {
        Before { not: true, .. } => Form::NotHet,
        Before { percent: Some(percent), het: true, .. } => Form::Het(Some(percent)),
        Before { possible: true, percent: Some(percent), .. } => Form::Het(Some(percent)),
        Before { possible: true, .. } => Form::Possible,
        Before { het: true, .. } => Form::Het(None),
        Before { percent: Some(percent), .. } => Form::PercentOnly(percent),
        Before { visual: true, .. } => Form::Visual,
        _ if NORMAL.contains(&fold(&name).as_str()) => Form::Normal,
        _ => Form::Named,
    };
    Item { text, form, name }
}

/// What an item means with these names.
///
/// # Errors
///
/// Why it means nothing, with the nearest name.
pub fn meaning(names: &Names, item: &Item) -> Result<Meaning, Trouble> {
    let name = item.name.as_str();
    if name.is_empty() {
        return Err(Trouble::new(format!("`{}` names nothing", item.text)));
    }
    match &item.form {
        Form::Normal => Ok(Meaning::Normal),
        Form::Named | Form::Visual => match names.look(name) {
            Some(looks) => {
                let name = names.look_name(name).unwrap_or(name);
                Ok(Meaning::Looks(looks.to_vec(), name.to_string()))
            }
            None => Err(no_look(names, name)),
        },
        Form::Het(percent) => het(names, name, percent.as_deref()),
        Form::NotHet => {
            let (name, gene, allele) = allele(names, name)?;
            Ok(Meaning::Told(gene, Says::NotHet { allele }, format!("not het {name}")))
        }
        Form::Possible => {
            Err(Trouble::new(format!("`{}` does not say how probable it is", item.text))
                .help(format!("give the percentage, as in `66% het {name}`")))
        }
        Form::PercentOnly(percent) => {
            Err(Trouble::new(format!("`{}` does not say what the percentage is of", item.text))
                .help(format!("write `{percent}% het {name}`")))
        }
    }
}

fn no_look(names: &Names, name: &str) -> Trouble {
    let trouble = Trouble::new(format!("no look is called `{name}`"));
    match (names.allele(name), names.help(name)) {
        (Some((allele, ..)), _) => {
            trouble.help(format!("that is a gene; write `het {allele}`, or the name of its look"))
        }
        (None, Some(help)) => trouble.help(help),
        (None, None) => trouble,
    }
}

fn allele<'n>(names: &'n Names, name: &str) -> Result<(&'n str, GeneId, usize), Trouble> {
    names.allele(name).ok_or_else(|| {
        let trouble = Trouble::new(format!("no gene is called `{name}`"));
        match names.help(name) {
            Some(help) => trouble.help(help),
            None => trouble,
        }
    })
}

fn het(names: &Names, name: &str, percent: Option<&str>) -> Result<Meaning, Trouble> {
    let (name, gene, allele) = allele(names, name)?;
    let Some(percent) = percent else {
        return Ok(Meaning::Told(gene, Says::Het { allele, chance: 1.0 }, format!("het {name}")));
    };
    let written = percent.replace(',', ".");
    let number = written.parse::<f64>().ok().filter(|number| (0.0..=100.0).contains(number));
    let Some(number) = number else {
        return Err(Trouble::new(format!("`{percent}%` is not a percentage from 0 to 100")));
    };
    // SOURCE: the trade rounds the 2 : 1 of two carriers' normal young to 66 % or 67 %.
    let chance = match number {
        66.0 | 67.0 => 2.0 / 3.0,
        33.0 => 1.0 / 3.0,
        other => other / 100.0,
    };
    let text = format!("{written}% het {name}");
    Ok(Meaning::Told(gene, Says::Het { allele, chance }, text))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Format, read};

    fn names() -> Names {
        let text = "[gene.teasel]\ninheritance = \"recessive\"\naka = [\"brush\"]\n\
            [gene.gorse]\ninheritance = \"incomplete dominant\"\n\
            [gene.\"red moor\"]\ninheritance = \"recessive\"\n\
            [[animal]]\nid = \"x\"";
        Names::of(&read(text.as_bytes(), Format::Toml).unwrap().colony)
    }

    fn said(cell: &str) -> Vec<Result<String, String>> {
        let names = names();
        let items = pieces(cell).into_iter().flat_map(|piece| items(&names, &piece));
        items
            .map(|item| match meaning(&names, &item) {
                Ok(Meaning::Normal) => Ok("normal".to_string()),
                Ok(Meaning::Looks(_, text) | Meaning::Told(_, _, text)) => Ok(text),
                Err(trouble) => Err(trouble.help.unwrap_or(trouble.reason)),
            })
            .collect()
    }

    fn good(cell: &str) -> Vec<String> {
        said(cell)
            .into_iter()
            .map(|one| one.unwrap_or_else(|why| panic!("{cell}: {why}")))
            .collect()
    }

    #[test]
    fn words_of_the_trade_are_understood_alone_and_together() {
        assert_eq!(good("Teasel"), ["teasel"]);
        assert_eq!(good("Wild type"), ["normal"]);
        assert_eq!(good("vis brush"), ["teasel"].map(|_| "brush"));
        assert_eq!(good("super gorse 66% het Teasel"), ["super gorse", "66% het teasel"]);
        assert_eq!(good("66,7 % het red moor, HET teasel"), ["66.7% het red moor", "het teasel"]);
        assert_eq!(good("red moor gorse het. teasel"), ["red moor", "gorse", "het teasel"]);
        assert_eq!(good("poss 50%het teasel; not het gorse"), ["50% het teasel", "not het gorse"]);
        assert_eq!(good("gorse + teasel / normal"), ["gorse", "teasel", "normal"]);
    }

    #[test]
    fn what_is_not_understood_says_what_may_be_meant() {
        let hint = |cell: &str| said(cell).pop().unwrap().unwrap_err();
        assert_eq!(hint("teasle"), "did you mean `teasel`?");
        assert_eq!(hint("het tesel"), "did you mean `teasel`?");
        assert!(hint("poss het teasel").contains("percentage"));
        assert!(hint("66% teasel").contains("66% het teasel"));
        assert!(hint("het").contains("names nothing"));
        assert!(hint("300% het teasel").contains("percentage"));
    }
}
