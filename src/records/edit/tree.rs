//! The tables and lists of a file, each with the places it is written in.
//!
//! One table may be written in several places: below a heading, as dotted keys, through headings
//! of tables inside it. That is how it differs from its value.

use super::layout::{BlockId, Enclosed, Item, Layout};

/// Number of a node.
pub(super) type NodeId = usize;

/// A step from a table or list to something in it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Step {
    /// A key of a table.
    Key(String),
    /// An element of a list, from 0.
    At(usize),
}

/// An item of a block, by its position there, and how many parts of its key lead to a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Through {
    pub block: BlockId,
    pub index: usize,
    pub parts: usize,
}

/// What a node holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Holds {
    Table(Vec<(String, NodeId)>),
    List(Vec<NodeId>),
    Plain,
}

/// A table, a list or a plain value.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub holds: Holds,
    /// The block that it is: top, heading, braces or brackets.
    pub block: Option<BlockId>,
    /// The items that lead to it.
    pub items: Vec<Through>,
    /// The headings of it and of everything in it, in the order of the file.
    pub headings: Vec<BlockId>,
}

/// All nodes of a file; the first is the file itself.
#[derive(Clone, Debug)]
pub(super) struct Tree {
    nodes: Vec<Node>,
}

impl Tree {
    /// The tree of a layout; `None` when tables contradict each other.
    pub fn of(layout: &Layout) -> Option<Tree> {
        let mut tree = Tree { nodes: Vec::new() };
        tree.add(Holds::Table(Vec::new()), Some(0));
        tree.block(layout, 0, 0)?;
        for id in layout.headings() {
            let Enclosed::Heading { keys, list, .. } = &layout.blocks[id].enclosed else {
                return None;
            };
            let (last, above) = keys.split_last()?;
            let mut node = 0;
            for key in above {
                tree.nodes[node].headings.push(id);
                node = tree.child(node, &key.name)?;
                if let Holds::List(elements) = &tree.nodes[node].holds {
                    let element = *elements.last()?;
                    tree.nodes[node].headings.push(id);
                    node = element;
                }
            }
            tree.nodes[node].headings.push(id);
            node = if *list {
                let list = tree.list(node, &last.name)?;
                tree.nodes[list].headings.push(id);
                let element = tree.add(Holds::Table(Vec::new()), Some(id));
                let Holds::List(elements) = &mut tree.nodes[list].holds else { return None };
                elements.push(element);
                element
            } else {
                tree.child(node, &last.name)?
            };
            tree.nodes[node].headings.push(id);
            tree.nodes[node].block = Some(id);
            tree.block(layout, id, node)?;
        }
        Some(tree)
    }

    /// The node that a path leads to.
    pub fn find(&self, path: &[Step]) -> Option<&Node> {
        let mut node = self.nodes.first()?;
        for step in path {
            let next = match (step, &node.holds) {
                (Step::Key(name), Holds::Table(keys)) => {
                    keys.iter().find(|(key, _)| key == name).map(|(_, node)| *node)
                }
                (Step::At(index), Holds::List(elements)) => elements.get(*index).copied(),
                _ => None,
            };
            node = self.nodes.get(next?)?;
        }
        Some(node)
    }

    /// The node of this number.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id]
    }

    fn add(&mut self, holds: Holds, block: Option<BlockId>) -> NodeId {
        self.nodes.push(Node { holds, block, items: Vec::new(), headings: Vec::new() });
        self.nodes.len() - 1
    }

    /// The child of this name, made as a table when there is none yet.
    fn child(&mut self, node: NodeId, name: &str) -> Option<NodeId> {
        self.child_or(node, name, Holds::Table(Vec::new()))
    }

    fn list(&mut self, node: NodeId, name: &str) -> Option<NodeId> {
        self.child_or(node, name, Holds::List(Vec::new()))
    }

    fn child_or(&mut self, node: NodeId, name: &str, holds: Holds) -> Option<NodeId> {
        let Holds::Table(keys) = &self.nodes[node].holds else { return None };
        if let Some((_, child)) = keys.iter().find(|(key, _)| key == name) {
            return Some(*child);
        }
        let child = self.add(holds, None);
        if let Holds::Table(keys) = &mut self.nodes[node].holds {
            keys.push((name.to_string(), child));
        }
        Some(child)
    }

    /// Adds the items of a block to its node.
    fn block(&mut self, layout: &Layout, block: BlockId, node: NodeId) -> Option<()> {
        for (index, item) in layout.blocks[block].items.iter().enumerate() {
            let mut at = node;
            for (parts, key) in item.keys.iter().enumerate() {
                at = if parts + 1 == item.keys.len() {
                    let (holds, inner) = begun(layout, item);
                    let value = self.child_or(at, &key.name, holds)?;
                    self.nodes[value].block = inner;
                    value
                } else {
                    self.child(at, &key.name)?
                };
                self.nodes[at].items.push(Through { block, index, parts: parts + 1 });
            }
            if item.keys.is_empty() {
                let (holds, inner) = begun(layout, item);
                at = self.add(holds, inner);
                self.nodes[at].items.push(Through { block, index, parts: 0 });
                let Holds::List(elements) = &mut self.nodes[node].holds else { return None };
                elements.push(at);
            }
            if let Some(inner) = item.inner {
                self.block(layout, inner, at)?;
            }
        }
        Some(())
    }
}

/// What the value of an item holds, before its own items are added.
fn begun(layout: &Layout, item: &Item) -> (Holds, Option<BlockId>) {
    let holds = match item.inner.map(|inner| &layout.blocks[inner].enclosed) {
        Some(Enclosed::Brackets { .. }) => Holds::List(Vec::new()),
        Some(_) => Holds::Table(Vec::new()),
        None => Holds::Plain,
    };
    (holds, item.inner)
}
