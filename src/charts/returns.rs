//! How long the boilers burned at which return temperature, and where flue gas condenses.
//!
//! Hours with flame of all boilers together, by the water that comes back to each. The line is the dew point of the flue gas (the
//! highest of the boilers'); gas leaves a little warmer than the return, so condensing ends a little below it.

use super::{
    ink::{BLACK, Dash, Ink, fill},
    panel::{Line, Panel, Shape},
};
use crate::show::units::In;
use std::collections::BTreeMap;

/// Hours with flame by return temperature.
#[derive(Clone, Debug, Default)]
pub struct Returns {
    /// Hours that condensed and hours that did not, by class.
    classes: BTreeMap<i64, (f64, f64)>,
    /// Dew point of the flue gas, in degrees Celsius.
    pub dew_c: Option<f64>,
}

impl Returns {
    /// None yet, with the dew point of the flue gas in degrees Celsius.
    pub fn new(dew_c: Option<f64>) -> Self {
        Self { dew_c, ..Self::default() }
    }

    /// Width of a class in the unit that is shown.
    fn width(u: In) -> f64 {
        if u.is_us() { 5.0 } else { 2.5 }
    }

    /// Adds hours with flame at a return temperature in degrees Celsius.
    pub fn add(&mut self, u: In, return_c: f64, condensing: bool, hours: f64) {
        let class = (u.temp(return_c) / Self::width(u)).floor();
        // A reading that is no number falls into no class.
        if class.is_finite() {
            let e = self.classes.entry(class as i64).or_default();
            *(if condensing { &mut e.0 } else { &mut e.1 }) += hours;
        }
    }

    /// Hours in all, and those that condensed.
    pub fn hours(&self) -> (f64, f64) {
        self.classes.values().fold((0.0, 0.0), |s, c| (s.0 + c.0 + c.1, s.1 + c.0))
    }

    /// As a panel.
    pub fn panel(&self, u: In) -> Panel<'static> {
        let width = Self::width(u);
        let mut p = Panel::new("Return water at the boilers while they burn", 290);
        p.x_name = format!("Return temperature, {}", u.temp_unit());
        p.y_name = "Hours with flame".into();
        let dew = self.dew_c.map(|c| u.temp(c));
        let low = self.classes.keys().next().map_or(0.0, |k| *k as f64 * width);
        let high = self.classes.keys().next_back().map_or(1.0, |k| (*k + 1) as f64 * width);
        let (low, high) = dew.map_or((low, high), |d| (low.min(d), high.max(d)));
        p.x = (low - width, high + width);
        let most = self.classes.values().map(|c| c.0 + c.1).fold(0.0, f64::max);
        // Room above the tallest class for the word at the dew point.
        p.y = (0.0, if most > 0.0 { most * 1.2 } else { 1.0 });
        let (wet, dry) = (fill(0, 2), fill(1, 2));
        for (k, (condensed, rest)) in &self.classes {
            let (x0, x1) = (*k as f64 * width, (*k + 1) as f64 * width);
            if *condensed > 0.0 {
                p.shapes.push(Shape::block(wet, (x0, 0.0), (x1, *condensed)));
            }
            if *rest > 0.0 {
                p.shapes.push(Shape::block(dry, (x0, *condensed), (x1, condensed + rest)));
            }
        }
        let (all, condensed) = self.hours();
        p.fills.push((wet, "condensing".into()));
        p.fills.push((dry, "dry".into()));
        if let (Some(c), Some(x)) = (self.dew_c, dew) {
            let ink = Ink { colour: BLACK, width: 2, dash: Dash::Strokes(7, 4) };
            p.lines.push(Line::whole("dew point", ink, vec![(x, 0.0), (x, p.y.1)]));
            p.words.push(((x, p.y.1 * 0.95), u.temp_text(c)));
        }
        if all > 0.0 {
            p.notes.push(format!("{condensed:.0} of {all:.0} h condense"));
            if self.dew_c.is_some() {
                p.notes.push("Flue gas is a few degrees".into());
                p.notes.push("warmer than the return:".into());
                p.notes.push("it condenses a little left".into());
                p.notes.push("of the dew point.".into());
            }
        }
        p
    }
}
