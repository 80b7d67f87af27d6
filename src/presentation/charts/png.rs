//! A picture as PNG, for places that show no SVG.

use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::fontdb::{Database, Family, Query};
use resvg::usvg::{Options, Tree};

use super::Chart;

/// Pixels to a unit.
const SHARP: f32 = 2.0;
/// Fonts that are looked for, in this order; otherwise the first that is there.
const FONTS: [&str; 8] = [
    "DejaVu Sans",
    "Liberation Sans",
    "Noto Sans",
    "Arial",
    "Helvetica",
    "Segoe UI",
    "Roboto",
    "Open Sans",
];

/// Why there is no PNG.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPng {
    /// No font is installed that the words could be written with.
    NoFont,
    /// The picture is larger than memory holds.
    TooLarge,
}

impl Chart {
    /// The picture as PNG, light, two pixels to a unit; in a font of this machine.
    ///
    /// # Errors
    ///
    /// [`NoPng`]; an SVG needs no font and has no limit.
    pub fn png(&self) -> Result<Vec<u8>, NoPng> {
        let fonts = fonts().ok_or(NoPng::NoFont)?;
        let options = Options { fontdb: Arc::new(fonts), ..Options::default() };
        // What this crate writes is well-formed, so only its size can be refused.
        let tree = Tree::from_str(&self.svg(), &options).map_err(|_| NoPng::TooLarge)?;
        let size = tree.size().to_int_size();
        let size = size.scale_by(SHARP).ok_or(NoPng::TooLarge)?;
        let mut pixels = Pixmap::new(size.width(), size.height()).ok_or(NoPng::TooLarge)?;
        resvg::render(&tree, Transform::from_scale(SHARP, SHARP), &mut pixels.as_mut());
        pixels.encode_png().map_err(|_| NoPng::TooLarge)
    }
}

/// The fonts of this machine, with one of them as its sans-serif; `None` when it has none.
fn fonts() -> Option<Database> {
    let mut fonts = Database::new();
    fonts.load_system_fonts();
    let there = |name: &&str| {
        let families = [Family::Name(name)];
        fonts.query(&Query { families: &families, ..Query::default() }).is_some()
    };
    let known = FONTS.iter().find(|name| there(name)).map(|name| (*name).to_owned());
    let any = || fonts.faces().find_map(|face| Some(face.families.first()?.0.clone()));
    let name = known.or_else(any)?;
    fonts.set_sans_serif_family(name);
    Some(fonts)
}
