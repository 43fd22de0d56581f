//! What a litre of the plant's fluid weighs and carries: flows are typed by volume, and heat goes by mass.
//!
//! Water and glycols by the simulator's [`fluid`](heatwright_sim::fluid), each with its source there, both at the one temperature
//! that a run takes them at, [`RUN_C`].

use heatwright_sim::{fluid::RUN_C, plant::Fluid};

/// Kilograms in a litre.
pub(crate) fn kg_l(fluid: &Fluid) -> f64 {
    fluid.density_kg_m3(RUN_C) / 1000.0
}

/// Heat that a litre carries for each kelvin, in joules.
pub(crate) fn j_l_k(fluid: &Fluid) -> f64 {
    kg_l(fluid) * fluid.specific_heat_j_kgk(RUN_C)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::load::load;
    use heatwright_sim::plant::Glycol;

    /// Melinder's correlations as CoolProp 8.0.0 computes them (INCOMP::MPG), 30 % by mass: 1001.2 kg/m3 and 3962.3 J/(kg K) at
    /// 60 °C. Water at 60 °C: 983.28 kg/m3 and 4184.5 J/(kg K) (IAPWS-95).
    #[test]
    fn a_litre_of_glycol_carries_less_than_one_of_water() {
        let glycol = Fluid { glycol_percent: 30.0, glycol: Glycol::Propylene };
        assert!((kg_l(&glycol) - 1.0012).abs() < 1e-6, "{}", kg_l(&glycol));
        assert!((j_l_k(&glycol) - 1.0012 * 3962.3).abs() < 0.1, "{}", j_l_k(&glycol));
        assert!((j_l_k(&Fluid::WATER) - 0.983_28 * 4184.5).abs() < 0.1 && j_l_k(&Fluid::WATER) > 1.03 * j_l_k(&glycol));
    }

    /// A flow that is not typed is that of the design drop, with whatever is in the pipes.
    #[test]
    fn a_flow_left_out_gives_the_design_drop_with_glycol_too() {
        let water = include_str!("../../docs/examples/workshop.toml");
        let flows = |line: &&str| !line.trim_start().starts_with("flow");
        let water = water.lines().filter(flows).collect::<Vec<_>>().join("\n");
        let glycol = format!("{water}\n[fluid]\nkind = \"propylene-glycol\"\nshare = \"30 %\"\n");
        for (name, text) in [("water", water), ("glycol", glycol)] {
            let l = load(name, text.as_bytes()).unwrap_or_else(|r| panic!("{name}: {:?}", r.findings));
            let cp = l.physics.fluid.specific_heat_j_kgk(RUN_C);
            for z in &l.physics.zones {
                let drop_k = z.loss_w / (z.flow_kg_s * cp);
                let design_k = if z.emitter.floor_surface_k(1.0).is_some() { 10.0 / 1.8 } else { 20.0 / 1.8 };
                assert!((drop_k / design_k - 1.0).abs() < 1e-9, "{name}: {drop_k} K");
            }
            let b = &l.physics.boilers[0];
            let rise_k = 0.9 * b.input_w / (b.flow_kg_s * cp);
            assert!((rise_k / (20.0 / 1.8) - 1.0).abs() < 1e-9, "{name}: {rise_k} K");
        }
    }
}
