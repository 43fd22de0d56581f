//! Plant to the study of the water side: the same facts in its SI numbers.

use crate::plant::{
    carrier,
    checked::{self, Plant},
};
use heatwright_sim::study::water_side::{
    Given, GivenBoiler, Pipe,
    balance::{Layout, Mains},
};

/// What the study is told beside the physics.
pub fn given(p: &Plant) -> Given {
    let w = &p.water;
    let kg_l = carrier::kg_l(&super::sim::fluid(&p.fluid));
    Given {
        height_m: w.height.m,
        top_kpa: w.top_pressure.kpa,
        fill_kpa: w.fill.map(|f| f.kpa),
        fill_c: w.fill_temperature.c,
        hottest_c: w.hottest.c,
        volume_l: w.volume.l,
        pipe: match w.pipe {
            checked::Pipe::Steel => Pipe::Steel,
            checked::Pipe::Copper => Pipe::Copper,
        },
        pump_rise_kpa: w.pump_rise.kpa,
        tank_l: w.expansion_tank.map(|t| t.l),
        acceptance_l: w.expansion_acceptance.map(|t| t.l),
        precharge_kpa: w.precharge.map(|t| t.kpa),
        boilers: p
            .boilers
            .iter()
            .map(|b| GivenBoiler {
                plate_input_w: b.plate_input.w,
                relief_kpa: b.relief.kpa,
                relief_w: b.relief_capacity.map(|c| c.w),
                working_kpa: b.working_pressure.map(|k| k.kpa),
                flow_max_kg_s: b.flow_max.map(|f| f.l_s * kg_l),
                drop_kpa: b.pressure_drop.kpa,
                outlet_max_c: b.outlet_max.c,
                rise_max_k: b.rise_max.map(|d| d.k),
            })
            .collect(),
        mains: Mains { spacing_m: w.boiler_spacing.m, bore_m: w.main_bore.m },
        layout: w.boiler_mains.map(|m| match m {
            checked::BoilerMains::DirectReturn => Layout::Direct,
            checked::BoilerMains::ReverseReturn => Layout::Reverse,
        }),
    }
}
