//! The schedule as a workbook and as a revision, as a user makes them.

use heatwright_wiring::plan::plan;
use std::{
    fs,
    io::Read as _,
    path::Path,
    process::{Command, Output},
};

const WORKSHOP: &str = "docs/examples/workshop.toml";

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_heatwright")).args(args).current_dir(env!("CARGO_MANIFEST_DIR")).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A part of a workbook, as text.
fn part(book: &mut zip::ZipArchive<fs::File>, name: &str) -> String {
    let mut s = String::new();
    book.by_name(name).unwrap().read_to_string(&mut s).unwrap();
    s
}

/// The workbook holds the schedule cell by cell, with what makes it useful on a job.
#[test]
fn the_workbook_holds_the_schedule() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("wires.xlsx");
    let file = path.to_str().unwrap();
    let out = run(&["wire", WORKSHOP, "--xlsx", file]);
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    let first = fs::read(&path).unwrap();
    assert!(text(&run(&["wire", WORKSHOP, "--xlsx", file]).stderr).contains("is there already"));
    assert_eq!(run(&["wire", WORKSHOP, "--xlsx", file, "--force"]).status.code(), Some(0));
    assert_eq!(fs::read(&path).unwrap(), first, "one plan makes the same bytes twice");

    let mut book = zip::ZipArchive::new(fs::File::open(&path).unwrap()).unwrap();
    let sheets = part(&mut book, "xl/workbook.xml");
    for name in
        ["Wires", "Devices", "Cables", "Runs", "Bars", "Directory", "Motors", "Transformers", "Materials", "Labels"]
    {
        assert!(sheets.contains(&format!("name=\"{name}\"")), "{name}");
    }
    // Shared strings by their number.
    let shared = part(&mut book, "xl/sharedStrings.xml");
    let strings: Vec<String> = shared
        .split("<si>")
        .skip(1)
        .map(|s| {
            let t = s.split_once('>').map_or("", |(_, t)| t).split("</t>").next().unwrap_or("");
            t.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
        })
        .collect();
    let sheet = part(&mut book, "xl/worksheets/sheet1.xml");
    for wanted in ["<autoFilter", "state=\"frozen\"", "orientation=\"landscape\"", "fitToHeight=\"0\"", "<cols>"] {
        assert!(sheet.contains(wanted), "{wanted}");
    }
    let rows: Vec<&str> = sheet.split("<row ").skip(1).collect();
    let cells = |row: &str| -> Vec<String> {
        row.split("<c ")
            .skip(1)
            .map(|c| {
                let value = c.split_once("<v>").map_or("", |(_, v)| v).split("</v>").next().unwrap_or("");
                if c.contains("t=\"s\"") { strings[value.parse::<usize>().unwrap()].clone() } else { value.to_owned() }
            })
            .collect()
    };
    assert_eq!(cells(rows[0])[..3], ["Landed", "Wire", "From"]);
    let loaded =
        heatwright::plant::load(WORKSHOP, &fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(WORKSHOP)).unwrap());
    let plan = plan(&loaded.unwrap_or_else(|_| panic!("the workshop is sound")).job()).unwrap();
    assert_eq!(rows.len(), plan.rows.len() + 1);
    for (row, r) in rows[1..].iter().zip(&plan.rows) {
        let c = cells(row);
        assert_eq!(c[0], "0", "a box to tick, not ticked");
        assert_eq!(
            c[1..6],
            [&r.wire, &r.from.device, &r.from.terminal, &r.to.device, &r.to.terminal].map(String::clone)
        );
        assert_eq!(c[12].parse::<f64>().unwrap(), r.length_ft.round());
        assert_eq!(c[16], r.purpose);
    }
}

/// A zone more: its wires are added, hardly anything else moves; the other way round they are dropped.
#[test]
fn a_revision_says_what_is_added_and_dropped() {
    let dir = tempfile::tempdir().unwrap();
    let old = dir.path().join("old.json");
    let old = old.to_str().unwrap();
    assert_eq!(run(&["wire", WORKSHOP, "--format", "json", "--output", old]).status.code(), Some(0));
    let same = run(&["wire", WORKSHOP, "--diff", old]);
    assert!(text(&same.stdout).contains("No wire is to be touched."), "{}", text(&same.stdout));
    let source = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(WORKSHOP)).unwrap();
    let longer = dir.path().join("longer.toml");
    let changed = source.replace("thermostat-run = \"45 ft\"", "thermostat-run = \"145 ft\"");
    assert_ne!(changed, source);
    fs::write(&longer, changed).unwrap();
    let out = run(&["wire", longer.to_str().unwrap(), "--diff", old, "--format", "json"]);
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    let d: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let count = |k: &str| d[k].as_array().unwrap().len();
    assert_eq!((count("added"), count("dropped"), count("moved")), (0, 0, 0));
    assert_eq!(count("changed"), 2, "{d:#}");
    assert!(d["changed"][0]["what"][0].as_str().unwrap().contains("length"), "{d:#}");
    let paper = text(&run(&["wire", longer.to_str().unwrap(), "--diff", old]).stdout);
    assert!(paper.lines().all(|l| l.chars().count() <= 80), "{paper}");
    // A breaker is no wire: a boiler that takes 14 A changes its breaker and its panel space.
    let larger = dir.path().join("larger.toml");
    let changed = source.replace("amps = \"2.5 A\"", "amps = \"14 A\"");
    assert_ne!(changed, source);
    fs::write(&larger, changed).unwrap();
    let out = run(&["wire", larger.to_str().unwrap(), "--diff", old, "--format", "json"]);
    let d: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let of = |list: &str| d["lists"].as_array().unwrap().iter().find(|l| l["list"] == list).unwrap().clone();
    assert!(of("breakers")["changed"][0]["what"].to_string().contains("rating: 15 A -> 20 A"), "{d:#}");
    assert!(!of("panel spaces")["changed"].as_array().unwrap().is_empty(), "{d:#}");
    // An older file that lacks a list says so.
    let mut lacking: serde_json::Value = serde_json::from_str(&fs::read_to_string(old).unwrap()).unwrap();
    lacking.as_object_mut().unwrap().remove("motors");
    let short = dir.path().join("short.json");
    fs::write(&short, lacking.to_string()).unwrap();
    let paper = text(&run(&["wire", WORKSHOP, "--diff", short.to_str().unwrap()]).stdout);
    assert!(paper.contains("Motors: not compared"), "{paper}");
    assert!(!paper.contains("Breakers: not compared"), "{paper}");
}

#[test]
fn nonsense_for_an_old_schedule_gives_one_clear_error() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("old.json");
    let deep = "[".repeat(100_000);
    for junk in [
        "",
        "{}",
        "[]",
        "null",
        "rows",
        "{\"rows\": 7}",
        "{\"rows\": [{\"wire\": 1}]}",
        "{\"rows\": [{\"wire\": \"A\", \"length_ft\": 1e999}]}",
        "\u{0}\u{1}",
        deep.as_str(),
    ] {
        fs::write(&path, junk).unwrap();
        let out = run(&["wire", WORKSHOP, "--diff", path.to_str().unwrap()]);
        let err = text(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{junk:.40}: {err}");
        assert_eq!(err.matches("error[").count(), 1, "{err}");
        assert!(err.contains("F04") && err.contains("no wiring schedule"), "{err}");
        assert!(out.stdout.is_empty());
    }
    let out = run(&["wire", WORKSHOP, "--diff", "no/such/file.json"]);
    assert_eq!((out.status.code(), text(&out.stderr).contains("F01")), (Some(2), true));
}

/// Readings keep to the paper's width, read the service right, and tell apart what is open and closed.
#[test]
fn readings_are_printed_state_by_state() {
    let out = run(&["wire", WORKSHOP, "--readings"]);
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    let paper = text(&out.stdout);
    assert!(paper.lines().all(|l| l.chars().count() <= 80), "{paper}");
    let out = run(&["wire", WORKSHOP, "--readings", "--format", "json"]);
    let states: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let read = |state: &str, device: &str, what: &str| -> f64 {
        let s = states.as_array().unwrap().iter().find(|s| s["state"] == state).unwrap();
        let lines = s["readings"].as_array().unwrap();
        let line = lines.iter().find(|l| l["device"] == device && l["what"].as_str().unwrap() == what).unwrap();
        line["volts"].as_f64().unwrap_or(f64::NAN)
    };
    // The boiler's demand pair: its own 120 V while nothing calls, next to nothing once our relay closes it.
    assert!((117.0..120.1).contains(&read("nothing calls", "E1", "demand pair")));
    assert!(read("every zone calls", "E1", "demand pair") < 0.1);
    assert!(read("nothing calls", "M2", "pump 2") < 0.1);
    assert!((117.0..120.1).contains(&read("every zone calls", "M2", "pump 2")));
    let dir = tempfile::tempdir().unwrap();
    let cir = dir.path().join("plan.cir");
    assert_eq!(run(&["wire", WORKSHOP, "--netlist", cir.to_str().unwrap()]).status.code(), Some(0));
    let netlist = fs::read_to_string(cir).unwrap();
    assert!(netlist.starts_with("* ") && netlist.ends_with(".end\n") && netlist.contains("\nV"), "{netlist:.200}");
}

/// One line a terminal in 80 columns, place by place; several lists under one head, with the cautions once.
#[test]
fn terminals_stand_in_one_line_each_and_several_lists_in_one_report() {
    for example in [WORKSHOP, "docs/examples/library.toml", "docs/examples/mill.toml"] {
        let csv = text(&run(&["wire", example, "--by", "device", "--format", "csv"]).stdout);
        let paper = text(&run(&["wire", example, "--by", "device"]).stdout);
        assert!(paper.lines().all(|l| l.chars().count() <= 80), "{example}");
        // Every terminal of the list stands with its wire in a line that begins with its device.
        let mut rest: Vec<Vec<&str>> = paper.lines().map(|l| l.split_whitespace().collect()).collect();
        for row in csv.lines().skip(1) {
            let cells: Vec<&str> = row.split(',').collect();
            let first = |i: usize| cells[i].split_whitespace().next().unwrap();
            let find = |l: &Vec<&str>| {
                l.len() > 4 && l[..2] == [cells[0], first(1)] && [2, 4, 5].iter().all(|i| l.contains(&first(*i)))
            };
            let i = rest.iter().position(find).unwrap_or_else(|| panic!("{example}: {row}"));
            rest.swap_remove(i);
        }
    }
    let both = text(&run(&["wire", WORKSHOP, "--by", "device,run,bar", "--by", "run"]).stdout);
    assert_eq!(both.matches("Cautions\n").count(), 1);
    assert_eq!(both.matches("Key: A1").count(), 1);
    for head in ["What lands on each terminal", "Raceways and cables", "Jumper bars"] {
        assert_eq!(both.matches(&format!("{head}\n-")).count(), 1, "{head}");
    }
}
