//! Findings of the water side in words, in the units that were asked for, with what to do.

use crate::show::units::In;
use heatwright_sim::study::water_side::WaterIssue as I;

/// The key of the plant file that a finding about the plant points at.
pub fn key(issue: I) -> Option<&'static str> {
    match issue {
        I::FillLow { .. } | I::NoRoom { .. } => Some("water.fill"),
        I::Boils { .. } => Some("water.hottest"),
        I::TankSmall { .. } | I::TankUnsaid { .. } => Some("water.expansion-tank"),
        I::AcceptanceSmall { .. } => Some("water.expansion-tank-acceptance"),
        I::PrechargeOff { .. } => Some("water.precharge"),
        I::RiseLarge { .. } | I::RiseSmall { .. } => Some("flow"),
        _ => None,
    }
}

/// A sentence and a hint; a litre of the plant's fluid weighs `kg_l`. About a boiler, its name is put before the sentence.
pub fn words(issue: I, kg_l: f64, u: In) -> (String, &'static str) {
    let (p, h) = (|k| u.pressure_text(k), |w| u.heat_text(w));
    let q = |kg_s: f64| u.flow_text(kg_s / kg_l);
    match issue {
        I::FillLow { fill_kpa, needed_kpa } => (
            format!(
                "the plant is filled to {}; its height needs {}: air gets in at the highest points and stays there",
                p(fill_kpa),
                p(needed_kpa)
            ),
            "fill higher (and charge the expansion tank to the same pressure), or correct water.height",
        ),
        I::NoRoom { fill_kpa, needed_kpa, max_kpa, relief_kpa } => (
            format!(
                "a fill pressure of {} leaves no room below the {} that relief valves of {} allow: no expansion tank is large \
                 enough, and the valves would open at every warm-up; the height of the plant needs {}",
                p(fill_kpa),
                p(max_kpa),
                p(relief_kpa),
                p(needed_kpa)
            ),
            if needed_kpa < fill_kpa - 1.0 {
                "lower water.fill to what the height needs, and charge the expansion tank to the same"
            } else {
                "take relief valves with a higher setting, up to the working pressure on the boilers' plates; type it as `relief`"
            },
        ),
        I::Boils { hottest_c, boils_kpa, top_kpa } => (
            format!(
                "water of {} boils below {} absolute, and the highest point has {}: it flashes to steam there",
                u.temp_text(hottest_c),
                p(boils_kpa),
                p(top_kpa)
            ),
            "fill higher, or hold the water cooler",
        ),
        I::TankSmall { tank_l, needed_l, hot_kpa, relief_kpa } => {
            let then = match hot_kpa {
                Some(k) if k < relief_kpa => {
                    format!(
                        "at its hottest the plant stands at {}, too near the {} at which it relieves",
                        p(k),
                        p(relief_kpa)
                    )
                }
                _ => format!("the relief valves, set to {}, open before the water is at its hottest", p(relief_kpa)),
            };
            (
                format!(
                    "the expansion tank holds {}; {} are needed: {then}",
                    u.water_text(tank_l),
                    u.water_text(needed_l)
                ),
                "a larger tank, or a second one beside it; where precharge-off is told too, charge it right first: that may be enough",
            )
        }
        I::TankUnsaid { needed_l } => (
            format!(
                "no expansion tank is given; a closed plant needs one, a diaphragm tank of {} at least: without it the relief valves open as \
                 it warms",
                u.water_text(needed_l)
            ),
            "read its plate and write expansion-tank under [water]; 'heatwright water' shows how the size follows",
        ),
        I::AcceptanceSmall { accepts_l, needed_l } => (
            format!(
                "the diaphragm of the expansion tank lets in {}; {} are needed: when it is full the pressure shoots up and the relief valves open",
                u.water_text(accepts_l),
                u.water_text(needed_l)
            ),
            "a tank with more acceptance volume, or a second one beside it; where precharge-off is told too, charge it right first",
        ),
        I::PrechargeOff { precharge_kpa, fill_kpa } => (
            format!(
                "the expansion tank is charged to {} and the plant filled to {}: part of the tank is of no use",
                p(precharge_kpa),
                p(fill_kpa)
            ),
            "charge the empty tank to the fill pressure before it is opened to the plant",
        ),
        I::ReliefHigh { set_kpa, most_kpa } => (
            format!("its relief valve opens at {}; {} is the most that it may", p(set_kpa), p(most_kpa)),
            "a relief valve opens at or below the working pressure on its boiler's plate: change the valve",
        ),
        I::ReliefSmall { rated_w, needed_w } => (
            format!("its relief valve carries {}; the boiler can give {}", h(rated_w), h(needed_w)),
            "a relief valve that carries all that the boiler can give",
        ),
        I::ReliefUnknown { needed_w } => (
            format!("what its relief valve carries is not given; it must carry {}", h(needed_w)),
            "read the valve's plate and type it as relief-capacity",
        ),
        I::FlowLow { flow_kg_s, min_kg_s, alone: true } => (
            format!("with the smallest zone alone it gets {} where it needs {}", q(flow_kg_s), q(min_kg_s)),
            "a pump of its own for the boiler, or a bypass that keeps its flow",
        ),
        I::FlowLow { flow_kg_s, min_kg_s, alone: false } => {
            (format!("it gets {} where it needs {}", q(flow_kg_s), q(min_kg_s)), "a larger boiler pump")
        }
        I::FlowHigh { flow_kg_s, max_kg_s } => (
            format!("it gets {} where it stands {}", q(flow_kg_s), q(max_kg_s)),
            "a smaller boiler pump, or a balancing valve",
        ),
        I::RiseLarge { rise_k, most_k, entering_c, outlet_max_c, carried_share } => (
            if carried_share < 1.0 {
                format!(
                    "at full fire the water rises by {} in it: entering at {} on the coldest day it would leave at {}, and outlet-max is {}; it can \
                     give {:.0} % of its full fire there",
                    u.diff_text(rise_k),
                    u.temp_text(entering_c),
                    u.temp_text(entering_c + rise_k),
                    u.temp_text(outlet_max_c),
                    100.0 * carried_share
                )
            } else {
                format!(
                    "at full fire the water rises by {} in it; {} is the most",
                    u.diff_text(rise_k),
                    u.diff_text(most_k)
                )
            },
            "see that flow, input and their units are meant; more flow lowers the rise. What its instructions allow goes into rise-max",
        ),
        I::RiseSmall { rise_k, flow_kg_s } => (
            format!("at full fire {} of flow warm by no more than {} in it", q(flow_kg_s), u.diff_text(rise_k)),
            "see that flow and input and their units are meant; a pump so large costs power and gains nothing",
        ),
        I::Uneven { uneven_share, reverse_share } => (
            format!(
                "by their layout the boilers' flows lie {:.0} % apart; by reverse return {:.0} %",
                uneven_share * 100.0,
                reverse_share * 100.0
            ),
            if reverse_share < uneven_share {
                "reverse return, wider mains, or balancing valves"
            } else {
                "balancing valves: it is the boilers' own drops that differ, and reverse return does not even them"
            },
        ),
    }
}
