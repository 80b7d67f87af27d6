//! What each row says under a mapping: cells become facts, or troubles.

use rustc_hash::FxHashMap;

use super::cells::{Row, Sheet};
use super::columns::Columns;
use super::facts::{Fact, Facts, Kind, Told};
use super::kinds::{alone, check_count, check_founder, likely_kind, no_kind};
use super::mapping::{Mapping, Means, Question, Word};
use super::names::Names;
use super::numbers::{whole, young};
use super::understand::{Form, Meaning, Trouble, items, meaning, pieces};
use super::words::{TOTALS, fold};
use crate::records::write::text::{date, name, number, quoted};
use crate::records::{Look, Says, normalise};

/// What the mapping says of a word.
enum Given {
    Report,
    Nothing,
    Means(Vec<Meaning>),
}

/// A mapping made ready to read rows.
pub(super) struct Rows<'a> {
    mapping: &'a Mapping,
    names: &'a Names,
    columns: Columns,
    words: FxHashMap<String, Given>,
    counted: Vec<(usize, Vec<Look>)>,
}

/// The cells that a row without clutch takes over from the row above.
#[derive(Clone, Default)]
struct Group {
    clutch: Option<String>,
    dam: Option<String>,
    sire: Option<String>,
    laid: Option<String>,
    hatched: Option<String>,
}

impl<'a> Rows<'a> {
    /// Fits a mapping to a sheet and to the names that are known.
    ///
    /// # Errors
    ///
    /// Columns of the sheet that the mapping does not name, and meanings of words that are none.
    pub fn new(
        sheet: &Sheet,
        mapping: &'a Mapping,
        names: &'a Names,
    ) -> Result<Self, Vec<Question>> {
        let mut questions = Vec::new();
        let columns = Columns::of(sheet, mapping).unwrap_or_else(|found| {
            questions.extend(found);
            Columns::default()
        });
        let mut words = FxHashMap::default();
        for word in &mapping.words {
            match given(names, word) {
                Ok(given) => {
                    words.insert(word.word.clone(), given);
                }
                Err(question) => questions.push(question),
            }
        }
        let mut counted = Vec::new();
        for (column, means) in columns.means.iter().enumerate() {
            let Means::CountOf(text) = means else { continue };
            match seen(understood(names, text).unwrap_or_default()) {
                Ok((Some(looks), told)) if told.is_empty() => counted.push((column, looks)),
                _ => questions.push(Question {
                    line: None,
                    text: format!("`count of {text}` names no look"),
                }),
            }
        }
        let rows = Rows { mapping, names, columns, words, counted };
        if questions.is_empty() { Ok(rows) } else { Err(questions) }
    }

    /// Reads every row below the headings but empty ones and repeated headings.
    pub fn read(&self, sheet: &Sheet) -> Vec<Facts> {
        let mut above = Group::default();
        let mut all = Vec::new();
        for row in sheet.rows.iter().filter(|row| row.number > self.mapping.heading_row) {
            if row.is_empty() || self.is_skipped(row) {
                above = Group::default();
            } else if row.cells != self.columns.heading.cells {
                all.push(self.row(row, &mut above));
            }
        }
        all
    }

    fn is_skipped(&self, row: &Row) -> bool {
        let first = row.cells.iter().find(|cell| !cell.is_empty()).map(|cell| fold(cell));
        let begins = |word: &String| {
            !word.is_empty() && first.as_ref().is_some_and(|first| first.starts_with(word))
        };
        self.mapping.skip.iter().any(begins)
    }

    fn cell(&self, row: &Row, means: &Means) -> Option<String> {
        let says = |cell: &&str| !self.mapping.nothing.contains(&fold(cell));
        self.columns.cells(row, means).find(says).map(str::to_string)
    }

    /// A parent or a clutch; `unknown` and `none` say something of a parent.
    fn parent(&self, row: &Row, means: &Means) -> Option<String> {
        let cell = self.columns.cells(row, means).next()?;
        let word = fold(cell);
        if word == "unknown" || word == "none" && *means == Means::Sire {
            return Some(word);
        }
        self.cell(row, means).map(|cell| normalise(&cell))
    }

    fn group(&self, row: &Row, above: &mut Group) -> Group {
        let mut group = Group {
            clutch: self.cell(row, &Means::Clutch).map(|cell| normalise(&cell)),
            dam: self.parent(row, &Means::Dam),
            sire: self.parent(row, &Means::Sire),
            laid: self.cell(row, &Means::Laid),
            hatched: self.cell(row, &Means::Hatched),
        };
        let alone = group.clutch.is_none() && group.dam.is_none() && group.sire.is_none();
        if self.mapping.gaps_as_above && alone {
            let Group { laid, hatched, .. } = std::mem::take(&mut group);
            group = above.clone();
            // Where the clutch has a name, its first row has told the dates.
            let repeats = group.clutch.is_none();
            group.laid = laid.or(group.laid.filter(|_| repeats));
            group.hatched = hatched.or(group.hatched.filter(|_| repeats));
        }
        above.clone_from(&group);
        group
    }

    fn row(&self, row: &Row, above: &mut Group) -> Facts {
        let mut facts = Facts { row: row.number, text: row.text(), ..Facts::default() };
        let first = row.cells.iter().find(|cell| !cell.is_empty());
        let is_total = |cell: &String| TOTALS.contains(&fold(cell).trim_end_matches([':', '.']));
        if first.is_some_and(is_total) && !self.mapping.own {
            facts.trouble("looks like a row of totals", "name it under `skip` in the mapping");
            return facts;
        }
        let group = self.group(row, above);
        facts.id = self.cell(row, &Means::Animal).map(|cell| normalise(&cell));
        self.of_animal(row, &mut facts);
        self.of_clutch(row, group, &mut facts);
        self.counts(row, &mut facts);
        self.settle_kind(row, &mut facts);
        facts
    }

    fn of_animal(&self, row: &Row, facts: &mut Facts) {
        if let Some(word) = self.cell(row, &Means::Sex) {
            match self.word(&self.mapping.sexes, &["male", "female", "unknown"], &word) {
                Ok(sex) if sex == "unknown" => {}
                Ok(sex) => facts.sex = Some(fact("sex", quoted(&sex))),
                Err(reason) => facts.trouble(reason, "give its meaning under [sex] of the mapping"),
            }
        }
        for (means, rule) in [
            (Means::LooksAndSoldAs, Column::Both),
            (Means::Looks, Column::Looks),
            (Means::SoldAs, Column::SoldAs),
        ] {
            let cells = self.columns.cells(row, &means);
            let cells = cells.filter(|cell| !self.mapping.nothing.contains(&fold(cell)));
            for cell in cells {
                match self.about_looks(cell, rule) {
                    Ok((looks, told)) => {
                        facts.looks = looks.or(facts.looks.take());
                        facts.told.extend(told);
                    }
                    Err(trouble) => facts.troubles.push(trouble),
                }
            }
        }
        if let Some(chance) = self.cell(row, &Means::Trust) {
            let plain = if self.mapping.decimal_comma { chance.replace(',', ".") } else { chance };
            match plain.parse::<f64>() {
                Ok(chance) if (0.0..=1.0).contains(&chance) => {
                    facts.own.push(fact("trust", number(chance)));
                }
                _ => facts.trouble(format!("the trust `{plain}` is not a chance"), "write 0.9"),
            }
        }
        if let Some(word) = self.cell(row, &Means::Status) {
            match self.word(&self.mapping.statuses, &super::words::STATUS, &word) {
                Ok(status) => facts.own.push(fact("status", quoted(&status))),
                Err(reason) => {
                    facts.trouble(reason, "give its meaning under [status] of the mapping");
                }
            }
        }
        let notes: Vec<&str> = self.columns.cells(row, &Means::Note).collect();
        if !notes.is_empty() {
            facts.own.push(fact("note", quoted(&notes.join("; "))));
        }
        self.further(row, &Means::More, facts);
    }

    fn further(&self, row: &Row, means: &Means, facts: &mut Facts) {
        let Some(cell) = self.columns.cells(row, means).next() else { return };
        match toml::from_str::<toml::Table>(cell) {
            Ok(table) => {
                let all = table.iter().map(|(key, value)| fact(&name(key), value.to_string()));
                if *means == Means::More { &mut facts.own } else { &mut facts.of_clutch }
                    .extend(all);
            }
            Err(_) if facts_are_declared(self.cell(row, &Means::Kind)) => {}
            Err(_) => facts.trouble(
                format!("the cell under `{}` is not written as in a records file", means.word()),
                "one line for each key, as in `unread = [\"NAME\"]`",
            ),
        }
    }

    fn word(&self, given: &[Word], known: &[&str], cell: &str) -> Result<String, String> {
        let folded = fold(cell);
        let means = given.iter().find(|word| word.word == folded).map(|word| word.means.clone());
        match means.or_else(|| known.contains(&folded.as_str()).then(|| folded.clone())) {
            Some(means) if means != "report" => Ok(means),
            Some(_) => Err(format!("the mapping leaves `{cell}` to be looked at")),
            None => Err(format!("the word `{cell}` is not in the mapping")),
        }
    }

    fn date(&self, key: &str, cell: Option<String>, facts: &mut Facts) -> Option<Fact> {
        let cell = cell?;
        match self.mapping.dates.read(&cell) {
            Ok(found) => Some(fact(key, date(found))),
            Err(reason) => {
                let help = "write it as 2024-12-31, 2024-12 or 2024";
                facts.trouble(format!("{key}: `{cell}` {reason}"), help);
                None
            }
        }
    }

    fn of_clutch(&self, row: &Row, group: Group, facts: &mut Facts) {
        facts.hatched = self.date("hatched", group.hatched, facts);
        facts.clutch = group.clutch;
        facts.of_clutch.extend(group.dam.as_deref().map(|dam| fact("dam", quoted(dam))));
        facts.of_clutch.extend(group.sire.as_deref().map(|sire| fact("sire", quoted(sire))));
        (facts.dam, facts.sire) = (group.dam, group.sire);
        let laid = self.date("laid", group.laid, facts);
        facts.of_clutch.extend(laid);
        for (means, key) in [(Means::Eggs, "eggs"), (Means::Slugs, "slugs"), (Means::Died, "died")]
        {
            let Some(cell) = self.cell(row, &means) else { continue };
            match whole(&cell, self.mapping.decimal_comma) {
                Ok(count) => facts.of_clutch.push(fact(key, count.to_string())),
                Err(reason) => {
                    facts.troubles.push(Trouble::new(format!("{key}: `{cell}` {reason}")))
                }
            }
        }
        if let Some(note) = self.columns.cells(row, &Means::ClutchNote).next() {
            facts.of_clutch.push(fact("note", quoted(note)));
        }
        self.further(row, &Means::ClutchMore, facts);
    }

    fn counts(&self, row: &Row, facts: &mut Facts) {
        facts.copy = self.cell(row, &Means::Copy).unwrap_or_default();
        let comma = self.mapping.decimal_comma;
        if let Some(cell) = self.cell(row, &Means::Number) {
            match young(&cell, comma) {
                Ok(number) => facts.number = Some(number),
                Err(reason) => facts.troubles.push(Trouble::new(format!("`{cell}` {reason}"))),
            }
        }
        for (column, looks) in &self.counted {
            let cell = row.cell(*column);
            if cell.is_empty() || self.mapping.nothing.contains(&fold(cell)) {
                continue;
            }
            match young(cell, comma) {
                Ok([0, 0, 0]) => {}
                Ok(number) => facts.counts.push((looks.clone(), number)),
                Err(reason) => facts.troubles.push(Trouble::new(format!("`{cell}` {reason}"))),
            }
        }
    }

    fn settle_kind(&self, row: &Row, facts: &mut Facts) {
        let word = self.cell(row, &Means::Kind);
        let given = match word.as_deref().map(fold).as_deref() {
            None => None,
            Some("animal") => Some(Kind::Founder),
            Some("hatchling") => Some(Kind::Hatchling),
            Some("count") => Some(Kind::Count),
            Some("clutch") => Some(Kind::Clutch),
            Some("gene" | "colony") => Some(Kind::Declaration),
            Some(other) => {
                let reason = format!("no kind of row is called `{other}`");
                facts.trouble(reason, "write animal, hatchling, count or clutch");
                None
            }
        };
        facts.kind = given.or_else(|| likely_kind(facts));
        match facts.kind {
            None if facts.troubles.is_empty() => no_kind(facts),
            Some(Kind::Founder) => check_founder(facts, given.is_some()),
            Some(Kind::Hatchling) => self.check_hatchling(facts),
            Some(Kind::Count) => check_count(facts),
            _ => {}
        }
    }

    fn check_hatchling(&self, facts: &mut Facts) {
        alone(facts);
        if !facts.told.is_empty() && self.mapping.leave_statements_away {
            facts.told.clear();
        }
        if let Some(told) = facts.told.first() {
            let reason = format!("`{}` is said of an animal that hatched here", told.text);
            facts.trouble(
                reason,
                "its odds come from its parents; take the statement out, or set \
                 `statements_on_young` in the mapping",
            );
        }
    }

    fn about_looks(&self, cell: &str, column: Column) -> Result<Seen, Trouble> {
        if self.mapping.own && column == Column::SoldAs {
            return self.told_as_written(cell).map(|told| (None, told));
        }
        let (looks, told) = seen(self.meanings(cell)?)?;
        match column {
            Column::Both => Ok((looks, told)),
            Column::Looks if told.is_empty() => Ok((looks, told)),
            Column::Looks => Err(Trouble::new(format!("`{}` is no look", told[0].text))
                .help("what a seller said belongs to a column for that")),
            Column::SoldAs => self.as_told(looks, told),
        }
    }

    /// The statements of a sheet of our own, each as it stands in the records.
    fn told_as_written(&self, cell: &str) -> Result<Vec<Told>, Trouble> {
        let one = |part: &str| {
            let (looks, told) = seen(understood(self.names, part)?)?;
            let looks = looks.into_iter().flatten();
            let shown = looks.map(|look| (look.gene, Says::Look(look.class)));
            let about = shown.chain(told.into_iter().flat_map(|told| told.about)).collect();
            Ok(Told { about, text: part.to_string() })
        };
        cell.split('+').map(str::trim).filter(|part| !part.is_empty()).map(one).collect()
    }

    /// In a column for what sellers said, a look is a statement too.
    fn as_told(&self, looks: Option<Vec<Look>>, mut told: Vec<Told>) -> Result<Seen, Trouble> {
        if looks.as_ref().is_some_and(Vec::is_empty) && told.is_empty() {
            return Err(Trouble::new("`normal` says nothing of one gene"));
        }
        for look in looks.unwrap_or_default() {
            let about = vec![(look.gene, Says::Look(look.class))];
            told.push(Told { about, text: self.names.printed(look).to_string() });
        }
        Ok((None, told))
    }

    fn meanings(&self, cell: &str) -> Result<Vec<Meaning>, Trouble> {
        if let Some(found) = self.in_mapping(&fold(cell)) {
            return found;
        }
        if self.mapping.own {
            return understood(self.names, cell);
        }
        let mut all = Vec::new();
        let mut told: Option<String> = None;
        for piece in pieces(cell) {
            let found = items(self.names, &piece);
            let several = (found.len() != 1).then(|| self.in_mapping(&fold(&piece))).flatten();
            if let Some(given) = several {
                all.extend(given?);
                continue;
            }
            for item in found {
                let given = self.in_mapping(&fold(&item.text));
                let given = given.unwrap_or_else(|| Ok(vec![meaning(self.names, &item)?]))?;
                let look = given.iter().any(|one| matches!(one, Meaning::Looks(..)));
                if let (Some(before), Form::Named, true) = (&told, &item.form, look) {
                    return Err(seen_or_het(before, &item.name));
                }
                if matches!(item.form, Form::Het(_) | Form::NotHet | Form::Possible) {
                    told = Some(item.text.clone());
                }
                all.extend(given);
            }
        }
        Ok(all)
    }

    fn in_mapping(&self, word: &str) -> Option<Result<Vec<Meaning>, Trouble>> {
        Some(match self.words.get(word)? {
            Given::Report => {
                let trouble = Trouble::new(format!("the mapping leaves `{word}` to be looked at"));
                let near = self.names.help(word).filter(|help| help.starts_with("did you mean"));
                Err(match near {
                    Some(near) => trouble.help(near),
                    None => trouble,
                })
            }
            Given::Nothing => Ok(Vec::new()),
            Given::Means(all) => Ok(all.clone()),
        })
    }
}

/// What was seen, and what was told.
type Seen = (Option<Vec<Look>>, Vec<Told>);

#[derive(Clone, Copy, PartialEq)]
enum Column {
    Both,
    Looks,
    SoldAs,
}

/// A name behind a het statement may be meant as seen, or as het too.
fn seen_or_het(before: &str, name: &str) -> Trouble {
    Trouble::new(format!("is `{name}` behind `{before}` seen, or het too?"))
        .help(format!("write `het {name}`, or put `{name}` in front"))
}

fn fact(key: &str, value: String) -> Fact {
    Fact { key: key.to_string(), value }
}

fn facts_are_declared(kind: Option<String>) -> bool {
    matches!(kind.as_deref(), Some("gene" | "colony"))
}

fn given(names: &Names, word: &Word) -> Result<Given, Question> {
    match fold(&word.means).as_str() {
        "report" => Ok(Given::Report),
        "nothing" => Ok(Given::Nothing),
        _ => understood(names, &word.means).map(Given::Means).map_err(|trouble| {
            let help = trouble.help.map_or(String::new(), |help| format!("; {help}"));
            let text = format!("the meaning of `{}`: {}{help}", word.word, trouble.reason);
            Question { line: Some(word.line), text }
        }),
    }
}

/// What a text means that names everything as the records file does, a `,` or `+` between two.
fn understood(names: &Names, text: &str) -> Result<Vec<Meaning>, Trouble> {
    let whole = |piece: &str| items(names, piece);
    let parts = text.split('+').map(str::trim).filter(|part| !part.is_empty());
    let mut all = Vec::new();
    for part in parts {
        if let Some(looks) = names.look(part) {
            all.push(Meaning::Looks(looks.to_vec(), part.to_string()));
            continue;
        }
        for piece in pieces(part) {
            for item in whole(&piece) {
                all.push(meaning(names, &item)?);
            }
        }
    }
    Ok(all)
}

/// Parts what was seen from what was told.
fn seen(meanings: Vec<Meaning>) -> Result<Seen, Trouble> {
    let mut normal = false;
    let mut looks = Vec::new();
    let mut told = Vec::new();
    for meaning in meanings {
        match meaning {
            Meaning::Normal => normal = true,
            Meaning::Looks(found, _) => looks.extend(found),
            Meaning::Told(gene, says, text) => told.push(Told { about: vec![(gene, says)], text }),
        }
    }
    if normal && !looks.is_empty() {
        return Err(Trouble::new("`normal` stands beside a look")
            .help("an animal that shows nothing is `normal` and nothing else"));
    }
    let seen = normal || !looks.is_empty();
    Ok((seen.then_some(looks), told))
}
