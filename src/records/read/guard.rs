//! What is refused before parsing: too large, not UTF-8, nested too deeply.

use super::Format;
use super::reader::Reader;
use super::tree::Span;

/// The largest file that is read, in bytes (32 MiB).
pub const MAX_BYTES: usize = 32 << 20;

/// The deepest nesting of brackets that is read; the format itself needs six.
const MAX_DEPTH: usize = 64;

/// The text of a file of a bearable size, or nothing and an error.
pub(super) fn text<'t>(reader: &mut Reader, bytes: &'t [u8]) -> Option<&'t str> {
    if bytes.len() > MAX_BYTES {
        let size = bytes.len().div_ceil(1 << 20);
        reader
            .error(Span::default(), format!("the file has {size} MiB, and at most 32 MiB are read"))
            .help("is it really a records file? a colony of 20,000 hatchlings needs about 3 MiB");
        return None;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text),
        Err(error) => {
            let at = error.valid_up_to();
            reader
                .error(Span { start: at, end: at + 1 }, "from here on the file is not UTF-8 text")
                .help("save it with the encoding UTF-8, and not as a spreadsheet or text document");
            None
        }
    }
}

/// Where brackets are nested too deeply for the parsers' stack, if anywhere.
///
/// Brackets in text and in remarks do not count. A file whose quotes do not match may be counted
/// wrongly; what is certain is that no deeper nesting reaches a parser, as both stop at the same
/// unmatched quote.
pub(super) fn too_deep(text: &[u8], format: Format) -> Option<Span> {
    let (mut at, mut depth) = (0, 0usize);
    while let Some(byte) = text.get(at) {
        match byte {
            b'#' if format == Format::Toml => at = line_end(text, at),
            b'"' => at = behind_text(text, at, format),
            b'\'' if format == Format::Toml => at = behind_text(text, at, format),
            b'[' | b'{' => {
                depth += 1;
                at += 1;
            }
            b']' | b'}' => {
                depth = depth.saturating_sub(1);
                at += 1;
            }
            _ => at += 1,
        }
        if depth > MAX_DEPTH {
            return Some(Span { start: at - 1, end: at });
        }
    }
    None
}

/// Whether a text nests brackets deeper than a records file ever needs.
pub(in crate::records) fn is_too_deep(text: &str, format: Format) -> bool {
    too_deep(text.as_bytes(), format).is_some()
}

fn line_end(text: &[u8], from: usize) -> usize {
    text[from..].iter().position(|byte| *byte == b'\n').map_or(text.len(), |length| from + length)
}

/// The offset behind the text that begins at `from`; one that is not closed ends with its line.
fn behind_text(text: &[u8], from: usize, format: Format) -> usize {
    let mark = text[from];
    let escapes = mark == b'"';
    let triple = format == Format::Toml && text[from..].starts_with(&[mark; 3]);
    let mut at = from + if triple { 3 } else { 1 };
    while let Some(byte) = text.get(at) {
        match byte {
            b'\\' if escapes => at += 2,
            b'\n' if !triple => return at,
            byte if *byte == mark && !triple => return at + 1,
            byte if *byte == mark && text[at..].starts_with(&[mark; 3]) => return at + 3,
            _ => at += 1,
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_in_text_and_remarks_do_not_count() {
        let brackets = "[".repeat(100);
        for text in [
            format!("a = \"{brackets}\""),
            format!("# {brackets}\n"),
            format!("a = '''\n{brackets}'''"),
            format!("a = \"\\\"{brackets}\""),
        ] {
            assert_eq!(too_deep(text.as_bytes(), Format::Toml), None, "{text}");
        }
        assert!(too_deep(brackets.as_bytes(), Format::Toml).is_some());
        assert!(too_deep(format!("\"a\"\n{brackets}").as_bytes(), Format::Json).is_some());
    }

    #[test]
    fn many_shallow_brackets_are_fine() {
        assert_eq!(too_deep("[[clutch]]\n".repeat(5000).as_bytes(), Format::Toml), None);
    }
}
