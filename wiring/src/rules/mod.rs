//! The rules: what a plan is checked against, one rule a file.
//!
//! A rule is a record: code, name (it names the fault, never the cure), weight, source, documentation and a function from job
//! and plan to findings. Codes are never used again. Rules read the rows and devices of the plan where they can, and compute
//! the code's figures anew from [`tables`](crate::tables), so that a slip of the planner shows.
//!
//! A clean result means that these rules found nothing. It never means that the plan complies with a code: see
//! [`NOT_CHECKED`].
//!
//! HW1xx conductors and terminals, HW2xx motors, HW3xx Class 2 and transformers, HW4xx safety circuits, HW5xx safeties that a
//! boiler room wants, HW6xx the site.

mod carrying;
#[cfg(test)]
mod fixture;
mod motors;
#[cfg(test)]
mod planted;
mod safety;

use crate::{
    finding::{Finding, Findings},
    job::Job,
    plan::Plan,
    tables::{Source, Status},
};
use heatwright_core::Severity;

/// One rule.
pub struct Rule {
    /// Its code: `HW` and three digits.
    pub code: &'static str,
    /// Its name: the fault.
    pub name: &'static str,
    /// Weight of its findings, unless a finding says otherwise.
    pub severity: Severity,
    /// Where it comes from.
    pub source: Source,
    /// What, why, mend: see [`SECTIONS`].
    pub doc: &'static str,
    /// The check.
    pub check: fn(&Job, &Plan, &mut Findings),
}

/// The headings that every rule's documentation has, in this order.
pub const SECTIONS: [&str; 3] = ["What it finds", "Why it matters", "How to mend it"];

macro_rules! rules {
    ($($file:ident),* $(,)?) => {
        $(mod $file;)*
        /// All rules, in the order of their codes.
        pub const RULES: &[&Rule] = &[$(&$file::RULE),*];
    };
}

rules![
    hw101, hw102, hw103, hw104, hw105, hw106, hw107, hw108, hw109, hw110, hw111, hw112, hw113, hw201, hw202, hw203,
    hw204, hw205, hw206, hw207, hw208, hw209, hw210, hw211, hw212, hw213, hw214, hw301, hw302, hw303, hw304, hw305,
    hw306, hw307, hw308, hw309, hw310, hw311, hw312, hw313, hw401, hw402, hw403, hw404, hw405, hw501, hw502, hw503,
    hw504, hw505, hw506, hw507, hw508, hw509, hw510, hw511, hw512, hw513, hw514, hw515, hw601, hw602, hw603, hw604,
    hw605, hw606, hw607, hw608,
];

/// What no rule looks at. A report prints this beside what was checked.
pub const NOT_CHECKED: [&str; 13] = [
    "Instructions, listings and markings of the equipment itself.",
    "Amendments of the state or town, and what the authority having jurisdiction asks for beyond the codes named here.",
    "Service and feeders upstream of the main panelboard, and their loading.",
    "Circuits to a second building: its own disconnect and electrode (NEC 225.31, 250.32, from memory). The plan knows places, not buildings.",
    "Short-circuit ratings of single devices; only the panel as a whole is compared with the available current.",
    "Working space, grip heights, supports, bending radius, boxes and box fill.",
    "Surge, arc-fault and lightning protection, and bonding of piping and gas lines.",
    "Gas train, venting, combustion-air openings and water chemistry.",
    "Flame safeguard inside the boilers.",
    "Settings of limits, cutoffs and overloads as left in the field.",
    "Sealing of raceways, hazardous and corrosive locations; of wet ones only the type of the panels is checked.",
    "Aluminum conductors, cable trays, flexible cords.",
    "Section and edition numbers against the licensed text: each rule says how far its source was checked.",
];

/// What a check of a plan gives.
pub struct Checked {
    /// All findings, by rule.
    pub findings: Vec<Finding>,
    /// Codes and names of the rules that were run.
    pub checked: Vec<(&'static str, &'static str)>,
    /// What no rule looks at.
    pub not_checked: &'static [&'static str],
}

/// Runs every rule.
pub fn check(job: &Job, plan: &Plan) -> Checked {
    let mut findings = Findings::of_rule("", Severity::Note);
    for rule in RULES {
        findings.turn_to(rule.code, rule.severity);
        (rule.check)(job, plan, &mut findings);
    }
    Checked {
        findings: findings.into_list(),
        checked: RULES.iter().map(|r| (r.code, r.name)).collect(),
        not_checked: &NOT_CHECKED,
    }
}

/// The rule with this code, in either case, or with this name.
pub fn find(code_or_name: &str) -> Option<&'static Rule> {
    RULES.iter().copied().find(|r| r.code.eq_ignore_ascii_case(code_or_name) || r.name == code_or_name)
}

/// What there is to say about a rule: heading, sections, source. Plain text, one paragraph a line.
pub fn explain(code_or_name: &str) -> Option<String> {
    find(code_or_name).map(Rule::explain)
}

impl Rule {
    /// Heading, sections and source of the rule, as plain text.
    pub fn explain(&self) -> String {
        let weight = match self.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        };
        let checked = match self.source.status {
            Status::Checked => "checked against a public transcription",
            Status::Partly => "partly checked against a public transcription",
            Status::Memory => "from memory, not checked",
        };
        let remark = if self.source.remark.is_empty() { String::new() } else { format!("; {}", self.source.remark) };
        format!(
            "{} {} ({weight})\n\n{}\n\nSource\n{}, {} ({}): {checked}{remark}.\n",
            self.code,
            self.name,
            self.doc.trim(),
            self.source.standard,
            self.source.section,
            self.source.editions
        )
    }
}

/// A source in NFPA 70, editions 2020 and 2023.
const fn nec(section: &'static str, status: Status, remark: &'static str) -> Source {
    Source { standard: "NFPA 70", section, editions: "2020, 2023", status, remark }
}

/// The edition of the job, for the tables.
fn edition(job: &Job) -> crate::tables::Edition {
    match job.settings.edition {
        crate::job::Edition::Nec2020 => crate::tables::Edition::Nec2020,
        crate::job::Edition::Nec2023 => crate::tables::Edition::Nec2023,
    }
}

/// "1 conductor", "3 conductors".
fn count(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_ordered_and_well_formed() {
        for w in RULES.windows(2) {
            assert!(w[0].code < w[1].code, "{} before {}", w[0].code, w[1].code);
        }
        for r in RULES {
            let digits = r.code.strip_prefix("HW").expect(r.code);
            assert!(digits.len() == 3 && digits.chars().all(|c| c.is_ascii_digit()), "{}", r.code);
            assert!(r.name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{}", r.name);
            assert_eq!(RULES.iter().filter(|o| o.name == r.name).count(), 1, "{} twice", r.name);
        }
        assert!(RULES.len() >= 20);
    }

    #[test]
    fn every_rule_documents_itself_in_the_fixed_sections() {
        for r in RULES {
            let mut rest = r.doc;
            for heading in SECTIONS {
                let (_, after) =
                    rest.split_once(&format!("{heading}\n")).unwrap_or_else(|| panic!("{}: {heading}", r.code));
                let body = after.split("\n\n").next().unwrap_or_default();
                assert!(body.trim().len() > 30, "{}: section \"{heading}\" says nothing", r.code);
                rest = after;
            }
            assert!(!r.source.standard.is_empty() && !r.source.section.is_empty());
            assert!(
                r.source.status == Status::Checked || !r.source.remark.is_empty(),
                "{}: what is unchecked?",
                r.code
            );
            let text = r.explain();
            assert!(text.contains(r.code) && text.contains(r.name) && text.contains(r.source.section));
            assert!(!text.to_lowercase().contains("complies"), "{}", r.code);
        }
    }

    /// The file is named after the code and holds a failing job; all pass those of `every_rule_passes_the_clean_jobs`.
    #[test]
    fn every_rule_has_its_file_with_a_failing_test() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/rules/");
        for r in RULES {
            let path = format!("{folder}{}.rs", r.code.to_lowercase());
            let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
            assert!(text.contains(&format!("code: \"{}\"", r.code)), "{path} holds another rule");
            assert!(text.starts_with(&format!("//! {} {}", r.code, r.name)), "{path}: head");
            assert!(text.contains("fn fails"), "{path}: has it been seen to fail?");
        }
    }

    /// Each rule finds nothing in a plan by hand of one boiler and one pump, nor in that of the mill with its two panelboards.
    #[test]
    fn every_rule_passes_the_clean_jobs() {
        let (job, plan) = fixture::clean();
        assert_eq!(check(&job, &plan).checked.len(), RULES.len());
        let mill = crate::fixtures::mill();
        let planned = crate::plan::plan(&mill).unwrap();
        for (name, job, plan) in [("by hand", &job, &plan), ("mill", &mill, &planned)] {
            for r in RULES {
                let list = fixture::found(r, job, plan);
                assert!(list.is_empty(), "{} of {name}: {list:#?}", r.code);
            }
        }
    }

    #[test]
    fn rules_are_found_by_code_and_by_name() {
        assert!(explain("hw101").is_some());
        assert!(explain("crowded-terminal").is_some());
        assert!(explain("HW999").is_none());
    }

    #[test]
    fn an_empty_plan_is_no_reason_to_panic() {
        let (job, mut plan) = fixture::clean();
        plan.devices.clear();
        let _ = check(&job, &plan);
        plan.rows.clear();
        plan.runs.clear();
        plan.motors.clear();
        plan.breakers.clear();
        plan.circuits.clear();
        let _ = check(&job, &plan);
    }
}
