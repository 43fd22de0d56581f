//! The checked plant: boilers: firing, efficiency, drive, burner times, electrical data, terminal marks.

use crate::plant::quantity::{Amps, Flow, Length, Power, Pressure, Share, Temp, TempDelta, Time, Volts, Volume};
use heatwright_core::{RelayId, config::BoilerPump};
use serde::Serialize;

plain! {
    /// How a burner fires.
    #[derive(Copy)]
    pub enum Firing {
        /// Full fire or none.
        OnOff,
        /// Between a minimum and full fire.
        Modulating {
            /// Smallest firing rate, as a share of full input.
            minimum: Share,
        },
    }

    /// What a boiler's input, as it is written, holds for.
    #[derive(Copy, Eq)]
    pub enum InputAt {
        /// The site's altitude.
        Site,
        /// The sea's level.
        SeaLevel,
    }

    /// Where a boiler's efficiency comes from.
    pub enum Efficiency {
        /// The standard curve of a condensing boiler.
        Condensing,
        /// The standard curve of a boiler that must not condense.
        NonCondensing,
        /// Points typed in the file, in rising order of return temperature.
        Points(Vec<EfficiencyPoint>),
    }

    /// One typed point of an efficiency curve.
    #[derive(Copy)]
    pub struct EfficiencyPoint {
        /// Return water temperature.
        pub return_water: Temp,
        /// Efficiency on the higher heating value.
        pub efficiency: Share,
    }

    /// How we tell a boiler what to do beside its demand contact.
    #[derive(Copy)]
    pub enum Drive {
        /// Demand contact only.
        DemandOnly,
        /// 0-10 V sets the target temperature.
        Target {
            /// Temperature at 0 V.
            low: Temp,
            /// Temperature at 10 V.
            high: Temp,
        },
        /// 0-10 V sets the firing rate.
        Rate,
    }

    /// The burner control's own times.
    #[derive(Copy)]
    pub struct Burner {
        /// Fan before the first spark.
        pub pre_purge: Time,
        /// One trial for ignition.
        pub ignition: Time,
        /// Trials before it locks out.
        pub trials: u8,
        /// Fan between trials.
        pub inter_purge: Time,
        /// From spark to proved flame when all is well.
        pub proof: Time,
        /// Fan after the flame.
        pub post_purge: Time,
        /// Time from smallest to full fire.
        pub modulation: Time,
    }

    /// Electrical data of a boiler.
    pub struct BoilerElectrical {
        /// Line voltage.
        pub volts: Volts,
        /// Line phases.
        pub phases: u8,
        /// Line amps of the boiler itself, without pumps.
        pub amps: Amps,
        /// Voltage that the boiler puts on its own control terminals.
        pub control_volts: Volts,
        /// True when one side of that control supply is grounded inside the boiler.
        pub control_grounded: bool,
        /// First space of its circuit in the distribution panel, when given.
        pub space: Option<u8>,
        /// Largest breaker that its plate allows, in amperes; `None`: not known.
        pub breaker_max: Option<u16>,
        /// Its service switch stands in sight of it and can be locked open.
        pub switch_in_sight: bool,
        /// Its status, alarm and pump contacts carry no voltage of its own.
        pub contacts_dry: bool,
        /// Current that the boiler's control terminals put through a closed contact.
        pub control_amps: Amps,
        /// Largest current of the boiler's own pump contact; `None` when it has none.
        pub pump_contact: Option<Amps>,
    }

    /// The marks printed on a boiler's terminals, typed by whoever stands in front of it. `None`: not typed.
    #[derive(Default)]
    pub struct BoilerMarks {
        /// Line, neutral, ground, as printed.
        pub line: Option<Vec<String>>,
        /// The two terminals of the limit pair.
        pub limit: Option<[String; 2]>,
        /// The two terminals of the proving pair.
        pub proving: Option<[String; 2]>,
        /// The two terminals of the demand pair.
        pub demand: Option<[String; 2]>,
        /// 0-10 V: plus, minus.
        pub signal: Option<[String; 2]>,
        /// Contact that closes while the burner is lit.
        pub status: Option<[String; 2]>,
        /// Contact that closes in fault.
        pub alarm: Option<[String; 2]>,
        /// Output to its own pump.
        pub pump: Option<[String; 2]>,
    }

    /// One boiler.
    pub struct Boiler {
        /// Name on the drawings.
        pub name: String,
        /// Where it stands.
        pub place: String,
        /// Full input, at the site.
        pub input: Power,
        /// The same as it is written: for the site, or for the sea's level.
        pub plate_input: Power,
        /// What the written one holds for; `None`: not said.
        pub input_at: Option<InputAt>,
        /// How it fires.
        pub firing: Firing,
        /// Where its efficiency comes from.
        pub efficiency: Efficiency,
        /// Water in it.
        pub water: Volume,
        /// Dry mass of its heat exchanger, as the water volume of equal heat capacity.
        pub metal: Volume,
        /// Loss of its jacket at design, as a share of full input.
        pub jacket_loss: Share,
        /// Smallest flow through it.
        pub flow_min: Flow,
        /// Flow with its pump on.
        pub flow: Flow,
        /// Largest flow that its instructions allow; `None`: not said.
        pub flow_max: Option<Flow>,
        /// Largest rise of the water through it that its instructions allow; `None`: not said.
        pub rise_max: Option<TempDelta>,
        /// Pressure that its flow loses in it, with its valves.
        pub pressure_drop: Pressure,
        /// Setting of its relief valve.
        pub relief: Pressure,
        /// Rated capacity of its relief valve; `None`: not said.
        pub relief_capacity: Option<Power>,
        /// Largest working pressure on its plate; `None`: not said.
        pub working_pressure: Option<Pressure>,
        /// The burner control's own times.
        pub burner: Burner,
        /// How it is driven.
        pub drive: Drive,
        /// Its pump and who switches it.
        pub pump: BoilerPump,
        /// Highest target it is ever given.
        pub outlet_max: Temp,
        /// Target that it holds by itself when nobody tells it one.
        pub fixed_target: Temp,
        /// Its own operating limit.
        pub limit: Temp,
        /// Its own frost protection fires below this; `None` when it has none.
        pub own_frost: Option<Temp>,
        /// Lowest return temperature it may see for long; `None` when it may condense.
        pub return_min: Option<Temp>,
        /// Setting of the valve that mixes outlet water into its return; `None`: no such valve.
        pub return_valve: Option<Temp>,
        /// Shortest time between a demand and its ordinary end.
        pub on_min: Time,
        /// Shortest time between the end of a demand and the next.
        pub off_min: Time,
        /// Flow must be proved this soon.
        pub flow_proof_max: Time,
        /// Flame must be proved this soon.
        pub flame_proof_max: Time,
        /// Its pump runs on this long.
        pub pump_overrun: Time,
        /// One more request this long after a failed start.
        pub retry_after: Time,
        /// A contact that says the burner is lit is wired back.
        pub status_contact: bool,
        /// A contact that says it is in fault is wired back.
        pub alarm_contact: bool,
        /// Its service switch is read back.
        pub service_switch: bool,
        /// It has a condensate pump on a circuit of its own.
        pub condensate_pump: Option<CondensatePump>,
        /// Electrical data.
        pub electrical: BoilerElectrical,
        /// Marks on its terminals.
        pub marks: BoilerMarks,
        /// Run from the control panel.
        pub run: Length,
        /// The relay of its demand contact, when pinned.
        pub relay: Option<RelayId>,
    }

    /// A condensate pump.
    #[derive(Copy)]
    pub struct CondensatePump {
        /// Voltage.
        pub volts: Volts,
        /// Amps.
        pub amps: Amps,
        /// Run from the distribution panel.
        pub run: Length,
        /// First space of its circuit in the distribution panel, when given.
        pub space: Option<u8>,
    }
}
