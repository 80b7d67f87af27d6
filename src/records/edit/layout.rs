//! Where every piece of a TOML text stands.
//!
//! The text is taken apart into blocks: the top of the file, what stands below each heading, and
//! each pair of braces or brackets. A block has items: its keys with their values, or the elements
//! of a list.

use std::ops::Range;

use toml_parser::Source;
use toml_parser::parser::{Event, EventKind, parse_document};

/// Number of a block.
pub(super) type BlockId = usize;

/// What encloses the items of a block.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Enclosed {
    /// Nothing: the keys above the first heading.
    Top,
    /// A heading. `at` is the heading itself, brackets included; `list` says it has two of them.
    Heading { keys: Vec<Key>, at: Range<usize>, list: bool },
    /// `{` and `}`, at these offsets.
    Braces { open: usize, close: usize },
    /// `[` and `]`, at these offsets.
    Brackets { open: usize, close: usize },
}

/// A key or one part of a dotted key.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Key {
    /// What it says.
    pub name: String,
    /// As it is written.
    pub at: Range<usize>,
}

/// A key with its value, or an element of a list.
#[derive(Clone, Debug)]
pub(super) struct Item {
    /// The parts of its key; none for an element.
    pub keys: Vec<Key>,
    /// Its value.
    pub value: Range<usize>,
    /// The braces or brackets that its value consists of.
    pub inner: Option<BlockId>,
    /// The comma behind it.
    pub comma: Option<usize>,
}

impl Item {
    /// From the beginning of its key to the end of its value.
    pub fn span(&self) -> Range<usize> {
        self.keys.first().map_or(self.value.start, |key| key.at.start)..self.value.end
    }
}

/// Items that stand together.
#[derive(Clone, Debug)]
pub(super) struct Block {
    /// What they stand in.
    pub enclosed: Enclosed,
    /// In their order.
    pub items: Vec<Item>,
}

impl Block {
    /// Whether commas separate its items.
    pub fn has_commas(&self) -> bool {
        matches!(self.enclosed, Enclosed::Braces { .. } | Enclosed::Brackets { .. })
    }
}

/// All blocks of a text; the first is its top, headings follow in the order of the text.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// By number.
    pub blocks: Vec<Block>,
    /// Remarks, from `#` to the end of their line.
    pub remarks: Vec<Range<usize>>,
}

impl Layout {
    /// Takes a sound text apart; `None` if it is not sound after all.
    pub fn of(text: &str) -> Option<Layout> {
        let source = Source::new(text);
        let tokens = source.lex().into_vec();
        let mut events: Vec<Event> = Vec::new();
        let mut error = None;
        parse_document(&tokens, &mut events, &mut error);
        if error.is_some() {
            return None;
        }
        let range = |event: &Event| event.span().start()..event.span().end();
        let is_remark = |event: &&Event| event.kind() == EventKind::Comment;
        let remarks = events.iter().filter(is_remark).map(range).collect();
        let top = Block { enclosed: Enclosed::Top, items: Vec::new() };
        let mut parts = Parts { source, events, at: 0, blocks: vec![top] };
        parts.document()?;
        Some(Layout { blocks: parts.blocks, remarks })
    }

    /// The headings in the order of the text.
    pub fn headings(&self) -> impl Iterator<Item = BlockId> + '_ {
        let is_heading =
            |id: &BlockId| matches!(self.blocks[*id].enclosed, Enclosed::Heading { .. });
        (0..self.blocks.len()).filter(is_heading)
    }
}

struct Parts<'t> {
    source: Source<'t>,
    events: Vec<Event>,
    at: usize,
    blocks: Vec<Block>,
}

impl Parts<'_> {
    /// The next event that is not spacing.
    fn next(&mut self) -> Option<Event> {
        use EventKind::{Comment, KeySep, Newline, Whitespace};
        while let Some(event) = self.events.get(self.at).copied() {
            self.at += 1;
            if !matches!(event.kind(), Whitespace | Newline | Comment | KeySep) {
                return Some(event);
            }
        }
        None
    }

    fn document(&mut self) -> Option<()> {
        let mut block = 0;
        while let Some(event) = self.next() {
            match event.kind() {
                EventKind::StdTableOpen => block = self.heading(event, false)?,
                EventKind::ArrayTableOpen => block = self.heading(event, true)?,
                EventKind::SimpleKey => {
                    let item = self.entry(event)?;
                    self.blocks[block].items.push(item);
                }
                _ => return None,
            }
        }
        Some(())
    }

    fn heading(&mut self, open: Event, list: bool) -> Option<BlockId> {
        let mut keys = Vec::new();
        loop {
            let event = self.next()?;
            match event.kind() {
                EventKind::SimpleKey => keys.push(self.key(event)?),
                EventKind::StdTableClose | EventKind::ArrayTableClose => {
                    let at = open.span().start()..event.span().end();
                    let enclosed = Enclosed::Heading { keys, at, list };
                    self.blocks.push(Block { enclosed, items: Vec::new() });
                    return Some(self.blocks.len() - 1);
                }
                _ => return None,
            }
        }
    }

    fn key(&self, event: Event) -> Option<Key> {
        let mut name = String::new();
        let raw = self.source.get(event)?;
        raw.decode_key(&mut name, &mut ());
        Some(Key { name, at: event.span().start()..event.span().end() })
    }

    /// The rest of a key and its value.
    fn entry(&mut self, first: Event) -> Option<Item> {
        let mut keys = vec![self.key(first)?];
        loop {
            let event = self.next()?;
            match event.kind() {
                EventKind::SimpleKey => keys.push(self.key(event)?),
                EventKind::KeyValSep => {
                    let event = self.next()?;
                    return Some(Item { keys, ..self.value(event)? });
                }
                _ => return None,
            }
        }
    }

    fn value(&mut self, event: Event) -> Option<Item> {
        let start = event.span().start();
        let (end, inner) = match event.kind() {
            EventKind::Scalar => (event.span().end(), None),
            EventKind::ArrayOpen | EventKind::InlineTableOpen => {
                let (close, block) = self.enclosed(event)?;
                (close + 1, Some(block))
            }
            _ => return None,
        };
        Some(Item { keys: Vec::new(), value: start..end, inner, comma: None })
    }

    /// The items up to the closing brace or bracket.
    fn enclosed(&mut self, open: Event) -> Option<(usize, BlockId)> {
        let mut items: Vec<Item> = Vec::new();
        let open_at = open.span().start();
        loop {
            let event = self.next()?;
            let at = event.span().start();
            match event.kind() {
                EventKind::ValueSep => items.last_mut()?.comma = Some(at),
                EventKind::ArrayClose | EventKind::InlineTableClose => {
                    let enclosed = match open.kind() {
                        EventKind::ArrayOpen => Enclosed::Brackets { open: open_at, close: at },
                        _ => Enclosed::Braces { open: open_at, close: at },
                    };
                    self.blocks.push(Block { enclosed, items });
                    return Some((at, self.blocks.len() - 1));
                }
                EventKind::SimpleKey => items.push(self.entry(event)?),
                _ => items.push(self.value(event)?),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_piece_is_found_where_it_stands() {
        let text =
            "a.\"b c\" = 1.5 # one\n[[ x . y ]]\nd = [ 2024-01-02 03:04:05Z, { e = 'f' }, ]\n";
        let layout = Layout::of(text).unwrap();
        let top = &layout.blocks[0].items[0];
        assert_eq!(top.keys[1].name, "b c");
        assert_eq!(&text[top.span()], "a.\"b c\" = 1.5");
        assert_eq!(&text[layout.remarks[0].clone()], "# one");
        let heading = layout.headings().next().unwrap();
        let Enclosed::Heading { keys, at, list } = &layout.blocks[heading].enclosed else {
            panic!()
        };
        assert_eq!((&text[at.clone()], keys[1].name.as_str(), list), ("[[ x . y ]]", "y", &true));
        let list = &layout.blocks[heading].items[0];
        let inner = &layout.blocks[list.inner.unwrap()];
        assert_eq!(&text[inner.items[0].span()], "2024-01-02 03:04:05Z");
        assert_eq!(&text[inner.items[1].span()], "{ e = 'f' }");
        assert!(inner.items[1].comma.is_some());
        let table = &layout.blocks[inner.items[1].inner.unwrap()];
        assert_eq!(&text[table.items[0].span()], "e = 'f'");
    }

    #[test]
    fn what_is_not_sound_has_no_layout() {
        for text in ["[x", "a = [1", "a = {b = 1"] {
            assert!(Layout::of(text).is_none(), "{text}");
        }
    }
}
