//! Scales and series: plotters, drawing on our own sheet.
//!
//! Plotters places values and chooses the ticks of a scale. Its own SVG has fixed colours, so the
//! sheet is made a backend of it: a colour that it is given stands for a paint, and comes out as a
//! class of the style sheet.

use std::convert::Infallible;
use std::ops::Range;

use plotters::coord::ranged1d::{BoldPoints, DefaultFormatting, KeyPointHint};
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::prelude::{
    AreaSeries, Cartesian2d, Color, DrawingBackend, IntoDrawingArea, IntoLogRange, LineSeries,
    LogCoord, RGBColor, Ranged,
};
use plotters_backend::{BackendColor, BackendCoord, BackendStyle, DrawingErrorKind};

use super::canvas::{Canvas, through};
use super::style::{PAINTS, Paint};

/// Plotters counts in whole steps; there are so many to a unit.
const FINE: f64 = 10.0;

/// A scale of values, even or in powers of ten.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    from: f64,
    to: f64,
    powers: bool,
}

impl Scale {
    /// Equal steps are equal differences.
    pub(super) fn even(from: f64, to: f64) -> Self {
        Scale { from, to, powers: false }
    }

    /// Equal steps are equal factors; both ends are above zero.
    pub(super) fn powers(from: f64, to: f64) -> Self {
        Scale { from, to, powers: true }
    }

    /// Round values on the scale, at most so many.
    pub(super) fn ticks(&self, at_most: usize) -> Vec<f64> {
        self.key_points(BoldPoints(at_most))
    }

    /// Whether a value lies on the scale.
    pub(super) fn range_holds(&self, value: f64) -> bool {
        (self.from..=self.to).contains(&value)
    }

    fn in_powers(&self) -> LogCoord<f64> {
        (self.from..self.to).log_scale().into()
    }

    fn in_steps(&self) -> plotters::coord::types::RangedCoordf64 {
        (self.from..self.to).into()
    }
}

impl Ranged for Scale {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        if self.powers {
            self.in_powers().map(value, limit)
        } else {
            self.in_steps().map(value, limit)
        }
    }

    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        if self.powers {
            self.in_powers().key_points(hint)
        } else {
            self.in_steps().key_points(hint)
        }
    }

    fn range(&self) -> Range<f64> {
        self.from..self.to
    }
}

/// A part of the sheet with a scale across and a scale from its bottom up.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plane {
    /// Left edge, top edge, width, height.
    pub(super) frame: [f64; 4],
    pub(super) x: Scale,
    pub(super) y: Scale,
}

impl Plane {
    fn coordinates(&self) -> Cartesian2d<Scale, Scale> {
        let [left, top, width, height] = self.frame;
        let [left, top] = [left, top].map(steps);
        let [right, bottom] = [self.frame[0] + width, self.frame[1] + height].map(steps);
        Cartesian2d::new(self.x, self.y, (left..right, bottom..top))
    }

    /// Where a value lies across the sheet.
    pub(super) fn across(&self, x: f64) -> f64 {
        let [left, _, width, _] = self.frame;
        f64::from(self.x.map(&x, (steps(left), steps(left + width)))) / FINE
    }

    /// How far down the sheet a value lies.
    pub(super) fn down(&self, y: f64) -> f64 {
        let [_, top, _, height] = self.frame;
        f64::from(self.y.map(&y, (steps(top + height), steps(top)))) / FINE
    }

    /// A line from point to point.
    pub(super) fn line(&self, canvas: &mut Canvas, points: &[(f64, f64)], paint: Paint) {
        let style = Color::stroke_width(&colour(paint), 2);
        self.draw(canvas, |area| {
            LineSeries::new(points.iter().copied(), style).try_for_each(|part| area.draw(&part))
        });
    }

    /// The area below a line.
    pub(super) fn area(&self, canvas: &mut Canvas, points: &[(f64, f64)], paint: Paint) {
        let fill = colour(paint).mix(0.35);
        self.draw(canvas, |area| {
            let mut series =
                AreaSeries::new(points.iter().copied(), 0.0, fill).border_style(colour(paint));
            series.try_for_each(|part| area.draw(&part))
        });
    }

    /// Drawing cannot fail: the sheet is a text that grows.
    fn draw<F>(&self, canvas: &mut Canvas, with: F)
    where
        F: FnOnce(
            &DrawingArea<Backend<'_>, Cartesian2d<Scale, Scale>>,
        ) -> Result<(), DrawingAreaErrorKind<Infallible>>,
    {
        let area = Backend(canvas).into_drawing_area().apply_coord_spec(self.coordinates());
        let drawn = with(&area);
        debug_assert!(drawn.is_ok());
    }
}

fn steps(value: f64) -> i32 {
    (value * FINE).round() as i32
}

/// The colour that stands for a paint: its number.
fn colour(paint: Paint) -> RGBColor {
    let number = PAINTS.iter().position(|one| *one == paint).unwrap_or_default();
    RGBColor(u8::try_from(number).unwrap_or_default(), 0, 0)
}

/// The sheet, as plotters sees it.
struct Backend<'c>(&'c mut Canvas);

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

impl Backend<'_> {
    fn paint(colour: BackendColor) -> Paint {
        PAINTS.get(usize::from(colour.rgb.0)).copied().unwrap_or(PAINTS[1])
    }

    fn units(points: impl IntoIterator<Item = BackendCoord>) -> Vec<[f64; 2]> {
        let unit = |(x, y)| [f64::from(x) / FINE, f64::from(y) / FINE];
        points.into_iter().map(unit).collect()
    }
}

impl DrawingBackend for Backend<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        (100_000, 100_000)
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, colour: BackendColor) -> Drawn {
        let at = Self::units([(x, y)])[0];
        self.0.circle(at, 0.5, &[Self::paint(colour).class]);
        Ok(())
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        self.draw_path([from, to], style)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        let more: &[&str] = if style.stroke_width() > 1 { &["thick"] } else { &[] };
        self.0.lines(&Self::units(path), Self::paint(style.color()), more);
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Drawn {
        let d = through(&Self::units(corners)) + "Z";
        let tint = if style.color().alpha < 1.0 { "tint" } else { "edge" };
        self.0.path(&d, &[Self::paint(style.color()).class, tint]);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_factors_are_equal_steps() {
        let (x, y) = (Scale::powers(0.01, 100.0), Scale::even(0.0, 1.0));
        let plane = Plane { frame: [10.0, 0.0, 400.0, 100.0], x, y };
        let at: Vec<f64> = [0.01, 0.1, 1.0, 10.0, 100.0].map(|odds| plane.across(odds)).to_vec();
        assert_eq!(at, [10.0, 110.0, 210.0, 310.0, 410.0]);
        assert_eq!((plane.down(0.0), plane.down(1.0)), (100.0, 0.0));
    }
}
