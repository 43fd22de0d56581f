//! Slow corrections of a target: bounded, and let go in small steps.
//!
//! **Header trim.** Closely spaced tees and low-loss headers mix: the zones may get cooler water than the boilers give.
//! On a grid of 30 s the boilers' target is raised above the supply target by `trim += e * 30 s / integral`, held
//! between zero and `header_trim_max`. `e` is the smaller of two: the dilution that is measured (hottest
//! outlet of a burning boiler less the supply) less the trim, and the supply's own shortfall below its target. So the trim
//! settles on the dilution, by a hundredth of a kelvin a step where the law asks for less, and shrinks while the supply is above
//! its target, whatever stands between the two sensors. It does not grow either while the hottest outlet is more than [`SETTLED`]
//! below what it is told: the water is being warmed, the supply lags behind the outlets, and a higher target would warm it no
//! faster. Without an outlet sensor `e` is the shortfall alone. While nothing fires, nothing flows, the tank is served, or the
//! supply is not trusted, the trim falls back by [`STEP`] a grid step: a tank's pump moves less than those of the boilers, so
//! that nothing dilutes and the supply merely comes late. No single step is larger than [`STEP`], so that neither a
//! starting pump nor a stopped boiler makes a bump.
//!
//! **Demand trim.** On a grid of 10 min the supply target moves up by [`STEP`] while some zone has called for 30 min
//! without a break and is given heat, and down by as much while none has called for 10 min, within `demand_trim_max`
//! both ways. A call that is not served (pump at OFF, limit open, shed, too few, warm season) holds it: nothing is
//! known of the water it needs.
//!
//! Source: reset by zone demand is the idea of trim-and-respond (ASHRAE Guideline 36-2021, 5.1.14.4, from memory); the
//! numbers are our choice. It does not replace the curve: it corrects one that is a little off.

use super::{CATCH_UP, next, steps};
use crate::{
    call::ZoneCalls,
    mask::Mask,
    units::{Instant, Span, Temp, TempDelta},
};

/// Grid of the header trim.
pub const HEADER_GRID: Span = Span::from_s(30);
/// Grid of the demand trim.
pub const DEMAND_GRID: Span = Span::from_min(10);
/// Largest step of either: half a kelvin.
pub const STEP: TempDelta = TempDelta::from_centi_k(50);

/// An outlet within this of what its boiler is told has reached it. Our choice: about what boilers' own controls hold.
pub const SETTLED: TempDelta = TempDelta::from_k(4);

/// What the header trim follows: the dilution that is not made up for yet or the supply's shortfall `short`, whichever is less.
pub(crate) fn header_error(trim: TempDelta, short: TempDelta, supply: Temp, outlet: Option<Temp>) -> TempDelta {
    let Some(outlet) = outlet else { return short };
    let error = short.min(outlet.above(supply).plus(trim.negated()));
    let told = supply.plus(short).plus(trim);
    if told.above(outlet) > SETTLED { error.min(TempDelta::ZERO) } else { error }
}

/// A call that lasts this long raises the demand trim.
pub const LONG_CALL: Span = Span::from_min(30);
const SHORT_CALL: Span = Span::from_min(10);

/// The header trim after `n` steps on a standing error, at least one and at most [`CATCH_UP`]: each is as large as the first,
/// up to the bounds. `error` is `None` while the trim is to be let go.
#[inline(never)]
fn header_stepped(trim: TempDelta, error: Option<TempDelta>, integral: Span, most: TempDelta, n: u32) -> TempDelta {
    let by_steps = |step: TempDelta| {
        let n = i32::try_from(n).unwrap_or(i32::MAX);
        TempDelta::from_centi_k_saturating(i32::from(step.centi_k()).saturating_mul(n))
    };
    let Some(error) = error else {
        return trim.plus(by_steps(STEP.negated())).max(TempDelta::ZERO);
    };
    let by = i32::from(error.centi_k())
        .saturating_mul(i32::try_from(HEADER_GRID.tenths()).unwrap_or(0))
        .checked_div(i32::try_from(integral.tenths()).unwrap_or(i32::MAX));
    let Some(by) = by else { return trim };
    // What a long integral time would round away still moves it by the least there is: no dead band.
    let by = if by == 0 { i32::from(error.centi_k().signum()) } else { by };
    let step = TempDelta::from_centi_k_saturating(by).held_in(STEP.negated(), STEP);
    trim.plus(by_steps(step)).held_in(TempDelta::ZERO, most)
}

/// Moves the header trim over the interval from `from` to `to`.
pub(crate) fn header(
    trim: &mut TempDelta,
    error: Option<TempDelta>,
    integral: Span,
    most: TempDelta,
    from: Instant,
    to: Instant,
) {
    let wanted = steps(from, to, HEADER_GRID);
    if wanted == 0 {
        return;
    }
    *trim = header_stepped(*trim, error, integral, most, wanted.min(CATCH_UP));
    if wanted > CATCH_UP && header_stepped(*trim, error, integral, most, 1) != *trim {
        *trim = TempDelta::ZERO;
    }
}

/// When the header trim moves next.
pub(crate) fn header_due(
    trim: TempDelta,
    error: Option<TempDelta>,
    integral: Span,
    most: TempDelta,
    now: Instant,
) -> Option<Instant> {
    (header_stepped(trim, error, integral, most, 1) != trim).then_some(next(now, HEADER_GRID))
}

/// Moves the demand trim over the interval from `from` to `to` by the calls that stood in it; `heated` are those
/// served.
pub(crate) fn demand(
    trim: &mut TempDelta,
    calls: &ZoneCalls,
    heated: Mask,
    most: TempDelta,
    from: Instant,
    to: Instant,
) {
    let mut at = next(from, DEMAND_GRID);
    for _ in 0..steps(from, to, DEMAND_GRID).min(CATCH_UP) {
        let (mut served, mut longest) = (Span::ZERO, Span::ZERO);
        for (i, since) in calls.counted() {
            let long = at.since(since);
            longest = longest.max(long);
            served = served.max(if heated.has(i) { long } else { Span::ZERO });
        }
        let step = match longest {
            _ if served >= LONG_CALL => STEP,
            long if long >= SHORT_CALL => TempDelta::ZERO,
            _ => STEP.negated(),
        };
        *trim = trim.plus(step).held_in(most.negated(), most);
        at = next(at, DEMAND_GRID);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::call::Call;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn steps_made_up_in_one_are_those_made_one_by_one(
            error in prop::option::of(-900i16..900), integral in 0u32..20_000, most in 0i16..900, part in 0i32..=100,
            n in 1..=CATCH_UP
        ) {
            let (error, integral) = (error.map(TempDelta::from_centi_k), Span::from_tenths(integral));
            let (trim, most) = ((i32::from(most) * part / 100) as i16, TempDelta::from_centi_k(most));
            let trim = TempDelta::from_centi_k(trim);
            let each = (0..n).fold(trim, |t, _| header_stepped(t, error, integral, most, 1));
            prop_assert_eq!(header_stepped(trim, error, integral, most, n), each);
        }
    }

    #[test]
    fn the_header_trim_is_bounded_and_let_go_in_small_steps() {
        let (integral, most) = (Span::from_s(600), TempDelta::from_k(6));
        let mut trim = TempDelta::ZERO;
        let mut last = trim;
        for i in 0..200 {
            let error = (i < 100).then_some(TempDelta::from_k(4));
            header(&mut trim, error, integral, most, Instant::from_s(i * 30), Instant::from_s(i * 30 + 30));
            assert!((trim.centi_k() - last.centi_k()).abs() <= STEP.centi_k());
            assert!((0..=600).contains(&trim.centi_k()));
            assert_eq!(i == 99, i == 99 && trim == most);
            last = trim;
        }
        assert_eq!(trim, TempDelta::ZERO);
        assert_eq!(header_due(trim, None, integral, most, Instant::from_s(6000)), None);
    }

    #[test]
    fn the_header_trim_settles_on_the_dilution_however_long_the_integral_time() {
        for integral in [Span::from_s(300), Span::from_s(3600), Span::from_h(20)] {
            for (from, dilution) in [(0, 40), (300, 260)] {
                let mut trim = TempDelta::from_centi_k(from);
                for i in 0..300 {
                    let error = Some(TempDelta::from_centi_k(dilution).plus(trim.negated()));
                    let at = Instant::from_s(i * 30);
                    header(&mut trim, error, integral, TempDelta::from_k(6), at, at.after(HEADER_GRID));
                }
                assert_eq!(trim.centi_k(), dilution, "{integral:?}");
            }
        }
    }

    #[test]
    fn the_trim_follows_dilution_only_while_the_supply_is_short_and_the_boilers_have_reached_what_they_are_told() {
        let k = TempDelta::from_k;
        let at = |trim, supply, outlet: Option<i16>| {
            let (supply, outlet) = (Temp::from_c(supply), outlet.map(Temp::from_c));
            header_error(k(trim), Temp::from_c(60).above(supply), supply, outlet)
        };
        assert_eq!(at(0, 56, Some(60)), k(4), "settled: the dilution");
        assert_eq!(at(3, 59, Some(63)), k(1), "what is not made up for yet");
        assert_eq!(at(4, 60, Some(64)), k(0), "made up for");
        assert_eq!(at(0, 62, Some(70)), k(-2), "hot outlets over a supply that is warm enough");
        assert_eq!(at(0, 40, Some(50)), k(0), "it warms up: the supply comes behind the outlets");
        assert_eq!(at(3, 50, Some(51)), k(-2), "and there is less dilution than the trim");
        assert_eq!(at(0, 40, None), k(20), "nobody looks at the outlets");
    }

    #[test]
    fn a_header_without_an_integral_time_is_not_trimmed() {
        assert_eq!(
            header_stepped(TempDelta::ZERO, Some(TempDelta::from_k(9)), Span::ZERO, TempDelta::from_k(5), 1),
            TempDelta::ZERO
        );
    }

    #[test]
    fn a_zone_that_never_stops_calling_raises_and_silence_lowers() {
        let most = TempDelta::from_k(2);
        let mut trim = TempDelta::ZERO;
        let mut calls = ZoneCalls::default();
        calls.set(1, Call::Calling { since: Instant::ZERO });
        for i in 0..3 {
            demand(&mut trim, &calls, Mask::of(1), most, Instant::from_s(i * 600), Instant::from_s(i * 600 + 600));
        }
        // After 10 and 20 min neither long nor short, after 30 min long.
        assert_eq!(trim, STEP);
        for i in 3..30 {
            demand(&mut trim, &calls, Mask::of(1), most, Instant::from_s(i * 600), Instant::from_s(i * 600 + 600));
        }
        assert_eq!(trim, most);
        let at = |i: u32| Instant::from_s(i * 600);
        demand(&mut trim, &calls, Mask::of(0), TempDelta::from_k(3), at(29), at(30));
        assert_eq!(trim, most, "a call that is not served neither raises nor lowers");
        for i in 30..60 {
            demand(
                &mut trim,
                &ZoneCalls::default(),
                Mask::NONE,
                most,
                Instant::from_s(i * 600),
                Instant::from_s(i * 600 + 600),
            );
        }
        assert_eq!(trim, most.negated());
    }

    #[test]
    fn after_a_long_gap_a_trim_that_has_come_to_rest_stays() {
        let (integral, most) = (Span::from_s(600), TempDelta::from_k(6));
        let after = |from_k: i16, error: Option<TempDelta>, minutes: u32| {
            let mut trim = TempDelta::from_k(from_k);
            header(&mut trim, error, integral, most, Instant::ZERO, Instant::from_s(60 * minutes));
            trim
        };
        assert_eq!(after(3, Some(TempDelta::ZERO), 30), TempDelta::from_k(3), "on its dilution");
        assert_eq!(after(6, Some(TempDelta::from_k(9)), 30), most, "at its bound");
        assert_eq!(after(1, Some(TempDelta::from_k(2)), 30), TempDelta::ZERO, "it was still under way");
        assert_eq!(after(1, Some(TempDelta::from_k(2)), 1), TempDelta::from_centi_k(120), "two steps of 0.1 K");
        assert_eq!(after(3, None, 1), TempDelta::from_k(2), "let go by half a kelvin a step");
    }

    #[test]
    fn nobody_calling_for_long_lowers_the_target() {
        let most = TempDelta::from_k(2);
        let after = |since_s: u32, heated| {
            let mut trim = TempDelta::ZERO;
            let mut calls = ZoneCalls::default();
            calls.set(0, Call::Calling { since: Instant::from_s(6000 - since_s) });
            demand(&mut trim, &calls, heated, most, Instant::from_s(5400), Instant::from_s(6000));
            trim
        };
        assert_eq!([after(599, Mask::of(0)), after(600, Mask::of(0))], [STEP.negated(), TempDelta::ZERO]);
        assert_eq!([after(1799, Mask::of(0)), after(1800, Mask::of(0))], [TempDelta::ZERO, STEP]);
        assert_eq!(after(1800, Mask::NONE), TempDelta::ZERO, "not served");
    }

    /// Of the edges: an outlet 4 K below what its boiler is told has reached it, and eight steps are made up.
    #[test]
    fn an_outlet_at_its_edge_has_settled_and_eight_steps_are_made_up() {
        let at = |outlet_centi| {
            let supply = Temp::from_c(50);
            header_error(TempDelta::ZERO, TempDelta::from_k(10), supply, Some(Temp::from_centi_c(outlet_centi)))
        };
        assert_eq!([at(5600), at(5599)], [TempDelta::from_k(6), TempDelta::ZERO]);
        let after = |steps: u32| {
            let mut trim = TempDelta::ZERO;
            let to = Instant::from_s(30 * steps);
            header(&mut trim, Some(TempDelta::from_k(9)), Span::from_s(30), TempDelta::from_k(20), Instant::ZERO, to);
            trim
        };
        assert_eq!(after(CATCH_UP), TempDelta::from_centi_k(50 * CATCH_UP as i16));
        assert_eq!(after(CATCH_UP + 1), TempDelta::ZERO, "begins anew");
    }
}
