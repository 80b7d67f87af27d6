//! Keys and elements changed in the text, one small step after another.

use toml::Value;

use super::layout::{BlockId, Enclosed, Layout};
use super::style::{self, Style};
use super::text::{Splice, leading_space, line_end, line_start, spliced};
use super::tree::{Holds, Node, Step, Through, Tree};
use super::{CannotChange, Entry, commas, meaning, replaced, sections};
use crate::records::read::guard::is_too_deep;
use crate::records::{Format, read};

/// A sound text taken apart.
pub(super) struct Parsed {
    pub value: Value,
    pub layout: Layout,
    pub tree: Tree,
}

impl Parsed {
    /// Takes a text apart.
    pub fn of(text: &str) -> Result<Parsed, CannotChange> {
        let broken =
            |line, message: &str| CannotChange::Broken { line, message: message.to_string() };
        if is_too_deep(text, Format::Toml) {
            return Err(broken(1, "brackets are nested too deep"));
        }
        let value: toml::Table = toml::from_str(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start.min(text.len()));
            let line = text.as_bytes()[..at].iter().filter(|byte| **byte == b'\n').count() + 1;
            // The reader says it in plainer words.
            let told = read(text.as_bytes(), Format::Toml).err().unwrap_or_default();
            match told.iter().find(|told| told.place.line == line) {
                Some(told) => broken(line, &told.message),
                None => broken(line, error.message().lines().next().unwrap_or_default()),
            }
        })?;
        let layout = Layout::of(text).ok_or(CannotChange::Unsafe)?;
        let tree = Tree::of(&layout).ok_or(CannotChange::Unsafe)?;
        Ok(Parsed { value: Value::Table(value), layout, tree })
    }

    /// The item that writes a whole node, if one does.
    pub fn whole(&self, node: &Node) -> Option<Through> {
        let [through] = node.items[..] else { return None };
        let item = &self.layout.blocks[through.block].items[through.index];
        (node.headings.is_empty() && through.parts == item.keys.len()).then_some(through)
    }
}

/// A text under work. It always ends with a line end, unless it is empty.
pub(super) struct Work {
    pub text: String,
    /// The line end of the file.
    pub end: &'static str,
}

/// What is taken away, and so what goes with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Taken {
    /// A record, with its remarks; the table that it stands in may go as well.
    Record,
    /// A key, with the remark beside it; its table stays, empty if need be.
    Key,
    /// A value that something else replaces: remarks stay.
    Value,
}

type Done = Result<(), CannotChange>;

impl Work {
    pub fn new(text: &str) -> Work {
        let end = replaced::line_end(text);
        let closed = text.is_empty() || text.ends_with('\n');
        Work { text: if closed { text.to_string() } else { format!("{text}{end}") }, end }
    }

    pub fn parsed(&self) -> Result<Parsed, CannotChange> {
        Parsed::of(&self.text)
    }

    pub fn splice(&mut self, splices: Vec<Splice>) -> Done {
        self.text = spliced(&self.text, splices).ok_or(CannotChange::Unsafe)?;
        Ok(())
    }

    /// Gives what a path leads to a value, touching only what differs.
    pub fn put(&mut self, path: &[Step], entry: &Entry) -> Done {
        let parsed = self.parsed()?;
        let Some(node) = parsed.tree.find(path) else {
            return self.insert_key(&parsed, path, entry);
        };
        let old = meaning::find(&parsed.value, path).ok_or(CannotChange::Unsafe)?;
        if meaning::value(entry) == *old {
            return Ok(());
        }
        match (&node.holds, entry) {
            (Holds::Table(keys), Entry::Table(fields)) => {
                let keys: Vec<String> = keys.iter().map(|(key, _)| key.clone()).collect();
                self.put_fields(path, &keys, fields)
            }
            (Holds::List(_), Entry::List(entries))
                if node.block.is_some() || headings_can_hold(entries) =>
            {
                let old = old.as_array().ok_or(CannotChange::Unsafe)?;
                self.put_elements(path, old, entries)
            }
            _ => match parsed.whole(node) {
                Some(through) => {
                    let splices = self.reshaped(&parsed, through, entry);
                    self.splice(splices)
                }
                None => {
                    self.remove(path, Taken::Value)?;
                    let parsed = self.parsed()?;
                    self.insert_key(&parsed, path, entry)
                }
            },
        }
    }

    fn put_fields(&mut self, path: &[Step], old: &[String], fields: &[(String, Entry)]) -> Done {
        let below = |key: &String| [path, &[Step::Key(key.clone())]].concat();
        for (key, entry) in fields {
            self.put(&below(key), entry)?;
        }
        for key in old.iter().filter(|key| !fields.iter().any(|(new, _)| new == *key)) {
            self.remove(&below(key), Taken::Value)?;
        }
        Ok(())
    }

    /// Replaces the elements between those that are equal at both ends.
    fn put_elements(&mut self, path: &[Step], old: &[Value], entries: &[Entry]) -> Done {
        let new: Vec<Value> = entries.iter().map(meaning::value).collect();
        let same = old.iter().zip(&new).take_while(|(old, new)| old == new).count();
        let (old, new) = (&old[same..], &new[same..]);
        let ends = old.iter().rev().zip(new.iter().rev()).take_while(|(old, new)| old == new);
        let tail = ends.count();
        let (old, new) = (old.len() - tail, new.len() - tail);
        let element = |index: usize| [path, &[Step::At(index)]].concat();
        let (old, new) = (same..same + old, same..same + new);
        for index in (new.end..old.end).rev() {
            self.remove(&element(index), Taken::Value)?;
        }
        for (index, entry) in entries.iter().enumerate().take(new.end).skip(same) {
            if index < old.end {
                self.put(&element(index), entry)?;
            } else {
                self.insert_element(path, index, entry)?;
            }
        }
        Ok(())
    }

    /// Another value in the place of one; remarks inside the old one are put above its line.
    fn reshaped(&self, parsed: &Parsed, through: Through, entry: &Entry) -> Vec<Splice> {
        let item = &parsed.layout.blocks[through.block].items[through.index];
        let mut splices = vec![(item.value.clone(), style::value(entry))];
        let inside = |remark: &&std::ops::Range<usize>| {
            item.value.start <= remark.start && remark.end <= item.value.end
        };
        let at = line_start(&self.text, self.outermost(parsed, item.value.start));
        let remarks: String = parsed
            .layout
            .remarks
            .iter()
            .filter(inside)
            .map(|remark| format!("{}{}", &self.text[remark.clone()], self.end))
            .collect();
        if !remarks.is_empty() {
            splices.push((at..at, remarks));
        }
        splices
    }

    /// Where the key that stands on a line of its own and encloses `at` begins.
    fn outermost(&self, parsed: &Parsed, at: usize) -> usize {
        let lines = parsed.layout.blocks.iter().filter(|block| !block.has_commas());
        let mut items = lines.flat_map(|block| &block.items);
        items.find(|item| item.span().contains(&at)).map_or(at, |item| item.span().start)
    }

    /// Adds a key that is not there yet to a table that is.
    fn insert_key(&mut self, parsed: &Parsed, path: &[Step], entry: &Entry) -> Done {
        let Some((Step::Key(key), above)) = path.split_last() else {
            return Err(CannotChange::Unsafe);
        };
        let table = parsed.tree.find(above).ok_or(CannotChange::Unsafe)?;
        if !matches!(table.holds, Holds::Table(_)) {
            let message = format!("`{key}` cannot be set in something that is not a table");
            return Err(CannotChange::OtherShape { message });
        }
        let key = style::key(key);
        if let Some(block) = table.block {
            return self.key_in_block(parsed, block, &key, entry);
        }
        if let Some(through) = table.items.last() {
            return self.dotted_key(parsed, *through, &key, entry);
        }
        // Only tables inside it have headings: it gets one of its own above them.
        let first = *table.headings.first().ok_or(CannotChange::Unsafe)?;
        let splices = sections::heading_above(self, &parsed.layout, first, above, &[(key, entry)]);
        self.splice(splices.ok_or(CannotChange::Unsafe)?)
    }

    fn key_in_block(&mut self, parsed: &Parsed, block: BlockId, key: &str, entry: &Entry) -> Done {
        let found = &parsed.layout.blocks[block];
        if found.has_commas() {
            let item = format!("{key} = {}", style::value(entry));
            let count = found.items.len();
            return self.splice(commas::inserted(&self.text, self.end, found, count, &item));
        }
        let style = Style::of(&self.text, &parsed.layout, block);
        let line = style.line(key, &style::long_value(entry, &style.indent, self.end), self.end);
        let at = match (found.items.last(), &found.enclosed) {
            (Some(item), _) => line_end(&self.text, item.value.end),
            (None, Enclosed::Heading { at, .. }) => line_end(&self.text, at.end),
            (None, _) => return self.splice(sections::first_top_key(self, &parsed.layout, &line)),
        };
        self.splice(vec![(at..at, line)])
    }

    /// Adds `a.b.key` behind the item that has `a.b.` before its last part.
    fn dotted_key(&mut self, parsed: &Parsed, last: Through, key: &str, entry: &Entry) -> Done {
        let block = &parsed.layout.blocks[last.block];
        let item = &block.items[last.index];
        let prefix = item.keys.first().zip(item.keys.get(last.parts - 1));
        let (first, until) = prefix.ok_or(CannotChange::Unsafe)?;
        let key = format!("{}.{key}", &self.text[first.at.start..until.at.end]);
        if block.has_commas() {
            let item = format!("{key} = {}", style::value(entry));
            let index = last.index + 1;
            return self.splice(commas::inserted(&self.text, self.end, block, index, &item));
        }
        let style = Style::of(&self.text, &parsed.layout, last.block);
        let line = style.line(&key, &style::long_value(entry, &style.indent, self.end), self.end);
        let at = line_end(&self.text, item.value.end);
        self.splice(vec![(at..at, line)])
    }

    /// Adds an element to a list that is there.
    pub fn insert_element(&mut self, list: &[Step], index: usize, entry: &Entry) -> Done {
        let parsed = self.parsed()?;
        let node = parsed.tree.find(list).ok_or(CannotChange::Unsafe)?;
        match (node.block, entry) {
            (Some(block), _) if parsed.layout.blocks[block].has_commas() => {
                let block = &parsed.layout.blocks[block];
                let item = style::value(entry);
                self.splice(commas::inserted(&self.text, self.end, block, index, &item))
            }
            (None, Entry::Table(fields)) => {
                let splices = sections::element(self, &parsed, list, index, fields);
                self.splice(splices.ok_or(CannotChange::Unsafe)?)
            }
            _ => Err(CannotChange::Unsafe),
        }
    }

    /// Takes away what a path leads to, wherever it is written.
    pub fn remove(&mut self, path: &[Step], taken: Taken) -> Done {
        while self.remove_place(path, taken)? {}
        Ok(())
    }

    /// Takes one of the places away in which something is written; true when there are more.
    fn remove_place(&mut self, path: &[Step], taken: Taken) -> Result<bool, CannotChange> {
        let parsed = self.parsed()?;
        let Some(node) = parsed.tree.find(path) else { return Ok(false) };
        let above = parsed.tree.find(&path[..path.len().saturating_sub(1)]);
        let vanishes = above.is_some_and(|above| {
            matches!(above.holds, Holds::Table(_))
                && above.block.is_none()
                && above.items.len() == node.items.len()
                && above.headings == node.headings
        });
        let stays = taken != Taken::Record && vanishes;
        let splices = match node.items.last() {
            _ if stays && node.items.len() <= 1 => {
                self.emptied(&parsed, node, &path[..path.len() - 1]).ok_or(CannotChange::Unsafe)?
            }
            // Items share commas with their neighbours, so they go one by one, the last one first.
            Some(through) => self.item_removed(&parsed.layout, *through),
            None => sections::removed(&self.text, &parsed.layout, &node.headings),
        };
        let more = !stays && node.items.len() + usize::from(!node.headings.is_empty()) > 1
            || stays && node.items.len() > 1;
        self.splice(match taken {
            Taken::Value => self.remarks_kept(&parsed.layout, splices),
            _ => splices,
        })?;
        Ok(more)
    }

    /// Leaves the remarks that stand in what is taken away, each on a line of its own.
    fn remarks_kept(&self, layout: &Layout, mut splices: Vec<Splice>) -> Vec<Splice> {
        for (range, with) in &mut splices {
            let inside = |remark: &&std::ops::Range<usize>| {
                range.start <= remark.start && remark.end <= range.end
            };
            for remark in layout.remarks.iter().filter(inside) {
                let start = line_start(&self.text, remark.start);
                let indent = &self.text[start..start + leading_space(&self.text[start..])];
                *with += &format!("{indent}{}{}", &self.text[remark.clone()], self.end);
            }
        }
        splices
    }

    fn item_removed(&self, layout: &Layout, through: Through) -> Vec<Splice> {
        let block = &layout.blocks[through.block];
        if block.has_commas() {
            return commas::removed(&self.text, block, through.index);
        }
        let span = block.items[through.index].span();
        let line = line_start(&self.text, span.start)..line_end(&self.text, span.end);
        vec![(line, String::new())]
    }

    /// The last key of a table that has no place of its own is replaced by the empty table.
    fn emptied(&self, parsed: &Parsed, node: &Node, table: &[Step]) -> Option<Vec<Splice>> {
        if let Some(through) = node.items.first() {
            // Its other items would be parts of one dotted value, as in `a.b.c` and `a.b.d`.
            let [_] = node.items[..] else { return None };
            let item = &parsed.layout.blocks[through.block].items[through.index];
            let until = item.keys.get(through.parts.checked_sub(2)?)?.at.end;
            let written = format!("{} = {{}}", &self.text[item.span().start..until]);
            return Some(vec![(item.span(), written)]);
        }
        let first = *node.headings.first()?;
        let mut splices = sections::removed(&self.text, &parsed.layout, &node.headings);
        splices.extend(sections::heading_above(self, &parsed.layout, first, table, &[])?);
        Some(splices)
    }
}

/// Whether a list written with headings can hold these: tables, and at least one.
fn headings_can_hold(entries: &[Entry]) -> bool {
    !entries.is_empty() && entries.iter().all(|entry| matches!(entry, Entry::Table(_)))
}
