//! What changed between two versions of a text, by lines.

use similar::{Algorithm, DiffTag, capture_diff_slices};

/// Stretches with more lines than this are told as one difference: the work grows with the product
/// of what was taken away and what came instead.
const MOST_LINES: usize = 20_000;

/// Lines that were replaced, taken away or added, in one stretch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// Line of `from` where the stretch begins, from 1.
    pub from_line: usize,
    /// The lines of `from` that are no longer there, without line ends.
    pub removed: Vec<String>,
    /// Line of `to` where the stretch begins, from 1.
    pub to_line: usize,
    /// The lines of `to` that are new, without line ends.
    pub added: Vec<String>,
}

/// What changed from one text to another, in their order.
///
/// Lines that differ only in their line end differ.
///
/// # Examples
///
/// ```
/// use proveout::records::keep::differences;
///
/// let found = differences("a\nb\nc\n", "a\nB\nc\n");
/// assert_eq!(found.len(), 1);
/// assert_eq!((found[0].from_line, found[0].to_line), (2, 2));
/// assert_eq!((&found[0].removed[0][..], &found[0].added[0][..]), ("b", "B"));
/// ```
pub fn differences(from: &str, to: &str) -> Vec<Difference> {
    let from: Vec<&str> = from.split_inclusive('\n').collect();
    let to: Vec<&str> = to.split_inclusive('\n').collect();
    let same = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    let (from_rest, to_rest) = (&from[same..], &to[same..]);
    let tail = from_rest.iter().rev().zip(to_rest.iter().rev()).take_while(|(a, b)| a == b).count();
    let from = &from_rest[..from_rest.len() - tail];
    let to = &to_rest[..to_rest.len() - tail];
    let stretch = |old: std::ops::Range<usize>, new: std::ops::Range<usize>| Difference {
        from_line: same + old.start + 1,
        removed: from[old].iter().map(|line| bare(line)).collect(),
        to_line: same + new.start + 1,
        added: to[new].iter().map(|line| bare(line)).collect(),
    };
    if from.len().max(to.len()) > MOST_LINES {
        return vec![stretch(0..from.len(), 0..to.len())];
    }
    capture_diff_slices(Algorithm::Myers, from, to)
        .into_iter()
        .filter(|part| part.tag() != DiffTag::Equal)
        .map(|part| stretch(part.old_range(), part.new_range()))
        .collect()
}

fn bare(line: &str) -> String {
    line.trim_end_matches(['\r', '\n']).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_texts_have_no_difference() {
        assert!(differences("a\nb", "a\nb").is_empty());
        assert!(differences("", "").is_empty());
    }

    #[test]
    fn each_stretch_stands_for_itself() {
        let found = differences("a\nb\nc\nd\n", "b\nc\nx\ny\nd\n");
        assert_eq!(found.len(), 2);
        assert_eq!((found[0].removed.len(), found[0].added.len()), (1, 0));
        assert_eq!((found[1].from_line, found[1].to_line), (4, 3));
        assert_eq!(found[1].added, ["x", "y"]);
    }

    #[test]
    fn a_line_end_counts() {
        assert_eq!(differences("a\n", "a\r\n").len(), 1);
        assert_eq!(differences("a", "a\n")[0].added, ["a"]);
    }

    #[test]
    fn large_texts_with_nothing_in_common_are_told_quickly() {
        let many = |sign: &str| (0..60_000).map(|n| format!("{sign}{n}\n")).collect::<String>();
        let found = differences(&many("a"), &many("b"));
        assert_eq!((found.len(), found[0].removed.len()), (1, 60_000));
    }
}
