//! The alarm, and boilers that are out of order: since when, how long, why.
//!
//! The alarm stands while the controller states its alarm relay off. A boiler is out of order while its demand is refused because it
//! failed to prove flow or flame, or because it reports a fault itself. Both change in a tick only, so that time is counted
//! from tick to tick. What stands when counting begins counts from there.

use heatwright_core::{BoilerId, Outputs, Points, Reason, RelayId, RelayUse};
use serde::{Deserialize, Serialize};

/// One cause.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stood {
    /// Why.
    pub why: Reason,
    /// The boiler that it is about, where the reason itself names none.
    pub boiler: Option<BoilerId>,
    /// When it first stood, in seconds since the start of the counted part; 0 for what stood already.
    pub first_s: f64,
    /// How often it came.
    pub times: u32,
    /// How long it stood, in hours.
    pub hours_h: f64,
    /// It stands at the end.
    pub at_end: bool,
}

/// What stood in a run.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Alarms {
    /// Hours with the alarm relay dropped.
    pub hours_h: f64,
    /// The alarm stands at the end.
    pub at_end: bool,
    /// Why, in the order in which they came. While several stand, the controller states the first of its own order.
    pub causes: Vec<Stood>,
    /// Boilers that were out of order, whether the alarm named them or not.
    pub out_of_order: Vec<Stood>,
}

/// Whose: the alarm relay, or a boiler's demand.
type Mark = (Option<BoilerId>, Reason);

/// Looks at what the controller states.
#[derive(Clone, Debug)]
pub(crate) struct AlarmWatch {
    relay: Option<RelayId>,
    demands: Vec<(BoilerId, RelayId)>,
    /// The alarm that stands, and the boilers that are out of order.
    alarm: Option<Mark>,
    out: Vec<Mark>,
    /// The same of this moment; kept so that looking allocates nothing.
    now: Vec<Mark>,
    since_s: f64,
    found: Alarms,
}

fn broken(why: Reason) -> bool {
    matches!(why, Reason::FlowFailed | Reason::FlameFailed | Reason::BoilerFault)
}

/// A cause comes.
fn come(list: &mut Vec<Stood>, (boiler, why): Mark, at_s: f64) {
    match list.iter_mut().find(|s| (s.boiler, s.why) == (boiler, why)) {
        Some(s) => (s.times, s.at_end) = (s.times + 1, true),
        None => list.push(Stood { why, boiler, first_s: at_s, times: 1, hours_h: 0.0, at_end: true }),
    }
}

impl AlarmWatch {
    pub(crate) fn new(points: &Points) -> Self {
        let relays = || points.relays.iter().enumerate().map(|(i, what)| (RelayId(i as u8), *what));
        let demands: Vec<_> = relays()
            .filter_map(|(r, what)| match what {
                RelayUse::Demand(b) => Some((b, r)),
                _ => None,
            })
            .collect();
        Self {
            relay: relays().find(|(_, what)| *what == RelayUse::Alarm).map(|(r, _)| r),
            alarm: None,
            out: Vec::with_capacity(demands.len()),
            now: Vec::with_capacity(demands.len()),
            demands,
            since_s: 0.0,
            found: Alarms::default(),
        }
    }

    /// What is stated from this moment on.
    pub(crate) fn see(&mut self, at_s: f64, outputs: &Outputs) {
        self.now.clear();
        for (b, r) in &self.demands {
            let stated = outputs.relay(*r);
            if !stated.on && broken(stated.why) {
                self.now.push((Some(*b), stated.why));
            }
        }
        let dropped = self.relay.map(|r| outputs.relay(r)).filter(|s| !s.on);
        let alarm = dropped.map(|s| {
            // The reasons that name no boiler are those of the one that is refused for the same.
            let whose = self.now.iter().find(|(_, why)| *why == s.why);
            (whose.and_then(|(b, _)| *b), s.why)
        });
        if alarm == self.alarm && self.now == self.out {
            return;
        }
        self.count(at_s);
        if alarm != self.alarm {
            self.found.causes.iter_mut().for_each(|s| s.at_end = false);
            if let Some(mark) = alarm {
                come(&mut self.found.causes, mark, at_s);
            }
        }
        for s in &mut self.found.out_of_order {
            s.at_end &= self.now.contains(&(s.boiler, s.why));
        }
        for mark in &self.now {
            if !self.out.contains(mark) {
                come(&mut self.found.out_of_order, *mark, at_s);
            }
        }
        self.alarm = alarm;
        std::mem::swap(&mut self.out, &mut self.now);
    }

    fn count(&mut self, at_s: f64) {
        let hours = (at_s - self.since_s) / 3600.0;
        self.since_s = at_s;
        let f = &mut self.found;
        if self.alarm.is_some() {
            f.hours_h += hours;
        }
        for s in f.causes.iter_mut().chain(&mut f.out_of_order).filter(|s| s.at_end) {
            s.hours_h += hours;
        }
    }

    pub(crate) fn end(mut self, at_s: f64) -> Alarms {
        self.count(at_s);
        self.found.at_end = self.alarm.is_some();
        self.found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use heatwright_core::Stated;

    #[test]
    fn hours_causes_and_boilers_are_told_apart() {
        let relays = [RelayUse::Alarm, RelayUse::Demand(BoilerId(0)), RelayUse::Demand(BoilerId(1))];
        let points = Points { relays: relays.into_iter().collect(), ..Points::default() };
        let say = |alarm: Option<Reason>, second: Reason| {
            let mut o = Outputs::default();
            o.relays[0] = Stated { on: alarm.is_none(), why: alarm.unwrap_or(Reason::Healthy) };
            o.relays[1] = Stated { on: true, why: Reason::Lead };
            o.relays[2] = Stated { on: false, why: second };
            o
        };
        let mut w = AlarmWatch::new(&points);
        w.see(0.0, &say(None, Reason::NotNeeded));
        w.see(3600.0, &say(Some(Reason::FlameFailed), Reason::FlameFailed));
        w.see(5400.0, &say(Some(Reason::FlameFailed), Reason::FlameFailed));
        w.see(7200.0, &say(Some(Reason::HotCuts(BoilerId(0))), Reason::FlameFailed));
        w.see(9000.0, &say(None, Reason::NotNeeded));
        w.see(10_800.0, &say(Some(Reason::HotCuts(BoilerId(0))), Reason::NotNeeded));
        let a = w.end(14_400.0);
        let stood =
            |why, boiler, first_s, times, hours_h, at_end| Stood { why, boiler, first_s, times, hours_h, at_end };
        let b2 = Some(BoilerId(1));
        assert_eq!((a.hours_h, a.at_end), (2.5, true), "{a:?}");
        assert_eq!(
            a.causes,
            [
                stood(Reason::FlameFailed, b2, 3600.0, 1, 1.0, false),
                stood(Reason::HotCuts(BoilerId(0)), None, 7200.0, 2, 1.5, true)
            ]
        );
        assert_eq!(a.out_of_order, [stood(Reason::FlameFailed, b2, 3600.0, 1, 1.5, false)]);
    }
}
