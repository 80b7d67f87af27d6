//! JSON into the tree: strict, without comments or trailing commas.

use jsonc_parser::ast;
use jsonc_parser::common::Ranged;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use rustc_hash::FxHashSet;

use super::reader::Reader;
use super::tree::{Entry, Node, Span, Table, Value};

const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

/// Parses a JSON file; `None` when it cannot be read at all.
pub(super) fn parse<'t>(reader: &mut Reader, text: &'t str, shift: usize) -> Option<Node<'t>> {
    let body = &text[shift..];
    match parse_to_ast(body, &CollectOptions::default(), &STRICT) {
        Ok(parsed) => {
            let mut converter = Converter { reader, text, shift };
            parsed.value.map(|value| converter.node(value))
        }
        Err(error) => {
            let range = error.range();
            let span = Span { start: range.start + shift, end: range.end + shift };
            let message = error.kind().to_string();
            let message = message.lines().next().unwrap_or("").trim_end_matches('.').to_lowercase();
            reader
                .error(span, format!("this is not valid JSON: {message}"))
                .help("JSON has double quotes, no remarks and no comma after the last entry");
            None
        }
    }
}

struct Converter<'r, 'x, 't> {
    reader: &'r mut Reader<'x>,
    text: &'t str,
    shift: usize,
}

impl<'t> Converter<'_, '_, 't> {
    fn span(&self, node: &impl Ranged) -> Span {
        Span { start: node.start() + self.shift, end: node.end() + self.shift }
    }

    fn node(&mut self, value: ast::Value<'t>) -> Node<'t> {
        let span = self.span(&value);
        let (span, value) = match value {
            ast::Value::StringLit(text) => (span.inside_quotes(self.text), Value::Text(text.value)),
            ast::Value::NumberLit(number) => (span, self::number(number.value)),
            ast::Value::BooleanLit(flag) => (span, Value::Flag(flag.value)),
            ast::Value::Array(list) => {
                (span, Value::List(list.elements.into_iter().map(|node| self.node(node)).collect()))
            }
            ast::Value::Object(object) => (span, Value::Table(self.table(object))),
            ast::Value::NullKeyword(_) => (span, Value::Other("null")),
        };
        Node { span, value }
    }

    fn table(&mut self, object: ast::Object<'t>) -> Table<'t> {
        let mut seen = FxHashSet::default();
        let mut entries = Vec::with_capacity(object.properties.len());
        for property in object.properties {
            let key_span = self.span(&property.name).inside_quotes(self.text);
            let key = match property.name {
                ast::ObjectPropName::String(text) => text.value,
                ast::ObjectPropName::Word(word) => word.value.into(),
            };
            if !seen.insert(key.clone()) {
                self.reader
                    .error(key_span, format!("`{key}` is written twice in one table"))
                    .help("keep one of the two");
                continue;
            }
            entries.push(Entry { key, key_span, node: self.node(property.value) });
        }
        Table { entries }
    }
}

fn number(written: &str) -> Value<'static> {
    Value::Number(written.parse().unwrap_or(f64::NAN), written.parse().ok())
}
