//! At the bound: what a load, a time or a reading counts as that is exactly what it is held against.

use super::*;
use crate::{config::BoilerConfig, tests::plant};
use proptest::prelude::*;

const RETURN: Temp = Temp::from_c(40);

prop_compose! {
    /// A law somewhere on its way: samples of two sizes, the newer ones of the load that stands.
    fn somewhere()(
        known in 0..=SAMPLES, older in 0u32..3, none: bool, counts in prop::array::uniform5(0u16..25),
        refused: bool, tried_w in 0u32..900_000
    ) -> Required {
        let tenths_w = core::array::from_fn(|i| if i < known { 30_000 } else { 29_000 + 1000 * older });
        let [up, down_minimum, down_design, failsafe, stage] = counts;
        // Without a sample nothing has held for any time (`begin_afresh`).
        let held = if none { Held::default() } else { Held { up, down_minimum, down_design, failsafe, stage } };
        Required { tenths_w: (!none).then_some(tenths_w), held, refused, tried_w }
    }
}

prop_compose! {
    fn conditions()(
        // With a rise of 30 K a load of 300 kW, which is what the newer samples are of, or none that is known.
        known: bool, up_w in prop::option::of(200_000u32..400_000), down_minimum_w in prop::option::of(200_000u32..400_000),
        down_design_w in 0u32..400_000, short: bool, proved: bool
    ) -> Basis {
        let flow_w_per_k = if known { 10_000 } else { 0 };
        Basis { flow_w_per_k, return_: Some(RETURN), up_w, down_minimum_w, down_design_w, short, proved }
    }
}

proptest! {
    #[test]
    fn steps_made_up_in_one_are_those_made_one_by_one(law in somewhere(), basis in conditions(), n in 1..=CATCH_UP + 1) {
        let (rules, target) = (&LoadRules::CONDENSING, Some(Temp::from_c(70)));
        let one = |mut law: Required| {
            law.make_up(&basis, target, rules, 1);
            law
        };
        prop_assert_eq!(law.moves(&basis, target, rules), one(law) != law);
        let each = (0..n.min(CATCH_UP)).fold(law, |l, _| one(l));
        // Past the steps that are made up the law begins anew, unless it has come to rest.
        let afresh = one(Required { tenths_w: None, held: Held::default(), ..law });
        let want = if n > CATCH_UP && one(each) != each { afresh } else { each };
        let mut law = law;
        law.advance(&basis, target, rules, Instant::ZERO, Instant::from_tenths(n * GRID.tenths()));
        prop_assert_eq!(law, want);
    }
}

const RULES: &LoadRules = &LoadRules::CONDENSING;
const TARGET: Option<Temp> = Some(Temp::from_c(70));
const LOAD_W: u32 = 300_000;

/// 10 kW a kelvin from 40 to 70 degrees: 300 kW are required.
const fn at_300_kw() -> Basis {
    Basis {
        flow_w_per_k: 10_000,
        return_: Some(Temp::from_c(40)),
        up_w: None,
        down_minimum_w: None,
        down_design_w: 1,
        short: false,
        proved: false,
    }
}

/// For how many steps each condition has held after one.
fn held(basis: Basis) -> (u16, u16, u16) {
    let mut law = Required::default();
    law.advance(&basis, TARGET, RULES, Instant::ZERO, Instant::ZERO.after(GRID));
    assert_eq!(law.average_w(), Some(LOAD_W));
    (law.held.up, law.held.down_minimum, law.held.down_design)
}

#[test]
fn a_load_that_is_what_it_is_held_against_counts_on_no_side() {
    let against =
        |up, minimum, design| Basis { up_w: up, down_minimum_w: minimum, down_design_w: design, ..at_300_kw() };
    assert_eq!(held(against(Some(LOAD_W), Some(LOAD_W), LOAD_W)), (0, 0, 0));
    assert_eq!(held(against(Some(LOAD_W - 1), Some(LOAD_W + 1), LOAD_W + 1)), (1, 1, 1));
    // Without a next boiler none is missing; without a question about the least, its answer is yes.
    assert_eq!(held(against(None, None, LOAD_W)), (0, 1, 0));
}

#[test]
fn between_two_steps_of_the_grid_nothing_is_taken_down() {
    let mut law = Required::default();
    law.advance(&at_300_kw(), TARGET, RULES, Instant::from_s(1), Instant::from_s(29));
    assert_eq!(law, Required::default());
}

#[test]
fn a_load_that_is_known_no_more_is_forgotten_with_the_next_step() {
    let mut law = Required::default();
    law.advance(&at_300_kw(), TARGET, RULES, Instant::ZERO, Instant::ZERO.after(GRID));
    law.held = Held::default();
    assert_eq!(law.due(&at_300_kw(), None, RULES, Instant::from_s(31)), Some(Instant::from_s(60)));
    law.advance(&at_300_kw(), None, RULES, Instant::from_s(31), Instant::from_s(60));
    assert_eq!(law, Required::default());
}

#[test]
fn a_supply_is_too_short_past_the_distance_that_is_set_and_never_where_none_is() {
    let short =
        |rules, centi| too_short(rules, Temp::from_c(70), Some(Temp::from_c(70).minus(TempDelta::from_centi_k(centi))));
    let set = RULES.failsafe_below.centi_k();
    assert_eq!([short(RULES, set), short(RULES, set + 1)], [false, true]);
    assert!(!short(&LoadRules::REST, 3000), "no distance is set");
    assert!(!too_short(RULES, Temp::from_c(70), None), "nobody reads the supply");
}

#[test]
fn the_last_boiler_is_held_against_no_rest() {
    let mut c = plant();
    c.boilers.iter_mut().for_each(|b: &mut BoilerConfig| b.input_w = 100_000);
    let rest = |stage, leaver: Option<u8>| {
        Basis::of(&c, RULES, Mask::from_bits(stage), None, leaver.map(BoilerId)).down_design_w
    };
    assert_eq!([rest(0b01, None), rest(0b01, Some(0)), rest(0b11, Some(0))], [0, 0, 80_000]);
}

#[test]
fn none_is_dropped_where_there_is_none_less_or_the_supply_is_short() {
    let long = Held { down_minimum: u16::MAX, down_design: u16::MAX, stage: u16::MAX, ..Held::default() };
    let law = Required { held: long, ..Required::default() };
    let down =
        |down_design_w, short| law.advise(&Basis { down_design_w, short, ..at_300_kw() }, TARGET, RULES).unwrap().down;
    assert_eq!([down(0, false), down(1, false), down(1, true)], [false, true, false]);
    assert_eq!(law.advise(&at_300_kw(), None, RULES), None);
}

#[test]
fn a_load_that_the_rest_did_not_carry_is_refused_if_it_was_no_more_than_was_asked_for() {
    let refused = |moved, carried_w| {
        let mut law = Required { tried_w: 5000, ..Required::default() };
        law.stage_changed(moved, carried_w);
        (law.refused, law.tried_w)
    };
    assert_eq!(refused(Moved::Short, 5000), (true, 5000));
    assert_eq!(refused(Moved::Short, 5001), (false, 5000), "the load has grown since");
    assert_eq!(refused(Moved::Otherwise, 5000), (false, 5000));
    assert_eq!(refused(Moved::NoneLeft, 5000), (false, 0));
}

#[test]
fn what_the_advice_turns_on_at_once_is_told() {
    let told = |basis: Basis, target| basis.at_once(target);
    assert_eq!(told(at_300_kw(), TARGET), [true, false, true, false]);
    assert_eq!(told(at_300_kw(), None), [false, false, true, false]);
    let other = Basis { up_w: Some(1), down_design_w: 0, short: true, ..at_300_kw() };
    assert_eq!(told(other, TARGET), [true, true, false, true]);
}
