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

/// What the flue gas of a boiler does that burns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gas {
    /// It condenses, as that boiler is built for.
    Condenses,
    /// It does not.
    Dry,
    /// The water is colder than a boiler may get that is not built for it.
    TooCold,
}

/// Hours with flame by return temperature.
#[derive(Clone, Debug, Default)]
pub struct Returns {
    /// Hours by class: those that condensed, those that did not, and those of a boiler that must not and got colder water than it may.
    classes: BTreeMap<i64, [f64; 3]>,
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
    pub fn add(&mut self, u: In, return_c: f64, gas: Gas, hours: f64) {
        let class = (u.temp(return_c) / Self::width(u)).floor();
        // A reading that is no number falls into no class.
        if class.is_finite() {
            self.classes.entry(class as i64).or_default()[gas as usize] += hours;
        }
    }

    /// Hours by what the flue gas does.
    pub fn hours(&self) -> [f64; 3] {
        self.classes.values().fold([0.0; 3], |s, c| [s[0] + c[0], s[1] + c[1], s[2] + c[2]])
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
        let most = self.classes.values().map(|c| c.iter().sum()).fold(0.0, f64::max);
        // Room above the tallest class for the word at the dew point.
        p.y = (0.0, if most > 0.0 { most * 1.2 } else { 1.0 });
        let hours = self.hours();
        let all: f64 = hours.iter().sum();
        let [condensed, _, harmed] = hours;
        let many = if harmed > 0.0 { 3 } else { 2 };
        let kinds = [(fill(0, many), "condensing"), (fill(1, many), "dry"), (fill(2, many), "too cold for it")];
        for (k, class) in &self.classes {
            let (x0, x1) = (*k as f64 * width, (*k + 1) as f64 * width);
            let mut below = 0.0;
            for ((ink, _), h) in kinds.iter().zip(class).filter(|(_, h)| **h > 0.0) {
                p.shapes.push(Shape::block(*ink, (x0, below), (x1, below + h)));
                below += h;
            }
        }
        p.fills.extend(kinds.into_iter().take(many).map(|(ink, name)| (ink, name.into())));
        if let (Some(c), Some(x)) = (self.dew_c, dew) {
            let ink = Ink { colour: BLACK, width: 2, dash: Dash::Strokes(7, 4) };
            p.lines.push(Line::whole("dew point", ink, vec![(x, 0.0), (x, p.y.1)]));
            p.words.push(((x, p.y.1 * 0.95), u.temp_text(c)));
        }
        if all > 0.0 {
            p.notes.push(format!("{condensed:.0} of {all:.0} h condense"));
            if harmed > 0.0 {
                p.notes.push(format!("{harmed:.0} h below return-min of a"));
                p.notes.push("boiler that must not condense".into());
            }
            if self.dew_c.is_some() && condensed > 0.0 {
                p.notes.push("Flue gas is a few degrees".into());
                p.notes.push("warmer than the return:".into());
                p.notes.push("it condenses a little left".into());
                p.notes.push("of the dew point.".into());
            }
        }
        p
    }
}
