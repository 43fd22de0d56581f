//! The schedule: one row a conductor, complete enough to rebuild the network from it.
//!
//! The proof reads rows and devices only, never the passes that made them: what it proves is the paper that is handed over.

use serde::{Deserialize, Serialize};

/// One end of a conductor: a device's tag and a terminal's mark.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Landing {
    /// Tag of the device.
    pub device: String,
    /// Mark of the terminal.
    pub terminal: String,
}

/// Class of a circuit (NEC Articles 210, 430, 724, 725).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// Branch circuit or motor circuit.
    Power,
    /// Remote-control or safety-control circuit at power level.
    Control,
    /// Class 1, power limited.
    Class1PowerLimited,
    /// Class 2: thermostats, sensors, 0-10 V.
    Class2,
    /// Equipment grounding.
    Ground,
}

/// What a conductor is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Colour {
    /// Black: line, first phase.
    Black,
    /// Red: line, second phase; control at line voltage.
    Red,
    /// Blue: line, third phase.
    Blue,
    /// Brown: 277/480 V first phase.
    Brown,
    /// Orange: 277/480 V second phase.
    Orange,
    /// Yellow: 277/480 V third phase; circuits that stay live with the main off.
    Yellow,
    /// White: grounded conductor.
    White,
    /// Gray: grounded conductor of a 277/480 V system.
    Gray,
    /// Green: equipment ground.
    Green,
    /// White with red stripe, and other striped control colours.
    WhiteRed,
    /// Violet.
    Violet,
    /// Pink.
    Pink,
    /// A numbered core of a cable.
    Core(u8),
    /// The shield of a cable.
    Shield,
}

/// One conductor of the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Wire number, from the terminal that owns its potential.
    pub wire: String,
    /// Where it starts.
    pub from: Landing,
    /// Where it ends.
    pub to: Landing,
    /// Circuit it belongs to.
    pub circuit: String,
    /// Class of that circuit.
    pub class: Class,
    /// Size, AWG ("14", "1/0").
    pub awg: String,
    /// Insulation or cable type.
    pub insulation: String,
    /// Colour.
    #[serde(rename = "color", alias = "colour")]
    pub colour: Colour,
    /// Raceway or cable it runs in; empty inside one enclosure.
    pub run: String,
    /// Length one way, feet.
    pub length_ft: f64,
    /// Highest voltage to ground or between its circuit's conductors, volts.
    pub volts: f64,
    /// Design current, amperes.
    pub amps: f64,
    /// Voltage drop of its circuit to its far end, per cent.
    pub drop_percent: f64,
    /// What it does, in words.
    pub purpose: String,
}

impl Class {
    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Class::Power => "power",
            Class::Control => "control",
            Class::Class1PowerLimited => "class 1 power limited",
            Class::Class2 => "class 2",
            Class::Ground => "ground",
        }
    }
}

impl Colour {
    /// In words.
    pub fn text(self) -> String {
        match self {
            Colour::Core(n) => format!("cond. {n}"),
            Colour::WhiteRed => "white/red".into(),
            _ => format!("{self:?}").to_lowercase(),
        }
    }
}

/// Name of a run, or the word for a conductor that leaves no enclosure.
pub fn way(run: &str, from: &Landing, to: &Landing) -> String {
    match run {
        "" if from.device == to.device => "inside".to_owned(),
        "" => "panel".to_owned(),
        _ => run.to_owned(),
    }
}

impl Row {
    /// Heads of the flat form, one a cell; units in the names.
    pub const HEADERS: [&'static str; 16] = [
        "wire",
        "from",
        "from_terminal",
        "to",
        "to_terminal",
        "circuit",
        "class",
        "awg",
        "insulation",
        "color",
        "run",
        "length_ft",
        "volts",
        "amps",
        "drop_percent",
        "purpose",
    ];

    /// The row as flat cells, for a table or a file of comma-separated values. Commas are not escaped here.
    pub fn cells(&self) -> [String; 16] {
        [
            self.wire.clone(),
            self.from.device.clone(),
            self.from.terminal.clone(),
            self.to.device.clone(),
            self.to.terminal.clone(),
            self.circuit.clone(),
            self.class.text().into(),
            self.awg.clone(),
            self.insulation.clone(),
            self.colour.text(),
            self.run.clone(),
            format!("{:.0}", self.length_ft),
            format!("{:.0}", self.volts),
            format!("{:.2}", self.amps),
            format!("{:.2}", self.drop_percent),
            self.purpose.clone(),
        ]
    }
}
