//! Conductor sizes and their copper area in circular mils.
//!
//! Source: NFPA 70, Chapter 9, Table 8. 14 AWG to 4/0 AWG checked against a public transcription; 18 and 16 AWG from memory.
//! Range: 18 AWG to 4/0 AWG. Sizes compare by area: `Awg::A14 < Awg::A12`.

use super::{Source, Status};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Where the areas come from.
pub const SOURCE: Source = Source {
    standard: "NFPA 70",
    section: "Chapter 9 Table 8, area",
    editions: "2020, 2023",
    status: Status::Partly,
    remark: "18 and 16 AWG from memory",
};

/// A conductor size; compares by area.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Awg {
    /// 18 AWG.
    A18,
    /// 16 AWG.
    A16,
    /// 14 AWG.
    A14,
    /// 12 AWG.
    A12,
    /// 10 AWG.
    A10,
    /// 8 AWG.
    A8,
    /// 6 AWG.
    A6,
    /// 4 AWG.
    A4,
    /// 3 AWG.
    A3,
    /// 2 AWG.
    A2,
    /// 1 AWG.
    A1,
    /// 1/0 AWG.
    A1_0,
    /// 2/0 AWG.
    A2_0,
    /// 3/0 AWG.
    A3_0,
    /// 4/0 AWG.
    A4_0,
}

/// All sizes with their marks and circular mils, smallest first.
const SIZES: [(Awg, &str, f64); 15] = [
    (Awg::A18, "18", 1620.0),
    (Awg::A16, "16", 2580.0),
    (Awg::A14, "14", 4110.0),
    (Awg::A12, "12", 6530.0),
    (Awg::A10, "10", 10380.0),
    (Awg::A8, "8", 16510.0),
    (Awg::A6, "6", 26240.0),
    (Awg::A4, "4", 41740.0),
    (Awg::A3, "3", 52620.0),
    (Awg::A2, "2", 66360.0),
    (Awg::A1, "1", 83690.0),
    (Awg::A1_0, "1/0", 105_600.0),
    (Awg::A2_0, "2/0", 133_100.0),
    (Awg::A3_0, "3/0", 167_800.0),
    (Awg::A4_0, "4/0", 211_600.0),
];

impl Awg {
    /// All sizes, smallest first.
    pub fn all() -> impl Iterator<Item = Awg> {
        SIZES.iter().map(|s| s.0)
    }

    /// Copper area, circular mils.
    pub fn cmil(self) -> f64 {
        SIZES[self as usize].2
    }

    /// The mark as it is printed: "14", "1/0".
    pub fn mark(self) -> &'static str {
        SIZES[self as usize].1
    }

    /// The next size up, if the tables have one.
    pub fn next_up(self) -> Option<Awg> {
        SIZES.get(self as usize + 1).map(|s| s.0)
    }

    /// The smallest size of at least this many circular mils.
    pub fn at_least_cmil(cmil: f64) -> Option<Awg> {
        SIZES.iter().find(|s| s.2 >= cmil).map(|s| s.0)
    }
}

impl fmt::Display for Awg {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.mark())
    }
}

/// A text that is not one of the sizes in the tables.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is not a conductor size from 18 AWG to 4/0 AWG; write \"14\" or \"1/0\"")]
pub struct UnknownAwg(pub String);

impl FromStr for Awg {
    type Err = UnknownAwg;
    fn from_str(s: &str) -> Result<Self, UnknownAwg> {
        let mark = s.trim().trim_start_matches('#').trim_end_matches("AWG").trim();
        SIZES.iter().find(|z| z.1 == mark).map(|z| z.0).ok_or_else(|| UnknownAwg(s.to_owned()))
    }
}

impl TryFrom<String> for Awg {
    type Error = UnknownAwg;
    fn try_from(s: String) -> Result<Self, UnknownAwg> {
        s.parse()
    }
}

impl From<Awg> for String {
    fn from(a: Awg) -> String {
        a.mark().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_in_the_order_of_the_enum_and_grows() {
        for (i, s) in SIZES.iter().enumerate() {
            assert_eq!(s.0 as usize, i);
            assert_eq!(s.1.parse::<Awg>(), Ok(s.0));
        }
        assert!(SIZES.windows(2).all(|w| w[0].2 < w[1].2));
    }

    #[test]
    fn refuses_what_is_no_size() {
        assert!("13".parse::<Awg>().is_err());
        assert!("".parse::<Awg>().is_err());
        assert_eq!("12 AWG".parse::<Awg>(), Ok(Awg::A12));
    }
}
