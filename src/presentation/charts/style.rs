//! Colours and patterns, for light and for dark.
//!
//! # Source
//!
//! Okabe & Ito (2008), Color Universal Design: eight colours that are told apart with any kind of
//! colour vision. Where one of them is too faint on its ground, another takes its place there.

use std::fmt::Write;

/// What a mark or a text is painted with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paint {
    /// Its class in the style sheet.
    pub class: &'static str,
    /// Its colour on a light ground.
    pub light: [u8; 3],
    /// Its colour on a dark ground.
    pub dark: [u8; 3],
    /// The least contrast with the ground that it must have.
    pub contrast: f64,
}

const fn paint(class: &'static str, light: [u8; 3], dark: [u8; 3], contrast: f64) -> Paint {
    Paint { class, light, dark, contrast }
}

/// The ground: everything is seen against it.
pub(super) const GROUND: Paint = paint("ground", [255, 255, 255], [22, 24, 27], 1.0);
/// Text.
pub(super) const INK: Paint = paint("ink", [26, 26, 26], [240, 240, 240], 4.5);
/// Text of less weight.
pub(super) const SOFT: Paint = paint("soft", [82, 82, 82], [190, 190, 190], 4.5);
/// Axes and outlines.
pub(super) const AXIS: Paint = paint("axis", [110, 110, 110], [150, 150, 150], 3.0);
/// The first of the series: blue, sky blue on dark.
pub(super) const FIRST: Paint = paint("first", [0, 114, 178], [86, 180, 233], 3.0);
/// The second: vermillion, orange on dark.
pub(super) const SECOND: Paint = paint("second", [213, 94, 0], [230, 159, 0], 3.0);
/// The third: bluish green.
pub(super) const THIRD: Paint = paint("third", [0, 158, 115], [0, 158, 115], 3.0);
/// The fourth: reddish purple.
pub(super) const FOURTH: Paint = paint("fourth", [204, 121, 167], [204, 121, 167], 3.0);

/// Every paint; the first is the ground.
pub const PAINTS: [Paint; 8] = [GROUND, INK, SOFT, AXIS, FIRST, SECOND, THIRD, FOURTH];

/// The series in order.
pub(super) const SERIES: [Paint; 4] = [FIRST, SECOND, THIRD, FOURTH];

/// Fills of areas, each with a pattern of its own; the last is for "anything else".
pub(super) const FILLS: [&str; 5] = ["fill-1", "fill-2", "fill-3", "fill-4", "fill-5"];

fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// The rules of one ground: `pick` says which colour of a paint holds there.
fn rules(pick: impl Fn(&Paint) -> [u8; 3]) -> String {
    let mut css = String::new();
    for paint in &PAINTS {
        let (class, colour) = (paint.class, hex(pick(paint)));
        let _ = write!(css, ".pv-{class}{{fill:{colour}}}.pv-l-{class}{{stroke:{colour}}}");
    }
    css
}

/// The style sheet of all pictures, for a `<style>` element.
pub fn style_sheet() -> String {
    let mut css = String::from(
        ".pv text{font-family:sans-serif;font-size:13px}.pv .pv-head{font-size:15px;\
         font-weight:bold}.pv .pv-small{font-size:12px}.pv .pv-bold{font-weight:bold}\
         .pv .pv-line{fill:none;stroke-width:1}.pv .pv-thick{stroke-width:2.5}\
         .pv .pv-dash{stroke-dasharray:5 4}.pv .pv-edge{stroke-width:1.2}.pv .pv-tint{fill-opacity:0.35}",
    );
    for (at, fill) in FILLS.iter().enumerate() {
        let _ = write!(css, ".pv-{fill}{{fill:url(#pv-pattern-{})}}", at + 1);
    }
    css.push_str(&rules(|paint| paint.light));
    let _ = write!(css, "@media (prefers-color-scheme:dark){{{}}}", rules(|paint| paint.dark));
    // Paper is light, whatever the screen is.
    let _ = write!(css, "@media print{{{}}}", rules(|paint| paint.light));
    css
}

/// The patterns that the style sheet names, for a `<defs>` element.
pub fn defs() -> String {
    let ground = r#"<rect width="8" height="8" class="pv-ground"/>"#;
    let marks = [
        r#"<rect width="8" height="8" class="pv-first" fill-opacity="0.45"/>"#,
        r#"<path d="M-1 9L9 -1M-1 1L1 -1M7 9L9 7" class="pv-line pv-l-second" stroke-width="2.2"/>"#,
        concat!(
            r#"<circle cx="2" cy="2" r="1.5" class="pv-third"/>"#,
            r#"<circle cx="6" cy="6" r="1.5" class="pv-third"/>"#
        ),
        r#"<path d="M0 0L8 8M0 8L8 0" class="pv-line pv-l-fourth" stroke-width="1.4"/>"#,
        r#"<path d="M0 2H8M0 6H8" class="pv-line pv-l-axis" stroke-width="1"/>"#,
    ];
    let mut defs = String::from("<defs>");
    for (at, mark) in marks.iter().enumerate() {
        let _ = write!(
            defs,
            r#"<pattern id="pv-pattern-{}" width="8" height="8" patternUnits="userSpaceOnUse">{ground}{mark}</pattern>"#,
            at + 1
        );
    }
    defs + "</defs>"
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SOURCE: W3C, Web Content Accessibility Guidelines 2.2, relative luminance and contrast ratio.
    fn luminance(colour: [u8; 3]) -> f64 {
        let linear = |part: u8| {
            let part = f64::from(part) / 255.0;
            if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        };
        let [r, g, b] = colour.map(linear);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
        let (a, b) = (luminance(one), luminance(other));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_paint_stands_out_from_its_ground() {
        for paint in PAINTS {
            let light = contrast(paint.light, GROUND.light);
            let dark = contrast(paint.dark, GROUND.dark);
            assert!(light >= paint.contrast, "{} on light: {light}", paint.class);
            assert!(dark >= paint.contrast, "{} on dark: {dark}", paint.class);
        }
        assert!(contrast([0; 3], [255; 3]) > 20.9, "black on white is 21 : 1");
    }
}
