//! How wide a text will be, without the font it will be shown in.

/// About the width of a text in units, at a font size.
///
/// Generous: the widths are those of a wide sans-serif, so that what is laid out by them does not
/// overlap in a narrower one.
pub(super) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * size
}

/// The advance of a character in ems.
fn advance(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '\'' | '.' | ',' | ':' | ';' | '|' | 'I' | '!' => 0.34,
        ' ' | '\u{a0}' => 0.33,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '/' | '-' => 0.42,
        'm' | 'M' | 'W' | '%' | '…' => 1.0,
        'w' | '×' | '+' | '<' | '>' | '=' | '~' => 0.84,
        '0'..='9' | 'a'..='z' => 0.65,
        'A'..='Z' => 0.75,
        _ if nothing(c) => 0.0,
        '\u{1100}'..='\u{11ff}' | '\u{2e80}'..='\u{a4cf}' | '\u{ac00}'..='\u{d7af}' => 1.0,
        '\u{f900}'..='\u{faff}' | '\u{ff00}'..='\u{ff60}' => 1.0,
        '\u{1f000}'..='\u{1ffff}' => 1.4,
        '\u{20000}'..='\u{3ffff}' => 1.0,
        _ => 0.75,
    }
}

/// Marks that stand on another character, and signs that are not seen.
fn nothing(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36f}' | '\u{591}'..='\u{5bd}' | '\u{64b}'..='\u{65f}'
        | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}'
        | '\u{fe00}'..='\u{fe0f}')
}

/// A text that fits into a width, with a sign of omission where something was left out.
pub(super) fn shortened(text: &str, size: f64, room: f64) -> String {
    if width(text, size) <= room {
        return text.to_owned();
    }
    let mut short = String::new();
    for c in text.chars() {
        short.push(c);
        if width(&short, size) + size > room {
            short.pop();
            break;
        }
    }
    format!("{}…", closed(short.trim_end()))
}

/// Closes the isolations that a cut has left open.
fn closed(text: &str) -> String {
    let open = text.chars().filter(|c| matches!(c, '\u{2066}'..='\u{2068}')).count();
    let shut = text.chars().filter(|c| *c == '\u{2069}').count();
    text.to_owned() + &"\u{2069}".repeat(open.saturating_sub(shut))
}

/// A text broken into lines that fit into a width; at most so many, the last one cut if it must.
///
/// A word that is wider than the width is shortened.
pub(super) fn lines(text: &str, size: f64, room: f64, at_most: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    // A sign of per cent stays with its number.
    let text = text.replace(" %", "\u{a0}%");
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let word = shortened(word, size, room);
        let Some(last) = lines.last_mut() else { continue };
        let longer = if last.is_empty() { word.clone() } else { format!("{last} {word}") };
        if width(&longer, size) <= room {
            *last = longer;
        } else {
            lines.push(word);
        }
    }
    if lines.len() > at_most {
        lines.truncate(at_most);
        if let Some(last) = lines.last_mut() {
            *last = shortened(&format!("{last}……"), size, room);
            *last = format!("{}…", last.trim_end_matches('…'));
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_cut_says_so_and_fits() {
        let long = "a name of very many letters ".repeat(5);
        let short = shortened(&long, 12.0, 90.0);
        assert!(short.ends_with('…') && width(&short, 12.0) <= 90.0, "{short}");
        let lines = lines(&long, 12.0, 90.0, 3);
        assert_eq!(lines.len(), 3);
        assert!(lines[2].ends_with('…') && lines.iter().all(|line| width(line, 12.0) <= 90.0));
    }

    #[test]
    fn a_cut_closes_what_it_opened() {
        let short = shortened(&format!("\u{2068}{}\u{2069}", "שם".repeat(40)), 12.0, 60.0);
        assert_eq!(short.matches('\u{2068}').count(), short.matches('\u{2069}').count());
    }
}
