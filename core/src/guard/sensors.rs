//! Which readings are trusted, and what stands in for the supply when it is not.
//!
//! A reading that is open, shorted or never came is in fault: that can be *detected*. A sensor is **frozen** when it has not
//! moved by [`MOVED`] within `frozen_after` although its driver acted. A flame that was proved drives supply and outlet. So does
//! flow that takes heat away, since a reading that stands too high keeps every flame out: the supply, while nothing burns, water
//! flows to who wants heat and the reading is at the target or above, for [`BY_FLOW`] times as long; an outlet, while its boiler is on its way to a flame and
//! held up by its own hot water. It is watched from there on until it has moved once; a reading that is steady later in a long
//! fire is no fault, nor one that is mended in its midst.
//!
//! An outdoor reading that stands still to the hundredth for a day is one in fault: the filter goes to the fallback, as where
//! the sensor is open.
//!
//! ```text
//!   Rest -- driver acts --> Waiting -- moved --> Moved -- driver rests, or another acts --> Rest
//!                            '-- frozen_after over --> Frozen -- moved --> Moved
//! ```
//!
//! In fault or frozen, a boiler's outlet is replaced by the supply, and the supply is replaced by the hottest trusted
//! outlet of a boiler that burns, else by the return. So that nothing jumps, the stand-in begins at the last good value
//! and moves from it by 1 K a minute, up or down, until it meets the other reading, which it follows from there; when
//! that one jumps with its source it moves again, and while it is lost too the stand-in falls. In place of a frozen
//! reading, which was not good, a warmer one is believed at once. An outlet's is never below the supply. Both are the
//! safe side: less fire. A failed input never raises firing by itself: no demand and no rate is higher in the tick that
//! finds it.
//!
//! Nobody sees then how much the header falls short, and a building must not freeze beside boilers that could burn. So the
//! supply counts as short while its stand-in is not above the target: every boiler comes, one after another with
//! `start_spacing` between, and one is dropped only while the stand-in is above the band. Each of them holds its target by itself,
//! or, in rate drive, the hottest trusted outlet is held at the target once the stand-in has met it; without one the rate
//! does not rise. Source: our choice; sensors open and shorted, and all stages let on when the supply sensor fails, are common
//! practice.

use crate::{
    boilers::too_hot,
    clock::Clock,
    config::Config,
    demand::Flames,
    ids::BoilerId,
    inputs::Reading,
    limits::BOILERS,
    mask::Mask,
    points::SensorUse,
    seen::Seen,
    units::{Instant, Span, Temp, TempDelta},
};

/// A watched reading has moved once it is this far from where it was.
pub const MOVED: TempDelta = TempDelta::from_centi_k(30);

/// So many times `frozen_after` may water that flows without a flame keep the supply where it is: a buffer gives it for long. Our choice: two
/// hours of the usual half; a building takes longer to get cold.
pub const BY_FLOW: u32 = 4;

/// The wait for a supply that flow without a flame is to cool.
pub(crate) const fn by_flow(frozen_after: Span) -> Span {
    Span::from_tenths(frozen_after.tenths().saturating_mul(BY_FLOW))
}

/// An outdoor reading that stands still for this long is in fault.
pub const OUTDOOR_STILL: Span = Span::from_h(24);

/// What makes a reading move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Driver {
    /// A flame that is proved: it rises.
    Flame,
    /// Flow without a flame: it falls.
    Flow,
}

/// Whether a reading moves when its driver acts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Watch {
    /// Its driver rests.
    #[default]
    Rest,
    /// Its driver acts and it has not moved.
    Waiting {
        /// The reading when the driver began.
        reference: Temp,
        /// When that was.
        since: Instant,
        /// Which it is.
        by: Driver,
    },
    /// It has moved since this driver began.
    Moved {
        /// Which it is.
        by: Driver,
    },
    /// It did not move in time.
    Frozen {
        /// The reading it is frozen at.
        reference: Temp,
    },
}

impl Watch {
    fn decide(&mut self, reading: Option<Temp>, driver: Option<Driver>, within: Span, clock: &mut Clock) {
        let moved = |reference: Temp, t: Temp| t.above(reference).centi_k().saturating_abs() >= MOVED.centi_k();
        let next = match (*self, reading) {
            (Watch::Rest, _) if driver.is_none() => return,
            (Watch::Moved { by }, _) if driver == Some(by) => return,
            // One that comes back is not held to what the driver did before.
            (_, None) => Watch::moving(driver),
            (Watch::Rest, Some(reference)) => match driver {
                Some(by) if !within.is_zero() => Watch::Waiting { reference, since: clock.now(), by },
                Some(_) | None => return,
            },
            (Watch::Waiting { by, .. } | Watch::Moved { by }, Some(_)) if driver != Some(by) => Watch::Rest,
            (Watch::Waiting { reference, .. } | Watch::Frozen { reference }, Some(t)) if moved(reference, t) => {
                Watch::moving(driver)
            }
            (Watch::Waiting { reference, since, .. }, Some(_)) if clock.elapsed(since, within) => {
                Watch::Frozen { reference }
            }
            (Watch::Waiting { .. } | Watch::Moved { .. } | Watch::Frozen { .. }, Some(_)) => return,
        };
        *self = next;
        clock.written(true);
    }

    fn moving(driver: Option<Driver>) -> Self {
        driver.map_or(Watch::Rest, |by| Watch::Moved { by })
    }

    const fn frozen(self) -> bool {
        matches!(self, Watch::Frozen { .. })
    }
}

/// A value and since when.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Held {
    /// The value.
    pub value: Temp,
    /// Since when.
    pub since: Instant,
}

/// What stands in for a reading that is not trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StandIn {
    /// A value that moves towards another reading by a kelvin a minute.
    Moving {
        /// It has come to here.
        from: Temp,
        /// Since when.
        since: Instant,
    },
    /// Another reading, which it has met.
    Follows {
        /// What it last was.
        last: Temp,
    },
}

/// A watched sensor: does it move, and what it said when it could last be trusted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sensor {
    /// Whether it moves.
    pub watch: Watch,
    /// The last reading that was trusted.
    pub good: Option<Temp>,
    /// What stands in while the reading is not trusted.
    pub lost: Option<StandIn>,
}

impl Sensor {
    /// The reading while it can be trusted.
    fn decide(&mut self, reading: Reading, driver: Option<Driver>, within: Span, clock: &mut Clock) -> Option<Temp> {
        self.watch.decide(reading.temp(), driver, within, clock);
        let good = reading.temp().filter(|_| !self.watch.frozen());
        if good.is_some() {
            self.good = good;
            clock.clear(&mut self.lost);
        }
        good
    }

    /// The last good value, moving by a kelvin a minute to the other reading, and that reading from there on; nothing
    /// if there never was either.
    fn stand_in(&mut self, other: Option<Temp>, clock: &mut Clock) -> Option<Temp> {
        let now = clock.now();
        let (at, since) = match (self.lost, self.good) {
            (None, None) => return other,
            (None, Some(good)) => (good, now),
            (Some(StandIn::Moving { from, since }), _) => (from, since),
            (Some(StandIn::Follows { last }), _) => match other {
                Some(o) if o.above(last).centi_k().saturating_abs() <= JUMP.centi_k() => (o, now),
                Some(_) | None => (last, now),
            },
        };
        // What did not move was not good: a warmer reading is believed at once.
        let (at, since) = match other {
            Some(o) if o > at && self.watch.frozen() => (o, now),
            Some(_) | None => (at, since),
        };
        let minutes = now.since(since).whole_s() / 60;
        let by = TempDelta::from_k(i16::try_from(minutes).unwrap_or(i16::MAX));
        let from = match other {
            Some(o) if o < at => at.minus(by).max(o),
            Some(o) => at.plus(by).min(o),
            None => at.minus(by).max(GIVEN_UP),
        };
        let (lost, value) = match other {
            Some(last) if last == from => (StandIn::Follows { last }, Some(last)),
            None if at <= GIVEN_UP => (StandIn::Moving { from: at, since }, None),
            None if from <= GIVEN_UP => (StandIn::Moving { from, since: since.after(Span::from_min(minutes)) }, None),
            Some(_) | None => {
                let since = since.after(Span::from_min(minutes));
                clock.wake(since.after(Span::from_min(1)));
                (StandIn::Moving { from, since }, Some(from))
            }
        };
        clock.put(&mut self.lost, Some(lost));
        value
    }
}

/// Another reading that moves by more than this at once has changed its source: it is met slowly again.
const JUMP: TempDelta = TempDelta::from_k(2);

/// A stand-in that meets no other reading is given up when it has fallen to here: water is never so cold.
const GIVEN_UP: Temp = Temp::from_c(-100);

/// What is remembered about the sensors.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sensors {
    /// The supply.
    pub supply: Sensor,
    /// Boiler outlets.
    pub outlets: [Sensor; BOILERS],
    /// The outdoor reading and since when it stands still.
    pub outdoor: Option<Held>,
}

/// What may be believed in this tick.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Trusted {
    /// The supply or what stands in for it.
    pub(crate) supply: Option<Temp>,
    /// The supply is its own reading.
    pub(crate) supply_good: bool,
    /// It is its own reading, or a trusted outlet that it has met: by it the fire may grow.
    pub(crate) rises: bool,
    /// The outlets or what stands in for them; nothing where there is no sensor.
    pub(crate) outlets: [Option<Temp>; BOILERS],
    /// A sensor that stands still and should not: of several the outdoor, the supply, the first boiler's.
    pub(crate) frozen: Option<SensorUse>,
}

const fn drives(flame: bool, flow: bool) -> Option<Driver> {
    match (flame, flow) {
        (true, _) => Some(Driver::Flame),
        (false, true) => Some(Driver::Flow),
        (false, false) => None,
    }
}

impl Sensors {
    /// Judges the readings. `wanted` is the target while water flows to who wants heat.
    #[inline(never)]
    pub(crate) fn decide(
        &mut self,
        config: &Config,
        seen: &Seen,
        flames: &Flames,
        wanted: Option<Temp>,
        clock: &mut Clock,
        t: &mut Trusted,
    ) {
        let (within, firing) = (config.guard.frozen_after, flames.firing);
        let hot = wanted.is_some() && seen.supply.temp() >= wanted && flames.demand.is_empty();
        let driver = drives(!firing.is_empty(), hot);
        let longer = if hot { by_flow(within) } else { within };
        let supply = self.supply.decide(seen.supply, driver, longer, clock);
        let mut burning: Option<Temp> = None;
        let each = self.outlets.iter_mut().zip(&mut t.outlets).zip(&seen.outlets);
        for (b, (it, ((sensor, out), reading))) in (0u8..).zip(Mask::each(each)) {
            let held_up = || config.boilers.get(usize::from(b)).is_some_and(|c| too_hot(c, reading.temp()));
            let driver = drives(firing.meets(it), flames.coming.meets(it) && held_up());
            let own = sensor.decide(*reading, driver, within, clock);
            if sensor.watch.frozen() {
                t.frozen.get_or_insert(SensorUse::BoilerOutlet(BoilerId(b)));
            }
            if firing.meets(it) {
                burning = burning.max(own);
            }
            *out = own;
        }
        if self.supply.watch.frozen() {
            t.frozen = Some(SensorUse::Supply);
        }
        (t.supply, t.supply_good, t.rises) = (supply, true, true);
        if supply.is_none() {
            t.supply = self.supply.stand_in(burning.or(seen.return_.temp()), clock);
            (t.supply_good, t.rises) = (false, burning.is_some() && t.supply >= burning);
        }
        for (sensor, out) in self.outlets.iter_mut().zip(&mut t.outlets) {
            // A boiler without an outlet sensor has none that could be lost.
            if out.is_none() && sensor.good.is_some() {
                *out = sensor.stand_in(supply, clock).max(supply);
            }
        }
    }

    /// True while the outdoor reading stands still for too long.
    pub(crate) fn outdoor_stands(&mut self, reading: Reading, within: Span, clock: &mut Clock) -> bool {
        let Some(value) = reading.temp().filter(|_| !within.is_zero()) else {
            clock.clear(&mut self.outdoor);
            return false;
        };
        match self.outdoor {
            Some(held) if held.value == value => clock.elapsed(held.since, OUTDOOR_STILL),
            Some(_) | None => {
                // Nothing follows from a reading that moves; only the end of the wait is due.
                self.outdoor = Some(Held { value, since: clock.now() });
                clock.elapsed(clock.now(), OUTDOOR_STILL)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLAME: Option<Driver> = Some(Driver::Flame);
    const FLOW: Option<Driver> = Some(Driver::Flow);

    fn watch(readings: &[(u32, i16, Option<Driver>)]) -> Watch {
        let mut w = Watch::Rest;
        for (s, centi, driver) in readings {
            let reading = Some(Temp::from_centi_c(*centi));
            w.decide(reading, *driver, Span::from_s(600), &mut Clock::at(Instant::from_s(*s)));
        }
        w
    }

    #[test]
    fn a_sensor_that_does_not_move_after_its_driver_acted_is_frozen() {
        let reference = Temp::from_c(40);
        assert_eq!(
            watch(&[(0, 4000, FLAME), (599, 4010, FLAME)]),
            Watch::Waiting { reference, since: Instant::ZERO, by: Driver::Flame }
        );
        assert_eq!(watch(&[(0, 4000, FLAME), (600, 4010, FLAME)]), Watch::Frozen { reference });
        assert_eq!(
            watch(&[(0, 4000, FLAME), (300, 4030, FLAME), (9000, 4030, FLAME)]),
            Watch::Moved { by: Driver::Flame }
        );
        assert_eq!(watch(&[(0, 4000, FLAME), (300, 4000, None), (9000, 4000, None)]), Watch::Rest);
        assert_eq!(
            watch(&[(0, 4000, FLAME), (600, 4000, FLAME), (700, 3960, FLAME)]),
            Watch::Moved { by: Driver::Flame }
        );
        let since = Instant::from_s(1000);
        // A flame that goes out begins the watch anew where flow is to cool the water.
        let anew = [(0, 4000, FLAME), (300, 4030, FLAME), (999, 4030, FLOW), (1000, 4030, FLOW)];
        let reference = Temp::from_centi_c(4030);
        assert_eq!(watch(&anew), Watch::Waiting { reference, since, by: Driver::Flow });
        assert_eq!(watch(&[anew.as_slice(), &[(1600, 4030, FLOW)]].concat()), Watch::Frozen { reference });
    }

    #[test]
    fn a_reading_that_comes_back_in_the_midst_of_a_fire_is_not_held_to_its_beginning() {
        let mut w = Watch::Rest;
        let mut at = |s: u32, reading: Option<i16>| {
            w.decide(reading.map(Temp::from_c), FLAME, Span::from_s(600), &mut Clock::at(Instant::from_s(s)));
            w
        };
        assert!(matches!(at(0, Some(40)), Watch::Waiting { .. }));
        assert_eq!(at(10, None), Watch::Moved { by: Driver::Flame });
        assert_eq!(at(5000, Some(80)), Watch::Moved { by: Driver::Flame });
        assert_eq!(at(9000, Some(80)), Watch::Moved { by: Driver::Flame });
    }

    #[test]
    fn the_stand_in_begins_at_the_last_good_value_and_falls_to_the_other_reading() {
        let mut s = Sensor { good: Some(Temp::from_c(60)), ..Sensor::default() };
        let mut at = |t: u32, other: i16| s.stand_in(Some(Temp::from_c(other)), &mut Clock::at(Instant::from_s(t)));
        assert_eq!(at(100, 50), Some(Temp::from_c(60)), "no jump");
        assert_eq!(at(100 + 240, 50), Some(Temp::from_c(56)));
        assert_eq!(at(100 + 900, 50), Some(Temp::from_c(50)));
        assert_eq!(at(100 + 901, 49), Some(Temp::from_c(49)), "follows it");
        assert_eq!(at(100 + 902, 48), Some(Temp::from_c(48)));
        assert_eq!(at(100 + 903, 40), Some(Temp::from_c(48)), "another source: falls again");
        assert_eq!(at(100 + 963, 40), Some(Temp::from_c(47)));
    }

    #[test]
    fn the_stand_in_comes_up_to_a_warmer_reading_as_slowly_as_it_falls_to_a_cooler_one() {
        let mut s = Sensor { good: Some(Temp::from_c(60)), ..Sensor::default() };
        let mut at =
            |t: u32, other: Option<i16>| s.stand_in(other.map(Temp::from_c), &mut Clock::at(Instant::from_s(t)));
        assert_eq!(at(100, Some(70)), Some(Temp::from_c(60)), "no jump");
        assert_eq!(at(100 + 240, Some(70)), Some(Temp::from_c(64)));
        assert_eq!(at(100 + 241, Some(50)), Some(Temp::from_c(64)), "turns round without a jump");
        assert_eq!(at(100 + 300, Some(50)), Some(Temp::from_c(63)));
        assert_eq!(at(100 + 360, None), Some(Temp::from_c(62)), "falls while there is no other");
        assert_eq!(at(100 + 420, Some(90)), Some(Temp::from_c(63)));
        assert_eq!(at(100 + 600, Some(66)), Some(Temp::from_c(66)));
        assert_eq!(at(100 + 601, Some(67)), Some(Temp::from_c(67)), "follows it");
        assert_eq!(at(100 + 602, Some(80)), Some(Temp::from_c(67)), "another source: comes up again");
        assert_eq!(at(100 + 662, Some(80)), Some(Temp::from_c(68)));
    }

    #[test]
    fn in_place_of_a_frozen_reading_a_warmer_one_is_believed_at_once() {
        let frozen = Watch::Frozen { reference: Temp::from_c(25) };
        let mut s = Sensor { watch: frozen, good: Some(Temp::from_c(25)), lost: None };
        let mut at = |t: u32, other: i16| s.stand_in(Some(Temp::from_c(other)), &mut Clock::at(Instant::from_s(t)));
        assert_eq!(at(0, 20), Some(Temp::from_c(25)), "falls to a cooler one");
        assert_eq!(at(60, 20), Some(Temp::from_c(24)));
        assert_eq!(at(61, 60), Some(Temp::from_c(60)));
    }

    #[test]
    fn a_stand_in_that_meets_nothing_is_given_up() {
        let mut s = Sensor { good: Some(Temp::from_c(60)), ..Sensor::default() };
        let mut at = |t: u32| s.stand_in(None, &mut Clock::at(Instant::from_s(t)));
        assert_eq!(at(0), Some(Temp::from_c(60)));
        assert_eq!(at(60 * 100), Some(Temp::from_c(-40)));
        assert_eq!(at(60 * 1000), None);
        assert_eq!(at(60 * 2000), None);
    }

    /// A stand-in follows the reading that it has met while that moves by no more than two kelvins at once.
    #[test]
    fn a_reading_that_jumps_has_changed_its_source() {
        let met = StandIn::Follows { last: Temp::from_c(50) };
        let next = |centi_c: i16| {
            let mut s = Sensor { watch: Watch::Rest, good: Some(Temp::from_c(60)), lost: Some(met) };
            s.stand_in(Some(Temp::from_centi_c(centi_c)), &mut Clock::at(Instant::from_s(900))).unwrap().centi_c()
        };
        assert_eq!([5200, 5201, 4800, 4799].map(next), [5200, 5000, 4800, 5000]);
    }

    /// A stand-in without any other reading is given up at a hundred degrees of frost, and not before.
    #[test]
    fn a_stand_in_is_given_up_only_where_water_never_is() {
        let mut s = Sensor { good: Some(Temp::from_c(-98)), ..Sensor::default() };
        let mut at = |minutes: u32| s.stand_in(None, &mut Clock::at(Instant::from_s(60 * minutes)));
        assert_eq!([at(0), at(1), at(2), at(3)], [Some(Temp::from_c(-98)), Some(Temp::from_c(-99)), None, None]);
    }
}
