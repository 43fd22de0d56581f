//! Heat gains of a zone: two levels, by the weekly schedule.
//!
//! People, light and machines together, as one figure in watts for each level (our choice). Not modelled: sun, moisture,
//! gains between zones.

use crate::plant::Gains;
use heatwright_core::Level;

impl Gains {
    /// Heat in watts at a level of the schedule.
    pub fn heat_w(&self, level: Level) -> f64 {
        match level {
            Level::Occupied => self.occupied_w,
            Level::Setback => self.setback_w,
        }
    }
}
