//! Mutants of the control core, all in one build.
//!
//! A mutant is the source with one small fault in it: `<` for `<=`, `and` for `or`, a function that answers `false`. If no
//! test fails with it, nothing holds that place. Building the core and its tests once a mutant would take a day; so this
//! copies the tree, writes every mutant into the copy beside the original, chosen by the environment variable `MUTANT` at
//! run time, builds once, and runs the tests once a mutant, stopping at the first test program that fails.
//!
//! ```text
//!   a < b    becomes    (if mutant::on(17) { a <= b } else if mutant::on(18) { a > b } else { a < b })
//! ```
//!
//! What does not compile (a type that has no default, a borrow that ends too early) is taken out and counted. What runs past
//! the time limit counts as caught: a controller that hangs is seen. A mutant that no test even reaches is told apart.
//!
//! Usage: `mutants-of-core TREE COPY [--only PATH-PREFIX]... [--shard K/N] [--whole PATH-PREFIX]... [--again RESULTS] [--out FILE]`.
//! Called by `scripts/mutants`.
//!
//! Not done here: faults in constants, in `const fn` of the files named in [`KEEP_CONST`], and in tests.

mod find;
mod run;
mod write;

use std::{collections::BTreeSet, env, fs, path::PathBuf, process::ExitCode};

/// Files whose `const fn` stand in constants: there only plain functions are changed.
pub const KEEP_CONST: [&str; 7] =
    ["units.rs", "mask.rs", "ids.rs", "schedule.rs", "config/staging.rs", "staging/required.rs", "link.rs"];

/// What was asked for.
pub struct Args {
    /// The tree to read.
    pub tree: PathBuf,
    /// Where its copy goes.
    pub copy: PathBuf,
    /// Only mutants in files under these, relative to `core/src`.
    pub only: Vec<String>,
    /// One mutant in so many, and which.
    pub shard: (u32, u32),
    /// Files under these are run whole, whatever the shard, after it.
    pub whole: Vec<String>,
    /// Only what an earlier run of the same code did not catch: its lines of results.
    pub again: Option<BTreeSet<String>>,
    /// Where the results go.
    pub out: PathBuf,
}

fn args() -> Option<Args> {
    let mut given = env::args().skip(1);
    let (tree, copy) = (given.next()?.into(), given.next()?.into());
    let mut a =
        Args { tree, copy, only: Vec::new(), shard: (0, 1), whole: Vec::new(), again: None, out: "mutants.txt".into() };
    while let Some(flag) = given.next() {
        let value = given.next()?;
        match flag.as_str() {
            "--only" => a.only.push(value),
            "--whole" => a.whole.push(value),
            "--out" => a.out = value.into(),
            "--again" => {
                let text = fs::read_to_string(value).ok()?;
                let left = text.lines().filter(|l| l.starts_with("survived") || l.starts_with("unreached"));
                // The verdict and the number come first.
                a.again = Some(left.filter_map(|l| l.splitn(3, ' ').nth(2)).map(str::to_owned).collect());
            }
            "--shard" => {
                let (k, n) = value.split_once('/')?;
                a.shard = (k.parse().ok()?, n.parse().ok().filter(|n| *n > 0)?);
            }
            _ => return None,
        }
    }
    Some(a)
}

fn main() -> ExitCode {
    let Some(args) = args() else {
        eprintln!(
            "usage: mutants-of-core TREE COPY [--only PREFIX]... [--shard K/N] [--whole PREFIX]... [--again RESULTS] [--out FILE]"
        );
        return ExitCode::from(2);
    };
    match work(&args) {
        Ok(all_caught) => ExitCode::from(u8::from(!all_caught)),
        Err(e) => {
            eprintln!("mutants-of-core: {e}");
            ExitCode::from(2)
        }
    }
}

fn work(args: &Args) -> Result<bool, String> {
    let files = find::files(&args.tree.join("core/src"))?;
    let mut mutants = Vec::new();
    for (path, text) in &files {
        find::mutants(path, text, &mut mutants)?;
    }
    // Only those that are run are written: the fewer they are, the sooner they are built.
    let sampled = |m: &find::Mutant| m.id % args.shard.1 == args.shard.0;
    let whole = |m: &find::Mutant| args.whole.iter().any(|p| m.file.starts_with(p.as_str()));
    let wanted = |m: &find::Mutant| args.only.is_empty() || args.only.iter().any(|p| m.file.starts_with(p.as_str()));
    let left = |m: &find::Mutant| args.again.as_ref().is_none_or(|a| a.contains(&m.told));
    let all = mutants.len();
    mutants.retain(|m| wanted(m) && left(m) && (whole(m) || sampled(m)));
    let mut dead: BTreeSet<u32> = BTreeSet::new();
    let tests = loop {
        let placed = write::all(args, &files, &mutants, &dead)?;
        match run::build(args)? {
            run::Built::Yes(tests) => break tests,
            run::Built::No(errors) => {
                let before = dead.len();
                for (file, at, text) in errors {
                    let hit = write::owner(&placed, &file, at);
                    if hit.is_empty() {
                        return Err(format!("{file}: {text}, and no mutant stands there"));
                    }
                    dead.extend(hit);
                }
                eprintln!("{} of {} do not compile; once more", dead.len(), mutants.len());
                if dead.len() == before {
                    return Err("the same errors again".into());
                }
            }
        }
    };
    let mut run: Vec<&find::Mutant> = mutants.iter().filter(|m| !dead.contains(&m.id)).collect();
    // What has been run of a run that is cut short is spread over all files.
    run.sort_by_key(|m| (!sampled(m), m.id / args.shard.1 % 7, m.id));
    eprintln!("{all} mutants, {} chosen, {} do not compile, {} to run", mutants.len(), dead.len(), run.len());
    let told = run::all(args, &tests, &run)?;
    fs::write(args.out.with_extension("table.txt"), &told.table).map_err(|e| e.to_string())?;
    print!("{}", told.table);
    Ok(told.all_caught)
}
