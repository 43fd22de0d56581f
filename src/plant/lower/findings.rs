//! Faults of the back ends in words, about things by their names.

use crate::{finding::Finding, names::Names, show::units::In};
use heatwright_core::{ConfigFault, Fault, Severity, Subject};

/// A fault of the controller's configuration.
pub fn config(f: ConfigFault, names: &Names) -> Finding {
    let what = match f.about {
        Subject::Plant => "the plant".to_owned(),
        about => format!("`{}`", names.id(about)),
    };
    let (sentence, hint) = match f.fault {
        Fault::NothingToHeat => ("has no zones and no tank".to_owned(), "add a zone"),
        Fault::NoBoiler => ("has no boiler".into(), "add a boiler"),
        Fault::NoSuchZone => ("refers to a zone that does not exist".into(), "name a zone of this file"),
        Fault::NoSuchPump => ("refers to a pump that does not exist".into(), "name a pump of this file"),
        Fault::NoSuchBoiler => ("refers to a boiler that does not exist".into(), "name a boiler of this file"),
        Fault::NoSuchSafety => ("refers to a safety that does not exist".into(), "name a safety of this file"),
        Fault::NoSuchSchedule => ("refers to a schedule that does not exist".into(), "name a schedule of this file"),
        Fault::NoTank => ("refers to the tank of a plant without one".into(), "add a tank, or take the reference out"),
        Fault::SameUse => (
            "would read or switch what another point serves already, such as a second flow switch of one boiler".into(),
            "let one of the two be read (leave `aux` off the other), or wire them in series and enter one",
        ),
        Fault::PumpRole => ("is used by a part that its role does not fit".into(), "only zones may share a pump"),
        Fault::NoPumpRelay => ("is switched by nothing".into(), "let the controller or a boiler own it"),
        Fault::NoDemandRelay => ("has no demand relay".into(), "take a spare out: all relays are used up"),
        Fault::NoValveRelay => ("has a valve without a relay".into(), "take a spare out: all relays are used up"),
        Fault::NoCall => ("has nothing that says when it calls".into(), "give it a thermostat or aquastat"),
        Fault::NoSignal => {
            ("is driven by 0-10 V and has no output".into(), "take a spare out: all 0-10 V outputs are used up")
        }
        Fault::RateOfOnOff => {
            ("is driven by its firing rate and fires on or off".into(), "give it a turndown, or another `drive`")
        }
        Fault::WrongSignal => ("drives a boiler that is driven otherwise".into(), "make its `drive` agree"),
        Fault::NoMixingSignal => {
            ("is mixed and has no output for its valve".into(), "take a spare out: all 0-10 V outputs are used up")
        }
        Fault::NoMixedSensor => {
            ("is mixed and has no sensor behind its valve".into(), "add a sensor that measures `mixed` of it")
        }
        Fault::NoSupplySensor => ("has no supply sensor".into(), "add a sensor that measures `supply`"),
        Fault::NoOutdoorSensor => ("has no outdoor sensor".into(), "add a sensor that measures `outdoor`"),
        Fault::CurveTooShort => {
            ("has a reset curve of fewer than two points".into(), "type two to eight points, or none")
        }
        Fault::CurveNotRising => (
            "has a reset curve whose outdoor temperatures do not rise".into(),
            "write them from cold to warm, each once",
        ),
        Fault::CurveSupplyRises => (
            "has a reset curve that asks for hotter water on a warmer day".into(),
            "a warmer day never needs a hotter supply",
        ),
        Fault::BoundsCrossed => ("has a lower bound above its upper".into(), "swap them"),
        Fault::RangeEmpty => {
            ("has a 0-10 V range that is empty or falls".into(), "signal-high must lie above signal-low")
        }
        Fault::Negative => ("has a setting that must not be negative".into(), "make it zero or more"),
        Fault::NotPositive => ("has a setting that must be more than zero".into(), "make it more than zero"),
        Fault::TargetAboveOutlet => (
            "has a target above what the boilers may give".into(),
            "lower the target, or raise outlet-max of the boilers",
        ),
        Fault::PurgeIntoMixed => {
            ("purges heat into a zone whose water is mixed down".into(), "purge into the tank or another zone")
        }
        Fault::CalendarPeriod => {
            ("changes its lead boiler in a period that is not whole days".into(), "write rotation.every in days")
        }
        Fault::MinuteOfDay => {
            ("changes its lead boiler at no minute of the day".into(), "write rotation.at like \"10:00\"")
        }
        Fault::ScheduleOrder => ("switches in no order of time".into(), "write its hours from Monday on"),
        Fault::NoFlowKnown => (
            "has no flow known, and boilers are staged by load".into(),
            "give it a flow, or choose stage-by = \"error\"",
        ),
        Fault::NoReturnSensor => (
            "has no return sensor, and boilers are staged by load".into(),
            "add a sensor that measures `return`, or choose stage-by = \"error\"",
        ),
        Fault::TooMany => (
            "has a number that is greater than it can be".into(),
            "see `hot-cuts` of guard and `plant-ignored-calls` of staging",
        ),
        Fault::NoHand => (
            "looks at AUTO of a hand switch, and nothing looks at HAND: at HAND the pump would count as off".into(),
            "let both positions be read, or neither",
        ),
        Fault::SafetyCircuit => {
            ("stands in a circuit that does not fit whom it stops".into(), "see `circuit` and `scope`")
        }
    };
    Finding::new("C01", Severity::Error, f.about, format!("{what} {sentence}")).hint(hint)
}

/// Keys of the plant file that a figure of the physics comes from, where it bears another name.
const KEYS: &[(&str, &str)] = &[
    ("draw.use_c", "tap"),
    ("draw.cold_c", "cold"),
    ("draw.at_s", "draws"),
    ("draw.lasts_s", "draws"),
    ("draw.flow_l_s", "draws"),
    ("rating.heat_w", "emitter.output"),
    ("rating.supply_c", "emitter.supply"),
    ("rating.return_c", "emitter.return"),
    ("rating.room_c", "emitter.room"),
    ("exponent", "emitter.exponent"),
    ("area_m2", "emitter.area"),
    ("loss_w", "design-loss"),
    ("loss_indoor_c", "room"),
    ("loss_outdoor_c", "site.outdoor-design"),
    ("design_outdoor_c", "site.outdoor-design"),
    ("altitude_m", "site.altitude"),
    ("boiler_room_c", "site.boiler-room"),
    ("glycol_percent", "fluid.share"),
    ("set_c", "room or aquastat"),
    ("setback_c", "room-setback"),
    ("differential_k", "differential"),
    ("occupied_w", "gains"),
    ("setback_w", "gains-setback"),
    ("flow_kg_s", "flow"),
    ("flow_min_kg_s", "flow-min"),
    ("input_w", "input"),
    ("minimum_share", "turndown"),
    ("return_min_c", "return-min"),
    ("return_valve_c", "return-valve"),
    ("limit_c", "limit"),
    ("fixed_target_c", "fixed-target"),
    ("frost_c", "own-frost"),
    ("water_l", "water"),
    ("volume_l", "volume"),
    ("coil_w_k", "coil"),
    ("open_c", "opens-at"),
];

fn key(field: &'static str) -> &'static str {
    KEYS.iter().find(|k| k.0 == field).map_or(field, |k| k.1)
}

/// A figure of the physics as somebody writes it: by the unit that ends its name.
fn written(field: &str, value: f64) -> String {
    use crate::plant::quantity::{Flow, Power, Quantity as _, Temp, TempDelta, Volume};
    match field.rsplit('_').next() {
        Some("c") => Temp { c: value }.show_both(),
        Some("k") if !field.ends_with("w_k") && !field.ends_with("j_k") => TempDelta { k: value }.show_both(),
        Some("w") => Power { w: value }.show_both(),
        Some("l") => Volume { l: value }.show_both(),
        Some("s") if field.ends_with("kg_s") => Flow { l_s: value / 0.977_85 }.show_both(),
        _ => format!("{value}"),
    }
}

/// A fault of the physical plant: by the keys of the file where it has any.
pub fn physics(f: &heatwright_sim::finding::Finding) -> Finding {
    use heatwright_sim::finding::Fault;
    let (sentence, field) = match f.fault {
        Fault::OutOfRange { field, value, low, high } => (
            format!(
                "`{}` is {}; the model takes {} to {}",
                key(field),
                written(field, value),
                written(field, low),
                written(field, high)
            ),
            Some(key(field)),
        ),
        Fault::NotAbove { field, value, other, limit } => (
            format!(
                "`{}`, {}, must be above `{}`, {}",
                key(field),
                written(field, value),
                key(other),
                written(other, limit)
            ),
            Some(key(field)),
        ),
        ref other => (other.to_string(), None),
    };
    let out = Finding::new("S01", f.severity, f.subject, format!("the plant cannot be simulated: {sentence}"))
        .hint("correct the key, or those that it follows from; 'heatwright explain S01' says which they are");
    match field {
        Some(key) => out.field(key),
        None => out,
    }
}

/// A finding of a study, in the units that were asked for; a litre of the plant's fluid weighs `kg_l`.
pub fn study(f: &heatwright_sim::study::Finding, names: &Names, kg_l: f64, u: In) -> Finding {
    use heatwright_sim::study::{Issue as I, curve::HeldBack};
    let (t, d, h) = (|c| u.temp_text(c), |k| u.diff_text(k), |w| u.heat_text(w));
    let (sentence, hint) = match f.issue {
        I::CurveShort { outdoor_c, supply_c, short_k, short_w, load_w } => (
            format!(
                "at {} outdoors the curve gives {}, {} less than it needs: {} of {} are missing",
                t(outdoor_c),
                t(supply_c),
                d(short_k),
                h(short_w),
                h(load_w)
            ),
            "raise the curve or reset.supply-max, or give the zone a larger emitter",
        ),
        I::CurveGenerous { spare_k } => (
            format!("the curve is at least {} hotter than any zone needs at any outdoor temperature", d(spare_k)),
            "lower the curve: cooler water condenses more",
        ),
        I::FlowShort { outdoor_c, load_w, drop_k } => (
            format!(
                "at {} outdoors no water that the boilers can make is enough: {} cool its flow by {}",
                t(outdoor_c),
                h(load_w),
                d(drop_k)
            ),
            "give it more flow",
        ),
        I::FanWaits { outdoor_c, load_w, design_w, aquastat_c, mild_c, mild_supply_c } => (
            format!(
                "above {} outdoors, where it still loses {} ({:.0} % of design), the curve is below the {} that its fans' aquastat waits \
                 for: they stand still. At {} outdoors the curve gives {}",
                t(outdoor_c),
                h(load_w),
                100.0 * load_w / design_w,
                t(aquastat_c),
                t(mild_c),
                t(mild_supply_c)
            ),
            "set the aquastat below that last figure if air of such water is not felt as a draft; else reset.supply-min above the aquastat",
        ),
        I::FlowOdd { flow_kg_s, load_w, drop_k, small } => (
            format!(
                "{} of flow hardly fit its loss of {} at design: the water cools by {} ({})",
                u.flow_text(flow_kg_s / kg_l),
                h(load_w),
                d(drop_k),
                if small {
                    format!("{} to {} is usual", d(10.0 / 1.8), d(40.0 / 1.8))
                } else {
                    format!("{} or more is usual", d(10.0 / 1.8))
                }
            ),
            "see flow and design-loss of the zone: one of them is probably a slip",
        ),
        I::EmitterOdd { output_w, load_w, supply_c } => (
            format!("with water of {} its emitters give {} for a loss of {}", t(supply_c), h(output_w), h(load_w)),
            if output_w > load_w {
                "see output (that of the whole zone) and design-loss; where the zone is made for cool water, lower reset.supply-max"
            } else {
                "see output (that of the whole zone) and design-loss"
            },
        ),
        I::OutletNear { target_c, above_k, most_c } => (
            format!(
                "its highest target is {} and it stops {} above that: past its outlet-max of {}, at which the controller cuts it off",
                t(target_c),
                d(above_k),
                t(most_c)
            ),
            "lower the target (reset.supply-max, target of the tank, fixed-target), or raise outlet-max and limit as its instructions allow",
        ),
        I::TrimShort { outdoor_c, lift_k, trim_k: 0.0 } => (
            format!(
                "at {} outdoors the boilers would have to run {} above the curve, and nothing raises their target: the supply stays short \
                 by what 'heatwright curve' says",
                t(outdoor_c),
                d(lift_k)
            ),
            "see flow of the boilers and of the zones for a slip; larger boiler pumps, or a curve set that much higher at the boilers",
        ),
        I::TrimShort { outdoor_c, lift_k, trim_k } => (
            format!(
                "at {} outdoors the boilers would have to run {} above the curve, and the controller adds {} at most: the supply stays \
                 short by what 'heatwright curve' says",
                t(outdoor_c),
                d(lift_k),
                d(trim_k)
            ),
            "see flow of the boilers and of the zones for a slip; larger boiler pumps, or reset.header-trim-max",
        ),
        I::OutletOver { outlet_c, most_c } => (
            format!(
                "the curve would need {} at its outlet, past its outlet-max of {}: that water is never made, and 'heatwright curve' counts \
                 what is",
                t(outlet_c),
                t(most_c)
            ),
            "see flow of the boilers and of the zones for a slip; larger boiler pumps, or a lower curve with larger emitters",
        ),
        I::MixedShort { outdoor_c, most_c, needed_c, most_w, load_w } => (
            format!(
                "at {} outdoors it needs {} and its mixing valve lets {} through: that gives {} of {}, whatever the header has",
                t(outdoor_c),
                t(needed_c),
                t(most_c),
                h(most_w),
                h(load_w)
            ),
            "raise mixed-design to what it needs, and mixed-max with it, where floor and covering bear it; else a larger or denser floor, \
             less loss, or a second emitter",
        ),
        I::FloorHot { outdoor_c, surface_c, most_c } => (
            format!(
                "at {} outdoors the floor's surface would have to be {}; {} is the most where people stay (EN 1264-2)",
                t(outdoor_c),
                t(surface_c),
                t(most_c)
            ),
            "more heated floor, a lower design loss, or a second emitter",
        ),
        I::ReturnCold { hours, hours_heating, return_c, least_c } => (
            format!(
                "in {hours:.0} of {hours_heating:.0} h of heating water comes back colder than the {} that a boiler allows, down to {}: \
                 its flue gas condenses where it must not",
                t(least_c),
                t(return_c)
            ),
            "fit a valve that mixes outlet water into its return and enter it as return-valve, or raise the curve or reset.supply-min",
        ),
        I::ReturnValveShort {
            outdoor_c,
            held: held @ HeldBack { starts_c: Some((starts_c, least_c)), .. },
            heat_w,
            load_w,
        } => (
            format!(
                "at {} outdoors its own control comes on at {}, below its return valve at {}: hot and shut to the header it waits until its \
                 jacket has cooled it, and gives {} of the {} of its full fire: the zones get {} of {}. It takes a target of {} or more",
                t(outdoor_c),
                t(starts_c),
                t(held.setting_c),
                u.heat_text(held.most_w),
                u.heat_text(held.full_w),
                u.heat_text(heat_w),
                u.heat_text(load_w),
                t(least_c)
            ),
            "hotter water (reset.supply-min, signal-low, fixed-target), a lower return-valve where return-min allows it, or a boiler control \
             that comes on nearer to its target",
        ),
        I::ReturnValveShort { outdoor_c, held, heat_w, load_w } => (
            format!(
                "at {} outdoors its return valve at {}, with water of {} at most, lets it give {} of the {} of its full fire: the zones get \
                 {} of {}",
                t(outdoor_c),
                t(held.setting_c),
                t(held.most_c),
                u.heat_text(held.most_w),
                u.heat_text(held.full_w),
                u.heat_text(heat_w),
                u.heat_text(load_w)
            ),
            "hotter water (reset.supply-min, signal-low, outlet-max, fixed-target), a larger boiler pump, or a lower setting",
        ),
        I::DesignWarm { hours, of_hours, coldest_c, design_c } => (
            format!(
                "{hours:.0} of {of_hours:.0} h of the weather are colder than the design temperature of {}, down to {}",
                t(design_c),
                t(coldest_c)
            ),
            "see site.outdoor-design, and that the weather is of this place",
        ),
        I::BoilersShort { outdoor_c, load_w, over_w, output_w } if over_w > 0.005 * load_w => (
            format!(
                "at {} outdoors the zones take {}, {} of it beyond their need since their water circulates; all boilers together give {}",
                t(outdoor_c),
                h(load_w),
                h(over_w),
                h(output_w)
            ),
            "see zone-hot: circulation = \"on-call\" or mixing of their own for those zones; then the design losses",
        ),
        I::BoilersShort { outdoor_c, load_w, output_w, .. } => (
            format!(
                "at {} outdoors the zones need {}; all boilers together give {}",
                t(outdoor_c),
                h(load_w),
                h(output_w)
            ),
            "check the design losses; if they are right, more boiler is needed",
        ),
        I::ZoneHot { kept: k, hot_c } => (
            format!(
                "its water circulates whether it calls or not: in {:.0} of {:.0} h of heating it is kept warmer than {}, up to {} at {} outdoors \
                 on water of {}; {:.0} of its {:.0} {} are beyond its need",
                k.hours_hot,
                k.hours_heating,
                t(hot_c),
                t(k.warmest_c),
                t(k.outdoor_c),
                t(k.supply_c),
                u.energy(k.over_kwh),
                u.energy(k.heat_kwh),
                u.energy_unit()
            ),
            "circulation = \"on-call\", water of its own (mixing), or an emitter that fits the curve as those of the other zones do",
        ),
        I::TankBeside { outdoor_c, zones_w, coil_w, output_w } => (
            format!(
                "at {} outdoors it has no priority (priority-above, priority-max): the zones need {} and its coil takes {}, all boilers \
                 together give {}; rooms cool while it charges",
                t(outdoor_c),
                h(zones_w),
                h(coil_w),
                h(output_w)
            ),
            "charge the tank outside the morning climb, a smaller coil or a larger tank; more boiler where it is drawn on all day",
        ),
        I::BoilerLarge { outdoor_c, output_w, need_w, times } => (
            format!(
                "at full fire it gives {}, {times:.1} times what zones and tank take together at {} outdoors, {}",
                h(output_w),
                t(outdoor_c),
                h(need_w)
            ),
            "check input and the design losses: one is probably a slip; else a smaller boiler, or one with more turndown, burns longer",
        ),
        I::PlantLarge { outdoor_c, output_w, others_w, need_w, times } => (
            format!(
                "all boilers give {}, {times:.1} times what zones and tank take together at {} outdoors, {}; without the largest the others \
                 still give {}",
                h(output_w),
                t(outdoor_c),
                h(need_w),
                h(others_w)
            ),
            "check input and the design losses: one is probably a slip; else fewer or smaller boilers burn longer and cost less",
        ),
        I::SpareShort { outdoor_c, others_w, zones_w } => (
            format!(
                "without it the others give {}, {:.0} % of the {} that the zones lose at {} outdoors",
                h(others_w),
                100.0 * others_w / zones_w,
                h(zones_w),
                t(outdoor_c)
            ),
            "'heatwright redundancy' shows how cold each zone gets then; where that is not to be borne, boilers nearer alike or one more",
        ),
        I::AltitudeHigh { altitude_m, less_percent, output_w, zones_w } => (
            format!(
                "the site lies at {}: a burner rated at sea level gives about {less_percent:.0} % less there, all boilers together {} where \
                 the zones need {} at design",
                u.height_text(altitude_m),
                h(output_w),
                h(zones_w)
            ),
            "say what input holds for: input-at = \"sea-level\" and it is reckoned with that much less, input-at = \"site\" where it is the \
             maker's figure for this altitude; local codes and the maker's instructions decide",
        ),
        I::HeaderDilutes { outdoor_c, lift_k } => (
            format!(
                "the zones draw more than the running boilers' pumps move: at {} outdoors the boilers must run {} above the curve",
                t(outdoor_c),
                d(lift_k)
            ),
            "the target must be raised by that much; larger boiler pumps or smaller zone flows do away with it",
        ),
        I::SeldomCondensing { hours, hours_heating, return_min_c } => (
            format!(
                "the boilers condense in {hours:.0} of {hours_heating:.0} h of heating; the coldest return is {}",
                t(return_min_c)
            ),
            "larger emitters in the governing zone would let the curve be lower",
        ),
        I::ShortCycle { boiler, draw_w, source_w, cycles_per_h, burn_s, outdoor_c, wanted_s, extra_l } => (
            format!(
                "calling alone it takes {} at {} outdoors where the smallest fire of {} gives {}: about {cycles_per_h:.1} starts an hour of \
                 {:.1} min each at most; it takes at least {:.0} {} more water for burns of {:.0} min",
                h(draw_w),
                t(outdoor_c),
                names.title(Subject::Boiler(boiler)),
                h(source_w),
                burn_s / 60.0,
                u.water(extra_l),
                u.water_unit(),
                wanted_s / 60.0
            ),
            "a buffer, a smaller smallest fire, or a wider band",
        ),
        I::ShortBurn { boiler, draw_w, source_w, burn_s, outdoor_c, wanted_s, extra_l } => (
            format!(
                "calling alone it takes as little as {}, at {} outdoors, where the smallest fire of {} gives {}: a burn lasts {:.1} min at \
                 most; it takes at least {:.0} {} more water for burns of {:.0} min",
                h(draw_w),
                t(outdoor_c),
                names.title(Subject::Boiler(boiler)),
                h(source_w),
                burn_s / 60.0,
                u.water(extra_l),
                u.water_unit(),
                wanted_s / 60.0
            ),
            "a buffer, a smaller smallest fire, or a wider band",
        ),
        I::Water(issue) => super::water_findings::words(issue, kg_l, u),
    };
    let sentence = match f.subject {
        Subject::Plant | Subject::Header => sentence,
        about => format!("{}: {sentence}", names.title(about)),
    };
    let out = Finding::new(f.issue.code(), f.severity, f.subject, sentence).hint(hint);
    match f.issue {
        I::Water(issue) => match super::water_findings::key(issue) {
            Some(key) => out.field(key),
            None => out,
        },
        I::FanWaits { .. } => out.field("fans.aquastat"),
        I::ZoneHot { .. } => out.field("circulation"),
        _ => out,
    }
}

/// Keys of the plant file that a wiring rule means, where they bear another name there. Those of the plant as a whole stand with
/// their table.
const RULE_KEYS: &[(&str, &str)] = &[
    ("boilers.breaker", "electrical.breaker-max"),
    ("boilers.control", "electrical.control-volts"),
    ("boilers.control_grounded", "electrical.control-grounded"),
    ("boilers.switch", "electrical.service-switch-in-sight"),
    ("panel.short-circuit", "panel.short-circuit-rating"),
    ("plant.guard.fallback", "guard.fallback"),
    ("pumps.in_sight_of_panel", "in-sight"),
    ("pumps.overload", "thermally-protected"),
    ("pumps.selector", "hand-switch"),
    ("pumps.service_factor", "service-factor"),
    ("receptacles", "panel.receptacle"),
    ("service.fault-current", "power.fault-current"),
    ("service.in_sight_of_relay_panel", "power.panel-in-sight"),
    ("starter_panel.short-circuit", "starter-panel.short-circuit-rating"),
];

/// The key of a rule's field: as the table has it, else without the list that it is in.
fn rule_key(path: &'static str) -> &'static str {
    let given = RULE_KEYS.iter().find(|k| k.0 == path).map(|k| k.1);
    given.unwrap_or_else(|| path.split_once('.').map_or(path, |(_, inner)| inner))
}

/// A finding of a wiring rule.
pub fn rule(f: &heatwright_wiring::finding::Finding) -> Finding {
    let mut out = Finding::new(f.code, f.severity, f.about, f.sentence.clone()).hints(f.hints.iter().cloned());
    if let Some(path) = f.field {
        out = out.field(rule_key(path));
    }
    out
}
