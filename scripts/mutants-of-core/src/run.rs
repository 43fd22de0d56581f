//! Builds the copy and runs its tests with one mutant after the other.

use crate::{Args, find::Mutant};
use std::{
    collections::{BTreeMap, BTreeSet},
    fmt::Write as _,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    time::{Duration, Instant},
};

/// The one test that takes longer than all others together; it is about the store alone.
const CUTS: &str = "a_cut_at_every_byte_loses_nothing";

/// The tests that a mutant has to pass, quick ones first: program, and what is given to it. The searches and the long
/// random histories are left out: what the quick ones miss is tried against them by hand.
const TESTS: [(&str, &[&str]); 31] = [
    ("heatwright_core", &["--skip", CUTS]),
    ("decisions", &[]),
    ("staging", &[]),
    ("rotation", &[]),
    ("switches", &[]),
    ("overrun", &[]),
    ("recovery", &[]),
    ("trim", &[]),
    ("first_heat", &[]),
    ("configuration", &[]),
    ("edges", &[]),
    ("enable", &[]),
    ("intent", &[]),
    ("rest_could", &[]),
    ("bands", &[]),
    ("basis", &[]),
    ("seams", &[]),
    ("planted_faults", &[]),
    ("faults", &[]),
    ("scenarios", &[]),
    ("late_ticks", &[]),
    ("load_rules", &[]),
    ("lull", &[]),
    ("starts", &[]),
    ("purge", &[]),
    ("law_steps", &[]),
    ("power_cut", &[]),
    ("flow", &[]),
    ("rebased", &[]),
    ("heatwright_core", &[CUTS]),
    ("skip_equivalence", &[]),
];

/// A test program and what is given to it.
#[derive(Clone, Debug)]
pub struct Test {
    binary: PathBuf,
    given: &'static [&'static str],
}

/// A mutant may take this much of a processor in one test program; past it, it hangs. Time on the wall says nothing on a machine
/// that has other work.
const LIMIT: Duration = Duration::from_secs(30);
/// And so long on the wall, should it sleep.
const LIMIT_WALL: Duration = Duration::from_secs(1800);

/// What a process has taken of the processors, where the system tells.
fn taken(pid: u32) -> Option<Duration> {
    let stat = fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
    // Fields 14 and 15, in hundredths of a second; the name in field 2 may hold blanks and ends at the last bracket.
    let mut fields = stat.rsplit_once(')')?.1.split_whitespace().skip(11);
    let hundredths: u64 = fields.next()?.parse::<u64>().ok()? + fields.next()?.parse::<u64>().ok()?;
    Some(Duration::from_millis(hundredths * 10))
}

/// What a build came to.
pub enum Built {
    /// Test programs in the order in which they are run.
    Yes(Vec<Test>),
    /// Errors: file relative to `core/src`, byte, words.
    No(Vec<(String, usize, String)>),
}

/// Builds the tests of the copy.
pub fn build(args: &Args) -> Result<Built, String> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    // No other program is built than those that are run.
    let programs = TESTS.iter().map(|t| t.0).filter(|t| *t != "heatwright_core").flat_map(|t| ["--test", t]);
    let out = Command::new(cargo)
        .args(["test", "-p", "heatwright-core", "--features", "io,serde", "--no-run", "--message-format=json", "--lib"])
        .args(programs)
        .current_dir(&args.copy)
        .env("RUSTFLAGS", "--cap-lints allow")
        .stderr(Stdio::inherit())
        .output()
        .map_err(|e| e.to_string())?;
    let mut binaries = Vec::new();
    let mut errors = Vec::new();
    for line in String::from_utf8_lossy(&out.stdout).lines() {
        let Ok(m) = serde_json::from_str::<serde_json::Value>(line) else { continue };
        if m["reason"] == "compiler-artifact"
            && m["profile"]["test"] == true
            && let Some(e) = m["executable"].as_str()
        {
            binaries.push(PathBuf::from(e));
        }
        let message = &m["message"];
        if m["reason"] == "compiler-message" && message["level"] == "error" {
            let spans = message["spans"].as_array().cloned().unwrap_or_default();
            for s in spans.iter().filter(|s| s["is_primary"] == true) {
                let mut s = s.clone();
                while !s["expansion"].is_null() {
                    s = s["expansion"]["span"].clone();
                }
                let file = s["file_name"].as_str().unwrap_or("").to_owned();
                let file = file.rsplit_once("src/").map_or(file.clone(), |(_, f)| f.to_owned());
                let at = s["byte_start"].as_u64().unwrap_or(0) as usize;
                errors.push((file, at, message["message"].as_str().unwrap_or("").to_owned()));
            }
        }
    }
    if !errors.is_empty() {
        return Ok(Built::No(errors));
    }
    if !out.status.success() {
        return Err("the build failed without an error that stands in a file".into());
    }
    let named = |p: &PathBuf, wanted: &str| {
        let name = p.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        name.rsplit_once('-').is_some_and(|(n, _)| n == wanted)
    };
    let find = |(name, given): &(&str, &'static [&'static str])| {
        let binary = binaries.iter().find(|b| named(b, name)).ok_or_else(|| format!("no test program {name}"))?;
        Ok(Test { binary: binary.clone(), given })
    };
    TESTS.iter().map(find).collect::<Result<_, String>>().map(Built::Yes)
}

enum Ended {
    Passed,
    Failed,
    Hung,
}

fn one(core: &Path, test: &Test, mutant: u32, reached: Option<&Path>) -> Result<Ended, String> {
    let mut c = Command::new(&test.binary);
    // The first test that fails is enough; a stable harness asks to be told that this is meant.
    c.args(["-q", "-Zunstable-options", "--fail-fast"]).args(test.given).env("RUSTC_BOOTSTRAP", "1");
    c.current_dir(core).env("MUTANT", mutant.to_string()).env("INSTA_UPDATE", "no");
    // A thread that takes a snapshot hides another one's name otherwise.
    c.env("INSTA_FORCE_PASS", "0").env("RUST_BACKTRACE", "0");
    // Random histories are the same ones for every mutant and in every run, so that a score can be repeated.
    c.env("PROPTEST_RNG_SEED", "1");
    if let Some(r) = reached {
        c.env("MUTANT_REACHED", r);
    }
    let mut child = c.stdout(Stdio::null()).stderr(Stdio::null()).spawn().map_err(|e| e.to_string())?;
    let began = Instant::now();
    loop {
        if let Some(status) = child.try_wait().map_err(|e| e.to_string())? {
            return Ok(if status.success() { Ended::Passed } else { Ended::Failed });
        }
        // Noting who reaches what is slow.
        let limit = if reached.is_some() { LIMIT * 10 } else { LIMIT };
        if taken(child.id()).is_some_and(|t| t > limit) || began.elapsed() > LIMIT_WALL {
            let _ = child.kill();
            let _ = child.wait();
            return Ok(Ended::Hung);
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// The result of a run.
pub struct Told {
    /// Score by module, and the survivors.
    pub table: String,
    /// Nothing survived.
    pub all_caught: bool,
}

/// Runs every mutant of the list; a line a mutant goes to the file of results at once.
pub fn all(args: &Args, tests: &[Test], mutants: &[&Mutant]) -> Result<Told, String> {
    let core = args.copy.join("core");
    // Without a mutant everything passes, and it is noted who reaches what.
    let mut reach: Vec<BTreeSet<u32>> = Vec::new();
    for t in tests {
        let list = args.copy.join("reached.txt");
        if !matches!(one(&core, t, u32::MAX, Some(&list))?, Ended::Passed) {
            return Err(format!("{t:?} fails without a mutant"));
        }
        let text = fs::read_to_string(&list).unwrap_or_default();
        reach.push(text.lines().filter_map(|l| l.parse().ok()).collect());
    }
    let mut file = fs::File::create(&args.out).map_err(|e| format!("{}: {e}", args.out.display()))?;
    let mut modules: BTreeMap<&str, (u32, u32)> = BTreeMap::new();
    let mut survivors = String::new();
    for m in mutants {
        let mut verdict = "unreached";
        for (t, reached) in tests.iter().zip(&reach) {
            if !reached.contains(&m.id) {
                continue;
            }
            match one(&core, t, m.id, None)? {
                Ended::Passed => verdict = "survived",
                Ended::Failed => verdict = "caught",
                Ended::Hung => verdict = "hung",
            }
            if verdict != "survived" {
                break;
            }
        }
        writeln!(file, "{verdict} {} {}", m.id, m.told).map_err(|e| e.to_string())?;
        let counts = modules.entry(m.file.as_str()).or_default();
        counts.1 += 1;
        if matches!(verdict, "caught" | "hung") {
            counts.0 += 1;
        } else {
            let _ = writeln!(survivors, "{verdict:<9} {}", m.told);
        }
    }
    let mut table = String::new();
    let (mut caught, mut of) = (0, 0);
    for (file, (c, n)) in &modules {
        let _ = writeln!(table, "{file:<28} {c:>5} of {n:>5}   {:>3} %", c * 100 / n.max(&1));
        caught += c;
        of += n;
    }
    let _ = writeln!(table, "{:<28} {caught:>5} of {of:>5}   {:>3} %\n\n{survivors}", "all", caught * 100 / of.max(1));
    Ok(Told { table, all_caught: caught == of })
}
