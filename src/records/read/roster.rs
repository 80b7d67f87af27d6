//! Who is in the file: every id first, so that a parent may stand below its young.

use rustc_hash::FxHashMap;

use super::Format;
use super::fields::{ANIMAL, CLUTCH, Fields, HATCHLING};
use super::groups::tables;
use super::reader::{Reader, short};
use super::tree::{Entry, Node, Span};
use super::vocabulary::read_name;
use crate::records::{AnimalId, ClutchId, Date, Origin, Place, Sex, normalise};

/// A founder or hatchling before its calls are read.
pub(super) struct Member<'n, 't> {
    pub fields: Fields<'n, 't>,
    pub id: Option<String>,
    /// Its id, or its table when it has none.
    pub span: Span,
    pub origin: Origin,
    /// As recorded, else as its being a parent shows.
    pub sex: Option<Sex>,
    /// As recorded.
    recorded_sex: Option<Sex>,
    /// As a parent, and where it was first named so.
    pub role: Option<(Sex, Place)>,
    pub hatched: Option<Date>,
}

/// A clutch before its contents are read.
pub(super) struct Nest<'n, 't> {
    pub fields: Fields<'n, 't>,
    pub id: String,
    pub span: Span,
    pub hatchlings: Vec<AnimalId>,
    pub laid: Option<Date>,
    pub hatched: Option<Date>,
}

/// Everybody.
#[derive(Default)]
pub(super) struct Roster<'n, 't> {
    pub members: Vec<Member<'n, 't>>,
    pub nests: Vec<Nest<'n, 't>>,
    ids: FxHashMap<String, AnimalId>,
    clutch_ids: FxHashMap<String, Place>,
}

const SEXES: [(&str, Option<Sex>); 3] =
    [("male", Some(Sex::Male)), ("female", Some(Sex::Female)), ("unknown", None)];

impl<'n, 't> Roster<'n, 't> {
    /// Reads ids, sexes and dates of all animals and clutches.
    pub fn read(reader: &mut Reader, format: Format, file: Fields<'n, 't>) -> Self {
        let mut roster = Roster::default();
        for (table, span) in tables(reader, "animal", "animal", file.get("animal")) {
            let fields = Fields::new(reader, format, &ANIMAL, table);
            let hatched = fields.get("hatched").and_then(|node| reader.date("hatched", node));
            if fields.get("id").is_none() {
                reader.error(span, "an animal needs an `id`").help("give it a name: `id = \"…\"`");
            }
            roster.add(reader, fields, span, Origin::Founder, hatched);
        }
        for (table, span) in tables(reader, "clutch", "clutch", file.get("clutch")) {
            let fields = Fields::new(reader, format, &CLUTCH, table);
            roster.add_nest(reader, format, fields, span);
        }
        roster
    }

    fn add(
        &mut self,
        reader: &mut Reader,
        fields: Fields<'n, 't>,
        span: Span,
        origin: Origin,
        hatched: Option<Date>,
    ) -> AnimalId {
        let number = AnimalId(self.members.len());
        let id = fields.get("id").and_then(|node| self.id(reader, number, node));
        let span = fields.get("id").map_or(span, |node| node.span);
        let sex = fields.get("sex").and_then(|node| reader.choice("sex", node, &SEXES)).flatten();
        self.members.push(Member {
            fields,
            id,
            span,
            origin,
            sex,
            recorded_sex: sex,
            role: None,
            hatched,
        });
        number
    }

    fn id(&mut self, reader: &mut Reader, number: AnimalId, node: &Node) -> Option<String> {
        let text = reader.text("id", node)?;
        let id = read_name(reader, "an animal", text, node.span);
        if let Some(first) = self.ids.get(&id) {
            let place = reader.place(self.members[first.0].span);
            reader
                .error(node.span, format!("two animals are called `{}`", short(&id)))
                .help("ids are unique; what a hatchling shows later belongs to its `grown`")
                .related(place, "the first one");
            return None;
        }
        self.ids.insert(id.clone(), number);
        Some(id)
    }

    fn add_nest(
        &mut self,
        reader: &mut Reader,
        format: Format,
        fields: Fields<'n, 't>,
        span: Span,
    ) {
        let clutch = ClutchId(self.nests.len());
        let id_node = fields.get("id");
        if id_node.is_none() {
            reader.error(span, "a clutch needs an `id`").help("give it a name: `id = \"…\"`");
        }
        let id = id_node.and_then(|node| self.clutch_id(reader, node)).unwrap_or_default();
        let [laid, hatched] = dates(reader, fields);
        let mut hatchlings = Vec::new();
        let nodes = fields.get("hatchling");
        for (table, span) in tables(reader, "hatchling", "clutch.hatchling", nodes) {
            let fields = Fields::new(reader, format, &HATCHLING, table);
            let origin = Origin::Clutch(clutch);
            hatchlings.push(self.add(reader, fields, span, origin, hatched.or(laid)));
        }
        let span = id_node.map_or(span, |node| node.span);
        self.nests.push(Nest { fields, id, span, hatchlings, laid, hatched });
    }

    fn clutch_id(&mut self, reader: &mut Reader, node: &Node) -> Option<String> {
        let text = reader.text("id", node)?;
        let id = read_name(reader, "a clutch", text, node.span);
        if let Some(first) = self.clutch_ids.get(&id) {
            let place = *first;
            reader
                .error(node.span, format!("two clutches are called `{}`", short(&id)))
                .related(place, "the first one");
        } else {
            self.clutch_ids.insert(id.clone(), reader.place(node.span));
        }
        Some(id)
    }

    /// The animal of this name, or nothing and an error.
    pub fn find(&self, reader: &mut Reader, name: &str, span: Span) -> Option<AnimalId> {
        let found = self.ids.get(&normalise(name)).copied();
        if found.is_none() {
            let names = self.members.iter().filter_map(|member| member.id.as_deref());
            let near = reader.suggest(name, "animal", names);
            let help = if near.starts_with("did you mean") {
                near
            } else {
                "write an `[[animal]]` for it; one that nobody here owns has `status = \"elsewhere\"`"
                    .to_string()
            };
            reader.error(span, format!("no animal is called `{}`", short(name))).help(help);
        }
        found
    }

    /// What a message calls an animal.
    pub fn name(&self, id: AnimalId) -> String {
        match &self.members[id.0].id {
            Some(id) => format!("`{}`", short(id)),
            None => "a hatchling without id".to_string(),
        }
    }

    /// Notes that an animal is a dam or a sire; reports it when it cannot be.
    pub fn take_role(&mut self, reader: &mut Reader, id: AnimalId, sex: Sex, span: Span) {
        let name = self.name(id);
        let word = if sex == Sex::Female { "dam" } else { "sire" };
        let place = reader.place(span);
        let member = &mut self.members[id.0];
        let (first, elsewhere) = *member.role.get_or_insert((sex, place));
        match member.recorded_sex {
            Some(recorded) if recorded != sex => {
                let sexed = member.fields.get("sex").map_or(member.span, |node| node.span);
                let sexed = reader.place(sexed);
                let recorded = if recorded == Sex::Female { "female" } else { "male" };
                reader
                    .error(span, format!("the {word} {name} is recorded as {recorded}"))
                    .help("correct its sex, or name another parent")
                    .related(sexed, "recorded here");
            }
            Some(_) => {}
            None if first != sex => {
                let other = if sex == Sex::Female { "sire" } else { "dam" };
                reader
                    .error(span, format!("{name} is a {word} here and a {other} elsewhere"))
                    .help("an animal can be one of the two only")
                    .related(elsewhere, format!("named as {other} here"));
            }
            None => member.sex = Some(sex),
        }
    }
}

/// When a clutch was laid, and when it hatched or was born.
fn dates(reader: &mut Reader, fields: Fields) -> [Option<Date>; 2] {
    let mut read = |key: &str| fields.get(key).and_then(|node| reader.date(key, node));
    let (laid, hatched, born) = (read("laid"), read("hatched"), read("born"));
    let other = fields.entry("laid").or(fields.entry("hatched"));
    if let (Some(entry), Some(other)) = (fields.entry("born"), other) {
        reader
            .error(entry.key_span, format!("a clutch has either `born` or `{}`", other.key))
            .help("`born` is for live young; eggs are `laid` and have `hatched`");
    }
    if let (Some(laid), Some(hatched), Some(entry)) = (laid, hatched, fields.entry("hatched"))
        && hatched.surely_before(laid)
    {
        impossible(reader, entry, laid, hatched);
    }
    [laid, hatched.or(born)]
}

fn impossible(reader: &mut Reader, entry: &Entry, laid: Date, hatched: Date) {
    reader
        .error(entry.node.span, format!("hatched {hatched}, before it was laid {laid}"))
        .help("check both dates");
}
