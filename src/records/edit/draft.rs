//! The text that is being changed.

use toml::Value;

use super::find::{self, path_of};
use super::tree::{Holds, Step};
use super::work::{Parsed, Taken, Work};
use super::{CannotChange, Change, Entry, Record, meaning, replaced, sections};
use crate::records::{Format, normalise};

const BYTE_ORDER_MARK: char = '\u{feff}';

/// The text of a records file while it is being changed.
///
/// # Examples
///
/// ```
/// use proveout::records::edit::{Change, Draft, Entry, Record};
///
/// let mut draft = Draft::new("[[animal]]\nid  = \"Wren\"   # from the fair\nsex = \"male\"\n");
/// let change = Change::Set {
///     record: Record::Animal("Wren".to_string()),
///     key: "sex".to_string(),
///     value: Entry::Text("female".to_string()),
/// };
/// draft.apply(&change).unwrap();
/// assert_eq!(draft.text(), "[[animal]]\nid  = \"Wren\"   # from the fair\nsex = \"female\"\n");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    text: String,
}

impl Draft {
    /// A draft of any text, however broken: its lines can still be mended.
    pub fn new(text: &str) -> Draft {
        Draft { text: text.to_string() }
    }

    /// The text as it is now.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Makes a change, whole or not at all.
    ///
    /// Whether the result is a sound colony is for [`read`](crate::records::read()) to say. What
    /// the draft vouches for is that the file now says what the change asked for, and says
    /// everything else as before: both are read again and compared before the change is kept.
    ///
    /// # Errors
    ///
    /// Why the change cannot be made; the text is then as it was.
    pub fn apply(&mut self, change: &Change) -> Result<(), CannotChange> {
        let (mark, body) = match self.text.strip_prefix(BYTE_ORDER_MARK) {
            Some(body) => ("\u{feff}", body),
            None => ("", self.text.as_str()),
        };
        let body = match change {
            Change::ReplaceLines { first, last, was, with } => {
                replaced::lines(body, *first, *last, was, with)?
            }
            _ if Format::of(None, body.as_bytes()) == Format::Json => {
                return Err(CannotChange::Json);
            }
            _ => changed(body, change)?,
        };
        self.text = format!("{mark}{body}");
        Ok(())
    }
}

fn changed(body: &str, change: &Change) -> Result<String, CannotChange> {
    let before = Parsed::of(body)?.value;
    let mut work = Work::new(body);
    let wanted = make(&mut work, before, change)?;
    let mut text = work.text;
    if !body.is_empty() && !body.ends_with('\n') {
        text.truncate(text.strip_suffix('\n').map_or(text.len(), str::len));
        text.truncate(text.strip_suffix('\r').map_or(text.len(), str::len));
    }
    let after: toml::Table = toml::from_str(&text).map_err(|_| CannotChange::Unsafe)?;
    if !meaning::same(&wanted, &Value::Table(after)) {
        return Err(CannotChange::Unsafe);
    }
    Ok(text)
}

/// Makes a change in the text, and gives the values that the file must then have.
fn make(work: &mut Work, mut values: Value, change: &Change) -> Result<Value, CannotChange> {
    let key = |name: &str| Step::Key(name.to_string());
    match change {
        Change::Set { record, key: name, value } => {
            let table = path_of(&values, record);
            let path = match (table, record) {
                (Err(_), Record::Assume) => {
                    let fields = [(name.clone(), value.clone())];
                    let splices =
                        sections::table(work, &work.parsed()?, "[assume]", "assume", &fields);
                    work.splice(splices)?;
                    vec![key("assume"), key(name)]
                }
                (table, _) => {
                    let path = [table?, vec![key(name)]].concat();
                    work.put(&path, value)?;
                    path
                }
            };
            meaning::set(&mut values, &path, meaning::value(value)).ok_or(CannotChange::Unsafe)?;
        }
        Change::Clear { record, key: name } => {
            let table = match (path_of(&values, record), record) {
                (Err(_), Record::Assume) => vec![key("assume")],
                (table, _) => table?,
            };
            let path = [table, vec![key(name)]].concat();
            work.remove(&path, Taken::Key)?;
            meaning::remove(&mut values, &path);
        }
        Change::AddGene { name, fields } => {
            let path = add_gene(work, &values, name, fields)?;
            let table = meaning::value(&Entry::Table(fields.clone()));
            meaning::set(&mut values, &path, table).ok_or(CannotChange::Unsafe)?;
        }
        Change::AddAnimal { fields } => add(work, &mut values, &[], "animal", fields)?,
        Change::AddClutch { fields } => add(work, &mut values, &[], "clutch", fields)?,
        Change::AddHatchling { clutch, fields } => {
            let owner = path_of(&values, &Record::Clutch(clutch.clone()))?;
            add(work, &mut values, &owner, "hatchling", fields)?;
        }
        Change::AddCount { clutch, fields } => {
            let owner = path_of(&values, &Record::Clutch(clutch.clone()))?;
            add(work, &mut values, &owner, "count", fields)?;
        }
        Change::Remove { record: Record::Top } => {
            let message = "the whole file cannot be taken away here".to_string();
            return Err(CannotChange::OtherShape { message });
        }
        Change::Remove { record } => {
            let path = path_of(&values, record)?;
            work.remove(&path, Taken::Record)?;
            meaning::remove(&mut values, &path);
        }
        Change::ReplaceLines { .. } => return Err(CannotChange::Unsafe),
    }
    Ok(values)
}

/// Adds a gene; the path that leads to it.
fn add_gene(
    work: &mut Work,
    values: &Value,
    name: &str,
    fields: &[(String, Entry)],
) -> Result<Vec<Step>, CannotChange> {
    let name = normalise(name);
    if find::gene(values, &name).is_some() {
        return Err(CannotChange::AlreadyThere { what: format!("gene called `{name}`") });
    }
    let genes = [Step::Key("gene".to_string())];
    let path = [&genes[..], &[Step::Key(name.clone())]].concat();
    let parsed = work.parsed()?;
    let with_heading = match parsed.tree.find(&genes) {
        None => true,
        Some(node) => {
            let Holds::Table(children) = &node.holds else {
                let message = "`gene` is not a table of genes in this file".to_string();
                return Err(CannotChange::OtherShape { message });
            };
            let braces = node.block.is_some_and(|block| parsed.layout.blocks[block].has_commas());
            let last = children.last().map(|(_, child)| parsed.tree.node(*child));
            !braces && last.is_none_or(|last| !last.headings.is_empty())
        }
    };
    if with_heading {
        let heading = format!("[gene.{}]", super::style::key(&name));
        let splices = sections::table(work, &parsed, &heading, "gene", fields);
        work.splice(splices)?;
    } else {
        work.put(&path, &Entry::Table(fields.to_vec()))?;
    }
    Ok(path)
}

/// Adds a table to the list `key` of the table that `owner` leads to.
fn add(
    work: &mut Work,
    values: &mut Value,
    owner: &[Step],
    key: &str,
    fields: &[(String, Entry)],
) -> Result<(), CannotChange> {
    let list = [owner, &[Step::Key(key.to_string())]].concat();
    let table = Entry::Table(fields.to_vec());
    let parsed = work.parsed()?;
    let node = parsed.tree.find(&list);
    let count = match node.map(|node| &node.holds) {
        Some(Holds::List(elements)) => elements.len(),
        Some(_) => {
            let message = format!("`{key}` is not a list of tables in this file");
            return Err(CannotChange::OtherShape { message });
        }
        None => 0,
    };
    let in_heading = parsed.tree.find(owner).is_some_and(|node| !node.headings.is_empty());
    if node.is_some() {
        work.insert_element(&list, count, &table)?;
    } else if owner.is_empty() {
        let splices = sections::table(work, &parsed, &format!("[[{key}]]"), key, fields);
        work.splice(splices)?;
    } else if in_heading && !find::bracketed(&parsed, owner, key) {
        let splices = sections::first_inside(work, &parsed, owner, key, fields);
        work.splice(splices.ok_or(CannotChange::Unsafe)?)?;
    } else {
        work.put(&list, &Entry::List(vec![table.clone()]))?;
    }
    if count == 0 {
        meaning::set(values, &list, Value::Array(Vec::new())).ok_or(CannotChange::Unsafe)?;
    }
    let element = [&list[..], &[Step::At(count)]].concat();
    meaning::set(values, &element, meaning::value(&table)).ok_or(CannotChange::Unsafe)
}
