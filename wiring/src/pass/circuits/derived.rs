//! The separately derived system: primary branch circuit, secondary conductors to the second panelboard's main breaker.
//!
//! Two phases of the service feed the transformer's primary from a breaker of two poles. Its secondary goes straight to the main
//! breaker of the second panelboard: secondary conductors without a device of their own at the transformer, so their length
//! and size follow NEC 240.21(C)(2) to 10 ft and (C)(6) to 25 ft. The bonding jumper and the conductor to the grounding
//! electrode are laid with the equipment grounds (see [`crate::pass::grounding`]).

use super::Circuits;
use crate::{
    job::{Fed, Supply},
    kinds::{
        derived::{HALF_V, MIDDLE, SECONDARY},
        panelboard::{MAIN_LINE, MAIN_NEUTRAL},
        primary_marks,
    },
    pass::{
        boards::Board,
        devices::Role,
        loom::{Carries, Group, Lost},
    },
    plan::{Circuit, Duty, Feed},
    row::Class,
};

impl Circuits<'_> {
    pub(super) fn derived_system(&mut self) -> Result<(), Lost> {
        let Some(s) = self.job.service.step_down else { return Ok(()) };
        let supply = Supply { volts: self.job.service.volts.line_volts(), phases: 1 };
        let label = "transformer TP1 of panelboard A3";
        let amps = s.va / supply.volts;
        let branch = self.branch(supply, amps, Duty::Transformer, label, None, true, Fed::Transformer)?;
        self.loom.legs[branch.leg].length_ft = s.primary_ft;
        for (i, mark) in primary_marks(supply.volts).into_iter().enumerate() {
            let net = self.net(branch.leg, Carries::Phase(branch.phases[i]), "primary of TP1");
            let at = self.loom.at(Role::DryTransformer, mark)?;
            self.loom.straight(&net, branch.hots[i], at, Group::Power, s.primary_ft);
        }
        let volts = 2.0 * HALF_V;
        let circuit = Circuit {
            name: "TP1".into(),
            label: "panelboard A3, from transformer TP1".into(),
            subject: None,
            duty: Duty::Feeder,
            class: Class::Power,
            feed: Feed::Transformer("TP1".into()),
            volts,
            volts_to_ground: HALF_V,
            phases: 1,
            amps: s.va / volts,
            va: s.va,
            continuous: true,
        };
        let leg = self.circuit_with_leg(circuit, s.secondary_ft);
        let lines = SECONDARY.into_iter().zip(MAIN_LINE).zip([Carries::Phase(1), Carries::Phase(2)]);
        for ((from, to), carries) in lines.chain([((MIDDLE, MAIN_NEUTRAL), Carries::Neutral)]) {
            let net = self.net(leg, carries, "secondary of TP1 to the main breaker of A3");
            let from = self.loom.at(Role::DryTransformer, from)?;
            let to = self.loom.at(Role::Panelboard(Board::Second), to)?;
            self.loom.straight(&net, from, to, Group::Power, s.secondary_ft);
        }
        Ok(())
    }
}
