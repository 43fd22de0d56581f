//! Pilot-duty rating codes of contacts: what a relay contact may make, break and carry when it drives coils.
//!
//! Up to the design voltage I = VA / V; below 120 V the current at 120 V and the thermal current bound it, so that at 24 V the thermal
//! current decides. Source: NEMA ICS 5 / UL 508, checked. Alternating current: A to E; direct current: N, P, Q, R. R is a *direct*-current
//! code: "R300" is never read as an alternating-current rating.

use super::{Source, Status};
use serde::{Deserialize, Serialize};
use std::str::FromStr;

/// Where the figures come from.
pub const SOURCE: Source = Source {
    standard: "NEMA ICS 5",
    section: "contact rating codes",
    editions: "2000 and later",
    status: Status::Checked,
    remark: "",
};

/// Alternating-current duty letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Duty {
    /// 7200 VA make, 720 VA break, 10 A.
    A,
    /// 3600 VA make, 360 VA break, 5 A.
    B,
    /// 1800 VA make, 180 VA break, 2.5 A.
    C,
    /// 432 VA make, 72 VA break, 1 A.
    D,
    /// 216 VA make, 36 VA break, 0.5 A.
    E,
}

/// An alternating-current code, such as B300.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Code {
    /// Duty letter.
    pub duty: Duty,
    /// Highest voltage, volts.
    pub volts_max: u16,
}

/// Why a text is not an alternating-current rating.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadCode {
    /// N, P, Q, R are for direct current.
    #[error("\"{0}\" is a direct-current rating; give the alternating-current code (A300, B300, C300, D300, E150)")]
    DirectCurrent(String),
    /// Anything else.
    #[error(
        "\"{0}\" is not a contact rating code; give one of A150, A300, A600, B150, B300, B600, C150, C300, C600, D150, D300, E150"
    )]
    Unknown(String),
}

impl FromStr for Code {
    type Err = BadCode;
    fn from_str(text: &str) -> Result<Code, BadCode> {
        let unknown = || BadCode::Unknown(text.to_owned());
        let t = text.trim();
        let letter = t.chars().next().ok_or_else(unknown)?;
        let volts_max: u16 = t.get(letter.len_utf8()..).and_then(|v| v.parse().ok()).ok_or_else(unknown)?;
        let (duty, highest) = match letter {
            'A' => (Duty::A, 600),
            'B' => (Duty::B, 600),
            'C' => (Duty::C, 600),
            'D' => (Duty::D, 300),
            'E' => (Duty::E, 150),
            'N' | 'P' | 'Q' | 'R' => return Err(BadCode::DirectCurrent(text.to_owned())),
            _ => return Err(unknown()),
        };
        if [150, 300, 600].contains(&volts_max) && volts_max <= highest {
            Ok(Code { duty, volts_max })
        } else {
            Err(unknown())
        }
    }
}

impl TryFrom<String> for Code {
    type Error = BadCode;
    fn try_from(s: String) -> Result<Code, BadCode> {
        s.parse()
    }
}

impl From<Code> for String {
    fn from(c: Code) -> String {
        format!("{:?}{}", c.duty, c.volts_max)
    }
}

/// What a contact may do at a voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rating {
    /// Carry, amperes.
    pub carry_amps: f64,
    /// Make, amperes.
    pub make_amps: f64,
    /// Break, amperes.
    pub break_amps: f64,
}

impl Code {
    /// Make and break volt-amperes and thermal current in amperes.
    pub const fn limits(self) -> (f64, f64, f64) {
        match self.duty {
            Duty::A => (7200.0, 720.0, 10.0),
            Duty::B => (3600.0, 360.0, 5.0),
            Duty::C => (1800.0, 180.0, 2.5),
            Duty::D => (432.0, 72.0, 1.0),
            Duty::E => (216.0, 36.0, 0.5),
        }
    }

    /// The rating at a voltage; `None` above the code's voltage or for one that is not positive.
    pub fn at(self, volts: f64) -> Option<Rating> {
        if !(volts > 0.0 && volts <= f64::from(self.volts_max)) {
            return None;
        }
        let (make_va, break_va, carry_amps) = self.limits();
        // Below 120 V the volt-amperes would allow currents that mean nothing: 150 A at 24 V. The thermal current bounds both.
        let bound = if volts < 120.0 { carry_amps } else { f64::INFINITY };
        Some(Rating {
            carry_amps,
            make_amps: (make_va / volts).min(bound),
            break_amps: (break_va / volts).min(bound).min(carry_amps),
        })
    }

    /// Whether the contact drives a coil of these volt-amperes.
    pub fn drives(self, volts: f64, sealed_va: f64, inrush_va: f64) -> bool {
        self.at(volts).is_some_and(|r| inrush_va / volts <= r.make_amps && sealed_va / volts <= r.break_amps)
    }
}

/// Direct-current duty letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DirectDuty {
    /// 275 VA, 10 A.
    N,
    /// 138 VA, 5 A.
    P,
    /// 69 VA, 2.5 A.
    Q,
    /// 28 VA, 1 A.
    R,
}

impl DirectDuty {
    /// Make and break current at a direct voltage, amperes.
    pub fn amps(self, volts: f64) -> Option<f64> {
        let (va, thermal) = match self {
            DirectDuty::N => (275.0, 10.0),
            DirectDuty::P => (138.0, 5.0),
            DirectDuty::Q => (69.0, 2.5),
            DirectDuty::R => (28.0, 1.0),
        };
        (volts > 0.0 && volts <= 300.0).then(|| (va / volts).min(thermal))
    }
}
