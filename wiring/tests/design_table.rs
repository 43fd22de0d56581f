//! `docs/wiring.md` names files and tests: each must be there, so that the table cannot outlive what it speaks of.

use std::{fs, path::Path};

fn sources(dir: &Path, out: &mut String) {
    for f in fs::read_dir(dir).unwrap().map(|f| f.unwrap().path()) {
        if f.is_dir() {
            sources(&f, out);
        } else if f.extension().is_some_and(|e| e == "rs") {
            out.push_str(&fs::read_to_string(f).unwrap());
        }
    }
}

/// What of a table names something that is not there.
fn missing(table: &str, root: &Path, program: &str) -> Vec<String> {
    let mut out = Vec::new();
    for line in table.lines().filter(|l| l.starts_with("| ") && !l.starts_with("| What |")) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").collect();
        assert_eq!(cells.len(), 4, "{line}");
        let ticked = |cell: &str| cell.split('`').skip(1).step_by(2).map(str::to_owned).collect::<Vec<_>>();
        let tests = ticked(cells[3]);
        if tests.is_empty() {
            out.push(format!("no test: {line}"));
        }
        out.extend(tests.into_iter().filter(|t| {
            !program.contains(&format!("#[test]\n    fn {t}()")) && !program.contains(&format!("#[test]\nfn {t}()"))
        }));
        out.extend(ticked(cells[1]).into_iter().filter(|f| !root.join(f).is_file()));
    }
    out
}

#[test]
fn the_table_names_what_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let table = fs::read_to_string(root.join("docs/wiring.md")).unwrap();
    let mut program = String::new();
    sources(&root.join("wiring"), &mut program);
    assert!(table.lines().filter(|l| l.starts_with("| ")).count() > 20);
    assert_eq!(missing(&table, root, &program), [""; 0]);
    let planted = "| a | `wiring/src/none.rs` | b | `no_such_test_stands_anywhere` |";
    assert_eq!(missing(planted, root, &program).len(), 2);
}
