//! Inks: colours, dashes and fills, our own choice.
//!
//! Eight dark colours, each at least 4.5 to 1 against white (the contrast that WCAG 2 asks of text), and five dashes: sixteen zones,
//! the most of a plant, all differ in dash or colour, and neighbours in both. Fills of bars step evenly in lightness.

use plotters::style::{RGBColor, ShapeStyle};

/// Lines of text and axes.
pub const BLACK: RGBColor = RGBColor(24, 24, 24);
/// Grids.
pub const FAINT: RGBColor = RGBColor(222, 222, 218);
/// The page.
pub const PAGE: RGBColor = RGBColor(255, 255, 255);

/// Colours of lines.
pub const COLOURS: [RGBColor; 8] = [
    RGBColor(11, 83, 148),
    RGBColor(166, 72, 6),
    RGBColor(47, 107, 47),
    RGBColor(123, 45, 139),
    RGBColor(15, 108, 102),
    RGBColor(154, 27, 60),
    RGBColor(91, 88, 0),
    RGBColor(74, 74, 74),
];

/// How a line is broken up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Not at all.
    Solid,
    /// Strokes of the first length, gaps of the second, in pixels.
    Strokes(u32, u32),
}

const DASHES: [Dash; 5] =
    [Dash::Solid, Dash::Strokes(9, 4), Dash::Strokes(3, 3), Dash::Strokes(14, 5), Dash::Strokes(5, 8)];

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ink {
    /// Its colour.
    pub colour: RGBColor,
    /// Its width, in pixels.
    pub width: u32,
    /// Its dash.
    pub dash: Dash,
}

impl Ink {
    /// The ink of the line with this number, counted from zero.
    pub fn nth(n: usize) -> Self {
        let colour = COLOURS.get(n % COLOURS.len()).copied().unwrap_or(BLACK);
        let dash = DASHES.get(n % DASHES.len()).copied().unwrap_or(Dash::Solid);
        Self { colour, width: 2, dash }
    }
    /// A solid line.
    pub const fn solid(colour: RGBColor, width: u32) -> Self {
        Self { colour, width, dash: Dash::Solid }
    }
    /// As the library takes it.
    pub fn style(self) -> ShapeStyle {
        ShapeStyle { color: self.colour.into(), filled: false, stroke_width: self.width }
    }
}

/// The fill of bar `n` of `of`, dark to light.
pub fn fill(n: usize, of: usize) -> RGBColor {
    let share = n as f64 / (of.max(2) - 1) as f64;
    let step = |dark: f64, light: f64| (dark + share.min(1.0) * (light - dark)).round() as u8;
    RGBColor(step(28.0, 236.0), step(64.0, 226.0), step(104.0, 196.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as WCAG 2 defines them.
    fn contrast(c: RGBColor) -> f64 {
        let part = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        1.05 / (0.2126 * part(c.0) + 0.7152 * part(c.1) + 0.0722 * part(c.2) + 0.05)
    }

    #[test]
    fn every_line_can_be_told_from_white_and_from_its_neighbours() {
        assert!(contrast(RGBColor(255, 200, 0)) < 4.5, "the measure sees a colour that is too light");
        for c in COLOURS {
            assert!(contrast(c) >= 4.5, "{c:?}");
        }
        let inks: Vec<Ink> = (0..16).map(Ink::nth).collect();
        for (i, a) in inks.iter().enumerate() {
            for b in inks.iter().skip(i + 1) {
                assert!(a.colour != b.colour || a.dash != b.dash);
            }
        }
        assert!(inks.windows(2).all(|w| w[0].colour != w[1].colour && w[0].dash != w[1].dash));
    }

    #[test]
    fn fills_step_in_lightness() {
        for of in 2..=8 {
            let light: Vec<f64> = (0..of).map(|n| 1.0 / contrast(fill(n, of))).collect();
            assert!(light.windows(2).all(|w| w[1] > w[0]), "{of}");
        }
    }
}
