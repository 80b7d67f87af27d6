//! The mapping: what the columns and words of one sheet mean, as its keeper has checked it.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::dates::{DateRules, Order, SIGNS};
use super::words::{STATUS, fold};
use crate::records::nearest;

/// What a column holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Means {
    /// The id of an animal or a hatchling.
    Animal,
    /// Its sex.
    Sex,
    /// When it, or its clutch, hatched.
    Hatched,
    /// The dam of its clutch.
    Dam,
    /// The sire of its clutch.
    Sire,
    /// The id of its clutch.
    Clutch,
    /// When the clutch was laid.
    Laid,
    /// Eggs of the clutch.
    Eggs,
    /// Infertile eggs of the clutch.
    Slugs,
    /// Fertile eggs that died.
    Died,
    /// Looks that were seen.
    Looks,
    /// What a seller said.
    SoldAs,
    /// Looks that were seen, and in the same cell what a seller said.
    LooksAndSoldAs,
    /// How many young the row counts.
    Number,
    /// How many young of the clutch have these looks.
    CountOf(String),
    /// What became of the animal.
    Status,
    /// The chance that the seller is right.
    Trust,
    /// A remark on the animal.
    Note,
    /// A remark on the clutch.
    ClutchNote,
    /// What the row is: an animal, a hatchling, a count, a clutch.
    Kind,
    /// Tells rows apart that are otherwise the same.
    Copy,
    /// Further keys of the animal, as in a records file.
    More,
    /// Further keys of the clutch, as in a records file.
    ClutchMore,
    /// Nothing that is imported.
    Ignored,
}

impl Means {
    /// The words of a mapping, but for `count of …`.
    pub const WORDS: [(&'static str, Means); 23] = [
        ("animal", Means::Animal),
        ("sex", Means::Sex),
        ("hatched", Means::Hatched),
        ("dam", Means::Dam),
        ("sire", Means::Sire),
        ("clutch", Means::Clutch),
        ("laid", Means::Laid),
        ("eggs", Means::Eggs),
        ("slugs", Means::Slugs),
        ("died", Means::Died),
        ("looks", Means::Looks),
        ("sold as", Means::SoldAs),
        ("looks and sold as", Means::LooksAndSoldAs),
        ("number", Means::Number),
        ("status", Means::Status),
        ("trust", Means::Trust),
        ("note", Means::Note),
        ("clutch note", Means::ClutchNote),
        ("kind", Means::Kind),
        ("copy", Means::Copy),
        ("more", Means::More),
        ("clutch more", Means::ClutchMore),
        ("ignored", Means::Ignored),
    ];

    /// The word of a mapping for it.
    pub fn word(&self) -> String {
        if let Means::CountOf(looks) = self {
            return format!("count of {looks}");
        }
        let found = Self::WORDS.iter().find(|(_, means)| means == self);
        found.map_or_else(String::new, |(word, _)| (*word).to_string())
    }

    /// What a word of a mapping stands for.
    pub fn of(word: &str) -> Option<Means> {
        let word = fold(word);
        if let Some(looks) = word.strip_prefix("count of ") {
            return Some(Means::CountOf(looks.trim().to_string()));
        }
        Self::WORDS.iter().find(|(known, _)| *known == word).map(|(_, means)| means.clone())
    }
}

/// Something in a mapping that its keeper has to settle before anything is imported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// The line of the mapping, from 1, where it has one.
    pub line: Option<usize>,
    /// What is open or wrong: a lower-case fragment without a full stop.
    pub text: String,
}

/// A word of the sheet with the meaning that stands beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// The word, in small letters.
    pub word: String,
    /// Its meaning, as written.
    pub means: String,
    /// Where it stands.
    pub line: usize,
}

/// A mapping without open questions.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapping {
    /// What stands between two cells; found when absent.
    pub separator: Option<char>,
    /// The row with the headings, as the spreadsheet counts it.
    pub heading_row: usize,
    /// Cells that say nothing, in small letters.
    pub nothing: Vec<String>,
    /// Words, in small letters, with which rows begin that are passed over.
    pub skip: Vec<String>,
    /// Whether a comma is the decimal mark.
    pub decimal_comma: bool,
    /// Whether an animal without clutch belongs to the clutch of the row above.
    pub gaps_as_above: bool,
    /// Whether young of the same parents and date are one clutch where none is named.
    pub join_unnamed: bool,
    /// Whether statements on animals that hatched here are left away instead of reported.
    pub leave_statements_away: bool,
    /// How dates are read.
    pub dates: DateRules,
    /// What each column means, by its heading.
    pub columns: Vec<(String, Means)>,
    /// Words for the sexes: `male`, `female` or `unknown`.
    pub sexes: Vec<Word>,
    /// Words for what became of an animal.
    pub statuses: Vec<Word>,
    /// Words of the cells about looks.
    pub words: Vec<Word>,
    /// What a new records file begins with: genes and whatever belongs to them.
    pub declarations: toml::Table,
    /// Whether it is the sheet that the program itself writes.
    pub own: bool,
}

impl Default for Mapping {
    fn default() -> Self {
        Mapping {
            separator: None,
            heading_row: 1,
            nothing: Vec::new(),
            skip: Vec::new(),
            decimal_comma: false,
            gaps_as_above: false,
            join_unnamed: false,
            leave_statements_away: false,
            dates: DateRules::default(),
            columns: Vec::new(),
            sexes: Vec::new(),
            statuses: Vec::new(),
            words: Vec::new(),
            declarations: toml::Table::new(),
            own: false,
        }
    }
}

/// The tables of a mapping that do not belong to a records file.
const TABLES: [&str; 6] = ["sheet", "dates", "columns", "sex", "status", "words"];

/// Keys of a records file that a mapping may carry for a new one.
const DECLARATIONS: [&str; 11] = [
    "title",
    "species",
    "sex_system",
    "clutch_size",
    "clutches_per_year",
    "mature_at",
    "assume",
    "gene",
    "linkage",
    "mask",
    "combination",
];

impl Mapping {
    /// Reads a mapping.
    ///
    /// # Errors
    ///
    /// Every question that is still open and everything that is wrong with it, in the order of
    /// its lines: at least one entry.
    pub fn read(text: &str) -> Result<Mapping, Vec<Question>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let broken = |error: toml::de::Error| {
            let line = error.span().map(|span| line_of(text, span.start));
            vec![Question { line, text: format!("this is not TOML: {}", error.message()) }]
        };
        let document = DeTable::parse(text).map_err(broken)?.into_inner();
        let declared: toml::Table = toml::from_str(text).map_err(broken)?;
        let mut reader = Reader { text, questions: Vec::new(), mapping: Mapping::default() };
        for (key, item) in document.iter() {
            reader.table(key.get_ref(), item);
        }
        reader.open_in_genes(&document);
        let kept = declared.into_iter().filter(|(key, _)| DECLARATIONS.contains(&key.as_str()));
        reader.mapping.declarations = kept.collect();
        let Reader { mut questions, mapping, .. } = reader;
        questions.sort_by_key(|question| question.line);
        if questions.is_empty() { Ok(mapping) } else { Err(questions) }
    }
}

fn line_of(text: &str, at: usize) -> usize {
    text.as_bytes().iter().take(at).filter(|byte| **byte == b'\n').count() + 1
}

struct Reader<'t> {
    text: &'t str,
    questions: Vec<Question>,
    mapping: Mapping,
}

impl Reader<'_> {
    fn ask(&mut self, item: Option<&Item>, text: String) {
        let line = item.map(|item| line_of(self.text, item.span().start));
        self.questions.push(Question { line, text });
    }

    fn table(&mut self, key: &str, item: &Item) {
        if DECLARATIONS.contains(&key) {
            return;
        }
        let Some(table) = table_of(item).filter(|_| TABLES.contains(&key)) else {
            let near = nearest(key, TABLES.into_iter().chain(DECLARATIONS));
            let hint = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
            return self.ask(Some(item), format!("a mapping has no `{key}`{hint}"));
        };
        match key {
            "sheet" => self.sheet(table),
            "dates" => self.dates(table),
            "columns" => self.columns(table),
            _ => self.words(key, table),
        }
    }

    fn sheet(&mut self, table: &DeTable) {
        for (key, item) in table.iter() {
            let key = key.get_ref().as_ref();
            match key {
                "separator" => {
                    let found = self.choice(key, item, &[(",", ','), (";", ';'), ("\t", '\t')]);
                    self.mapping.separator = found;
                }
                "heading_row" => match whole(item).and_then(|row| usize::try_from(row).ok()) {
                    Some(row) if row > 0 => self.mapping.heading_row = row,
                    _ => self.ask(Some(item), "`heading_row` is the number of a row".into()),
                },
                "nothing" | "skip" => match texts(item) {
                    Some(words) => {
                        let words = words.iter().map(|word| fold(word)).collect();
                        let nothing = key == "nothing";
                        let mapping = &mut self.mapping;
                        *(if nothing { &mut mapping.nothing } else { &mut mapping.skip }) = words;
                    }
                    None => self.ask(Some(item), format!("`{key}` is a list of words in quotes")),
                },
                "decimal" => {
                    let found = self.choice(key, item, &[(".", false), (",", true)]);
                    self.mapping.decimal_comma = found.unwrap_or(false);
                }
                "clutch_gaps" => {
                    let found = self.choice(key, item, &[("nothing", false), ("as above", true)]);
                    self.mapping.gaps_as_above = found.unwrap_or(false);
                }
                "unnamed_clutches" => {
                    let found = self.choice(key, item, &[("report", false), ("join", true)]);
                    self.mapping.join_unnamed = found.unwrap_or(false);
                }
                "statements_on_young" => {
                    let found = self.choice(key, item, &[("report", false), ("leave away", true)]);
                    self.mapping.leave_statements_away = found.unwrap_or(false);
                }
                _ => self.ask(Some(item), format!("`[sheet]` has no key `{key}`")),
            }
        }
    }

    fn choice<T: Copy>(&mut self, key: &str, item: &Item, words: &[(&str, T)]) -> Option<T> {
        let written = word_of(item);
        let found = words.iter().find(|(word, _)| *word == written).map(|(_, value)| *value);
        if found.is_none() {
            let list: Vec<String> = words.iter().map(|(word, _)| format!("{word:?}")).collect();
            let state = if written == "?" { "is still open" } else { "is not one of its words" };
            self.ask(Some(item), format!("`{key}` {state}; write {}", list.join(" or ")));
        }
        found
    }

    fn dates(&mut self, table: &DeTable) {
        for (key, item) in table.iter() {
            let key = key.get_ref().as_ref();
            let sign = SIGNS.iter().position(|sign| key.chars().eq([*sign]));
            match (sign, key, whole(item)) {
                (Some(sign), ..) => {
                    let what = format!("{key}` in dates such as `1{key}2{key}24");
                    self.mapping.dates.orders[sign] = self.choice(&what, item, &Order::WORDS);
                }
                (None, "years_from", Some(year @ 1900..=2099)) => {
                    self.mapping.dates.years_from = u16::try_from(year).unwrap_or(1970);
                }
                _ => self.ask(
                    Some(item),
                    format!(
                        "`[dates]` has `\".\"`, `\"/\"`, `\"-\"` and `years_from`, not `{key}`"
                    ),
                ),
            }
        }
    }

    fn columns(&mut self, table: &DeTable) {
        for (heading, item) in table.iter() {
            let heading = heading.get_ref().as_ref();
            let written = word_of(item);
            match Means::of(written) {
                Some(means) => self.mapping.columns.push((heading.to_string(), means)),
                None if written == "?" => {
                    let text = format!("what the column `{heading}` means is still open");
                    self.ask(Some(item), text);
                }
                None => {
                    let near = nearest(written, Means::WORDS.iter().map(|(word, _)| *word));
                    let hint = near.map_or(String::new(), |n| format!("; did you mean `{n}`?"));
                    let text = format!("no column means `{written}`{hint}");
                    self.ask(Some(item), text);
                }
            }
        }
        self.once_each(table);
    }

    /// A fact that stands in two columns would have to be guessed.
    fn once_each(&mut self, table: &DeTable) {
        let several = [Means::Ignored, Means::Note, Means::ClutchNote, Means::SoldAs];
        let columns = self.mapping.columns.clone();
        for (at, (heading, means)) in columns.iter().enumerate() {
            let first = columns[..at].iter().find(|(_, other)| other == means);
            if let Some((first, _)) = first.filter(|_| !several.contains(means)) {
                let text = format!("`{first}` and `{heading}` both mean {}", means.word());
                self.ask(table.get(heading.as_str()), text);
            }
        }
    }

    fn words(&mut self, room: &str, table: &DeTable) {
        for (word, item) in table.iter() {
            let word = word.get_ref().as_ref();
            let means = word_of(item).trim().to_string();
            let allowed: &[&str] = match room {
                "sex" => &["male", "female", "unknown", "report"],
                "status" => &["report"],
                _ => &[],
            };
            let known = room == "words"
                || allowed.contains(&means.as_str())
                || room == "status" && STATUS.contains(&means.as_str());
            if means.contains('?') {
                let text = format!("what `{word}` means is still open");
                self.ask(Some(item), text);
            } else if means.is_empty() || !known {
                let text = format!("`{word}` cannot mean `{means}` under [{room}]");
                self.ask(Some(item), text);
            }
            let line = line_of(self.text, item.span().start);
            let word = Word { word: fold(word), means, line };
            match room {
                "sex" => self.mapping.sexes.push(word),
                "status" => self.mapping.statuses.push(word),
                _ => self.mapping.words.push(word),
            }
        }
    }

    fn open_in_genes(&mut self, document: &DeTable) {
        let Some(genes) = document.get("gene").and_then(table_of) else { return };
        for (name, gene) in genes.iter() {
            for (_, item) in table_of(gene).into_iter().flat_map(|table| table.iter()) {
                if word_of(item).trim() == "?" {
                    let text = format!("how `{}` is inherited is still open", name.get_ref());
                    self.ask(Some(item), text);
                }
            }
        }
    }
}

type Item<'t> = Spanned<DeValue<'t>>;

fn table_of<'i, 't>(item: &'i Item<'t>) -> Option<&'i DeTable<'t>> {
    match item.get_ref() {
        DeValue::Table(table) => Some(table),
        _ => None,
    }
}

/// A text, or nothing.
fn word_of<'i>(item: &'i Item) -> &'i str {
    match item.get_ref() {
        DeValue::String(text) => text,
        _ => "",
    }
}

fn whole(item: &Item) -> Option<i64> {
    match item.get_ref() {
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix()).ok(),
        _ => None,
    }
}

fn texts(item: &Item) -> Option<Vec<String>> {
    let DeValue::Array(list) = item.get_ref() else { return None };
    let text = |item: &Item| match item.get_ref() {
        DeValue::String(text) => Some(text.to_string()),
        _ => None,
    };
    list.iter().map(text).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mapping_with_open_questions_lists_all_of_them() {
        let text = "[sheet]\nclutch_gaps = \"?\"\n[dates]\n\"/\" = \"?\"\n\"-\" = \"week first\"\n\
            [columns]\n\"Foo\" = \"?\"\n\"Bar\" = \"dma\"\n[words]\n\"poss het x\" = \"?% het x\"\n\
            [gene.x]\ninheritance = \"?\"\n[wrods]\n";
        let questions = Mapping::read(text).unwrap_err();
        let lines: Vec<_> = questions.iter().map(|question| question.line).collect();
        assert_eq!(lines, [2, 4, 5, 7, 8, 10, 12, 13].map(Some));
        assert!(questions[4].text.contains("did you mean `dam`?"));
        assert!(questions[7].text.contains("did you mean `words`?"));
    }

    #[test]
    fn a_checked_mapping_is_read() {
        let text = "[sheet]\nnothing = [\"N/A\"]\ndecimal = \",\"\n[dates]\n\".\" = \"day first\"\n\
            [columns]\n\"Name\" = \"animal\"\n\"N\" = \"count of Gorse\"\n[sex]\n\"W\" = \"female\"\n\
            [gene.x]\ninheritance = \"recessive\"\n";
        let mapping = Mapping::read(text).unwrap();
        assert_eq!(mapping.nothing, ["n/a"]);
        assert!(mapping.decimal_comma);
        assert_eq!(mapping.dates.orders[0], Some(Order::Day));
        assert_eq!(mapping.columns[1].1, Means::CountOf("gorse".into()));
        assert_eq!(mapping.sexes[0].word, "w");
        assert!(mapping.declarations.contains_key("gene"));
        assert!(Mapping::read("[columns]\n\"A\" = \"dam\"\n\"B\" = \"dam\"\n").is_err());
        assert!(Mapping::read("[columns").is_err());
    }
}
