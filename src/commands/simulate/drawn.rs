//! What a chart of the run needs, collected sample by sample.

use super::clock;
use crate::{
    charts::{
        returns::{Gas, Returns},
        week::Week,
    },
    plant::Loaded,
    show::units::In,
};
use heatwright_core::{BoilerId, SensorUse, Subject, ZoneId};
use heatwright_sim::{boiler::efficiency::FlueGas, plant::Efficiency, run::Sample, weather::Series};

/// Collects a run for its chart.
pub(super) struct Drawn {
    week: Week,
    /// Hours that one sample stands for.
    hours: f64,
    /// Coldest return that each boiler may get, in degrees Celsius; none for one that condenses.
    return_min_c: Vec<Option<f64>>,
}

impl Drawn {
    /// Nothing yet.
    pub(super) fn new(l: &Loaded, series: &Series, every_min: u32) -> Self {
        let dew = |b: &heatwright_sim::plant::Boiler| match b.efficiency {
            Efficiency::Combustion { excess_air, .. } => {
                Some(FlueGas::dry(excess_air, l.physics.site.altitude_m).dew_point_c())
            }
            Efficiency::Points(_) => None,
        };
        let dew_c = l.physics.boilers.iter().filter_map(dew).max_by(f64::total_cmp);
        let zone = |i: usize| (l.names.title(Subject::Zone(ZoneId(i as u8))).into_owned(), Vec::new());
        let boiler = |i: usize| (l.names.title(Subject::Boiler(BoilerId(i as u8))).into_owned(), Vec::new());
        let week = Week {
            title: format!("{} under its own control", l.plant.site.name),
            under: String::new(),
            start: series.start(),
            at_d: Vec::new(),
            outdoor: Vec::new(),
            target: Vec::new(),
            supply: Vec::new(),
            zones: (0..l.plant.zones.len()).map(zone).collect(),
            boilers: (0..l.plant.boilers.len()).map(boiler).collect(),
            outlets: (0..l.plant.boilers.len()).map(boiler).collect(),
            tank: l.plant.tank.is_some().then(Vec::new),
            returns: Returns::new(dew_c),
        };
        Self {
            week,
            hours: f64::from(every_min) / 60.0,
            return_min_c: l.physics.boilers.iter().map(|b| b.return_min_c).collect(),
        }
    }

    /// Takes one sample.
    pub(super) fn sample(&mut self, s: &Sample<'_>, u: In) {
        let w = &mut self.week;
        w.at_d.push(s.at_s / 86_400.0);
        w.outdoor.push(u.temp(s.state.outdoor_c));
        w.target.push(s.outputs.target.map(|t| u.temp(f64::from(t.centi_c()) / 100.0)));
        w.supply.push(u.temp(s.model.true_c(s.state, SensorUse::Supply)));
        for ((_, air), air_c) in w.zones.iter_mut().zip(s.state.zones.air_c()) {
            air.push(u.temp(air_c));
        }
        for (k, (_, water)) in w.outlets.iter_mut().enumerate() {
            water.push(u.temp(s.model.true_c(s.state, SensorUse::BoilerOutlet(BoilerId(k as u8)))));
        }
        if let Some(tank) = &mut w.tank {
            tank.push(u.temp(s.model.true_c(s.state, SensorUse::Tank)));
        }
        for (((_, rates), b), least_c) in w.boilers.iter_mut().zip(&s.state.boilers).zip(&self.return_min_c) {
            let lit = b.state.burner.lit();
            rates.push(if lit { b.state.rate } else { 0.0 });
            if lit {
                let gas = if b.flux.condensate_kg_s > 0.0 {
                    Gas::Condenses
                } else if least_c.is_some_and(|least_c| b.flux.return_c < least_c) {
                    Gas::TooCold
                } else {
                    Gas::Dry
                };
                w.returns.add(u, b.flux.return_c, gas, self.hours);
            }
        }
    }

    /// The chart.
    pub(super) fn chart(mut self, u: In, weather: &str) -> String {
        let days = self.week.at_d.last().copied().unwrap_or(0.0);
        self.week.under = format!(
            "{days:.0} day{} from {}, weather of {weather}",
            if days < 1.5 { "" } else { "s" },
            clock(self.week.start, 0.0)
        );
        self.week.chart(u)
    }
}
