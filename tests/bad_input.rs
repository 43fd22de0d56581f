//! What a wrong plant file is answered with: each fault of a kind, the whole message as a technician reads it.
//!
//! Every case changes the workshop example in one place, so that what is answered is about that place and nothing else.

use heatwright::{
    finding::{Look, render},
    plant::read::read,
};
use heatwright_core::Severity;
use proptest::prelude::*;
use std::time::{Duration, Instant};

const WORKSHOP: &str = include_str!("../docs/examples/workshop.toml");

/// The answer to a file that is refused, as text of 80 columns.
fn answer(bytes: &[u8]) -> String {
    match read("plant.toml", bytes) {
        Ok(_) => panic!("the file was taken"),
        Err(r) => {
            assert!(!r.findings.is_empty() && r.findings.iter().all(|f| f.severity == Severity::Error));
            let text = render(&r.findings, r.source.as_ref(), Look::default());
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "over 80 columns: {line}");
            }
            text
        }
    }
}

/// The workshop with one piece of text replaced.
fn with(old: &str, new: &str) -> String {
    assert_eq!(WORKSHOP.matches(old).count(), 1, "`{old}` must stand once in the example");
    WORKSHOP.replacen(old, new, 1)
}

/// The library with one piece of text replaced.
fn library_with(old: &str, new: &str) -> String {
    let library = include_str!("../docs/examples/library.toml");
    assert_eq!(library.matches(old).count(), 1, "`{old}` must stand once in the example");
    library.replacen(old, new, 1)
}

/// The workshop without a table, from its heading to the next.
fn without(heading: &str) -> String {
    let from = WORKSHOP.find(heading).unwrap_or_else(|| panic!("{heading} is not in the example"));
    let to = WORKSHOP[from + 1..].find("\n[").map_or(WORKSHOP.len(), |i| from + 1 + i + 1);
    format!("{}{}", &WORKSHOP[..from], &WORKSHOP[to..])
}

macro_rules! cases {
    ($($name:ident: $text:expr;)*) => {$(
        #[test]
        fn $name() {
            let text = $text;
            let bytes: &[u8] = text.as_ref();
            insta::with_settings!({ snapshot_path => "bad_input", prepend_module_to_snapshot => false, omit_expression => true }, {
                insta::assert_snapshot!(stringify!($name), answer(bytes));
            });
        }
    )*};
}

cases! {
    one_slip_in_a_heading: with("[header]", "[haeder]");
    one_slip_in_a_rating: with("amps = \"1.1 A\"", "amps = \"1.1 V\"");
    one_slip_in_horsepower: library_with("hp = \"3/4 hp\"", "hp = \"3/4 A\"");
    an_hour_past_midnight: with("\"mon-fri 06:30-17:00\"", "\"mon-fri 06:30-25:00\"");
    a_stretch_without_length: with("\"mon-fri 06:30-17:00\"", "\"mon-fri 17:00-17:00\"");
    empty_file: "";
    comments_only: "# nothing yet\n";
    high_limit_under_the_outlet: with("opens-at = \"205 °F\"", "opens-at = \"150 °F\"");
    hand_reset_under_the_automatic_limit: with("opens-at = \"205 °F\"", "opens-at = \"230 °F\"");
    floor_limit_far_over_its_floor: library_with("opens-at = \"135 °F\"", "opens-at = \"200 °F\"");
    floor_limit_under_the_mixed_water: library_with("opens-at = \"135 °F\"", "opens-at = \"124 °F\"");
    tank_limit_under_the_aquastat: library_with("opens-at = \"170 °F\"", "opens-at = \"130 °F\"");
    one_name_twice: with("name = \"Shop pump\"", "name = \"office  pump\"".replace("  ", " ").as_str());
    random_bytes: [0x89u8, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0xff, 0xfe, 0x13];
    another_file: "{\n  \"name\": \"a package\",\n  \"version\": 3\n}\n";
    no_zones: { let t = without("[zone.shop]"); let from = t.find("[zone.office]").unwrap(); let to = from + t[from..].find("# ---").unwrap();
        format!("{}{}", &t[..from], &t[to..]) };
    no_boilers: "[site]\noutdoor-design = \"0 °F\"\n[power]\nservice = \"120/240 V\"\n[header]\nkind = \"low-loss\"\n[zone.hall]\ndesign-loss = \"9 MBH\"\npump = \"p\"\nemitter = { kind = \"cast-iron\", output = \"12 MBH\" }\n[pump.p]\nmotor = \"wet-rotor\"\namps = \"1 A\"\n";
    zone_on_a_missing_pump: with("pump = \"p-office\"", "pump = \"p-ofice\"");
    zone_on_a_boiler: with("pump = \"p-office\"", "pump = \"b1\"");
    duplicate_id_in_one_kind: with("[zone.office]", "[zone.shop]");
    duplicate_id_across_kinds: with("[zone.office]", "[zone.b1]");
    schedule_by_the_name_of_a_zone: WORKSHOP.replace("shop-hours", "office");
    duplicate_key: with("room = \"70 °F\"", "room = \"70 °F\"\nroom = \"72 °F\"");
    number_without_unit: with("room = \"70 °F\"", "room = \"180\"");
    bare_number: with("room = \"70 °F\"", "room = 70");
    bare_decimal: with("fault-current = \"10 kA\"", "fault-current = 10.5");
    negative_length: with("run = \"70 ft\"", "run = \"-70 ft\"");
    not_a_number: with("room = \"70 °F\"", "room = \"nan °F\"");
    toml_nan: with("turndown = 5 ", "turndown = nan ");
    infinite: with("design-loss = \"16 MBH\"", "design-loss = \"inf MBH\"");
    unit_of_another_kind: with("design-loss = \"16 MBH\"", "design-loss = \"16 gal/min\"");
    unknown_unit: with("design-loss = \"16 MBH\"", "design-loss = \"16 MBtu\"");
    out_of_range: with("outdoor-design = \"-4 °F\"", "outdoor-design = \"180 °F\"");
    curve_that_crosses: with("[reset] ", "[reset]\npoints = [\n  { outdoor = \"-4 °F\", supply = \"120 °F\" },\n  { outdoor = \"60 °F\", supply = \"175 °F\" },\n]\n# ");
    curve_that_runs_back: with("[reset] ", "[reset]\npoints = [\n  { outdoor = \"60 °F\", supply = \"95 °F\" },\n  { outdoor = \"-4 °F\", supply = \"175 °F\" },\n]\n# ");
    curve_of_one_point: with("[reset] ", "[reset]\npoints = [ { outdoor = \"60 °F\", supply = \"95 °F\" } ]\n# ");
    hot_cuts_past_what_is_kept: with("fallback = \"fixed-target\"", "fallback = \"fixed-target\"\nhot-cuts = 5\n#");
    hot_cuts_in_words: with("fallback = \"fixed-target\"", "fallback = \"fixed-target\"\nhot-cuts = \"three\"\n#");
    hot_cuts_within_no_time: with("fallback = \"fixed-target\"", "fallback = \"fixed-target\"\nhot-cuts-within = \"0 min\"\n#");
    plant_enable_in_other_words: with("[guard]\n", "[staging]\nplant-enable = \"two-calls\"\n\n[guard]\n");
    plant_ignores_more_calls_than_there_can_be: with("[guard]\n", "[staging]\nplant-enable = \"guideline-36\"\nplant-ignored-calls = 16\n\n[guard]\n");
    plant_off_for_half_a_day: with("[guard]\n", "[staging]\nplant-enable = \"guideline-36\"\nplant-off-min = \"12 h\"\n\n[guard]\n");
    plant_few_without_a_unit: with("[guard]\n", "[staging]\nplant-enable = \"guideline-36\"\nplant-few-for = 3\n\n[guard]\n");
    unknown_key: with("design-loss = \"16 MBH\"", "desing-loss = \"16 MBH\"");
    unknown_key_far: with("design-loss = \"16 MBH\"", "design-loss = \"16 MBH\"\ncolour = \"blue\"");
    unknown_table: with("[panel]", "[pannel]");
    unknown_word: with("kind = \"finned-tube\"", "kind = \"fined-tube\"");
    wrong_form_table: with("emitter = { kind = \"panel-radiator\", output = \"21 MBH\", supply = \"75 °C\", return = \"65 °C\", room = \"20 °C\" }", "emitter = \"panel-radiator\"");
    wrong_form_list: with("line = [\"L\", \"N\", \"PE\"]", "line = \"L, N, PE\"");
    one_terminal_of_two: with("limit = [\"21\", \"22\"]", "limit = [\"21\"]");
    a_mark_twice: with("limit = [\"21\", \"22\"]", "limit = [\"21\", \"23\"]");
    bad_id: with("[zone.office]", "[zone.Office_1]");
    syntax_unclosed: with("name = \"Office\"", "name = \"Office");
    syntax_no_value: with("name = \"Office\"", "name");
    deep_nesting: format!("{WORKSHOP}\n[extra]\na = {}1{}\n", "[".repeat(5000), "]".repeat(5000));
    deep_dotted_key: format!("{}z = 1\n{WORKSHOP}", "a.".repeat(5000));
    long_line: with("name = \"Office\"", &format!("name = \"{}\"", "Office ".repeat(1_500_000)));
    long_key: format!("{} = 1\n{WORKSHOP}", "k".repeat(10_000_000));
    too_large: vec![b'#'; 17 << 20];
    nobody_uses_the_pump: with("pump = \"p-office\"", "pump = \"p-shop\"");
    a_pump_for_boiler_and_zone: with("pump = \"p-office\"", "pump = \"p-b1\"");
    zone_without_pump: with("pump = \"p-office\"\n", "");
    two_phases: with("[pump.p-b1]", "[pump.p-b1]\nphases = 2");
    safety_of_nobody: with("scope = \"plant\"", "scope = \"b9\"");
    safety_without_scope: with("scope = \"plant\"\n", "");
    schedule_missing: with("schedule = \"shop-hours\"\nroom", "schedule = \"shop-hour\"\nroom");
    schedule_unreadable: with("\"sat 07:00-12:00\"", "\"saturday morning\"");
    no_supply_sensor: without("[sensor.supply]");
    limits_crossed: with("[boiler.b1]\n", "[boiler.b1]\noutlet-max = \"210 °F\"\n");
    return_valve_of_a_condensing_boiler: with("[boiler.b1]\n", "[boiler.b1]\nreturn-valve = \"120 °F\"\n");
    return_valve_below_the_least_return: with("efficiency = \"condensing\"", "efficiency = \"non-condensing\"\nreturn-min = \"130 °F\"\nreturn-valve = \"120 °F\"");
    return_valve_over_the_targets: with("efficiency = \"condensing\"", "efficiency = \"non-condensing\"\nreturn-valve = \"190 °F\"");
    relay_pinned_twice: with("[pump.p-b1]", "[pump.p-b1]\nrelay = 3").replace("[pump.p-shop]", "[pump.p-shop]\nrelay = 3");
    settings_without_effect: with("output = \"21 MBH\"", "area = \"200 ft²\", output = \"21 MBH\"").replace("[reset] ", "[rotation]\npolicy = \"fixed\"\nhours = \"40 h\"\n[reset] ");
    draw_without_a_time: format!("{WORKSHOP}\n[tank]\nvolume = \"80 gal\"\ncoil = \"60 MBH\"\npump = \"p-tank\"\ndraws = [{{ for = \"10 min\", flow = \"3 gal/min\" }}]\n[pump.p-tank]\nmotor = \"wet-rotor\"\namps = \"1 A\"\n");
    many_zones: { let zones: String = (0..17).map(|i| format!("[zone.z{i}]\ndesign-loss = \"4 MBH\"\npump = \"p-shop\"\nemitter = {{ kind = \"cast-iron\", output = \"9 MBH\" }}\n")).collect(); format!("{WORKSHOP}\n{zones}") };
    several_at_once: with("design-loss = \"16 MBH\"", "desing-loss = \"16 MBH\"")
        .replace("outdoor-design = \"-4 °F\"", "outdoor-design = -4")
        .replace("pump = \"p-shop\"", "pump = \"p-shp\"")
        .replace("kind = \"low-water\"", "kind = \"low-watter\"")
        .replace("run = \"70 ft\"", "run = \"-70 ft\"");
}

#[test]
fn the_example_itself_is_taken() {
    let taken = read("workshop.toml", WORKSHOP.as_bytes()).unwrap_or_else(|r| {
        panic!("{}", render(&r.findings, r.source.as_ref(), Look::default()));
    });
    assert!(!taken.plant.assumptions.is_empty());
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_are_taken() {
    let text = format!("\u{feff}{}", WORKSHOP.replace('\n', "\r\n"));
    let unix = read("a", WORKSHOP.as_bytes()).unwrap();
    let windows =
        read("a", text.as_bytes()).unwrap_or_else(|r| panic!("{}", render(&r.findings, None, Look::default())));
    assert_eq!(unix.plant, windows.plant);
}

#[test]
fn huge_and_hostile_files_are_answered_soon() {
    let hostile = [
        "=".repeat(1 << 20),
        "[a]\n".repeat(200_000),
        "a = 1\n".repeat(200_000),
        (0..200_000).map(|i| format!("k{i} = 1\n")).collect(),
        (0..100_000).map(|i| format!("[zone.z{i}]\n")).collect(),
        format!("{WORKSHOP}\n[reset.x]\npoints = [{}]", "{},".repeat(300_000)),
        "\"".repeat(1 << 20),
        "# x\n".repeat(1 << 20),
    ];
    for text in hostile {
        let start = Instant::now();
        let shown = answer(text.as_bytes());
        // The bound is for an unoptimised build on a busy machine; a quadratic walk takes minutes.
        assert!(start.elapsed() < Duration::from_secs(20), "{:?}: {}", start.elapsed(), &text[..20]);
        assert!(shown.lines().count() < 1500, "{} lines", shown.lines().count());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any bytes are answered, never a panic, and what is answered can be rendered.
    #[test]
    fn any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        if let Err(r) = read("x", &bytes) {
            let _ = render(&r.findings, r.source.as_ref(), Look::default());
        }
    }

    /// Any text made of what plant files are made of.
    #[test]
    fn any_pieces(pieces in proptest::collection::vec(0usize..24, 0..80)) {
        const PIECES: [&str; 24] = [
            "[", "]", "\n", " = ", "\"", "zone", ".", "boiler.b1", "pump", "'", "{", "}", "points", ",", "\"180 °F\"", "1e999",
            "[[", "]]", "#", "site", "\"\"\"", "\\u", "true", "tank",
        ];
        let text: String = pieces.iter().filter_map(|i| PIECES.get(*i)).copied().collect();
        if let Err(r) = read("x", text.as_bytes()) {
            let _ = render(&r.findings, r.source.as_ref(), Look::default());
        }
    }

    /// The example with a stretch cut out or overwritten: answered or taken, never a panic.
    #[test]
    fn a_damaged_example(at in 0usize..6000, len in 0usize..40, put in "[a-z\"=\\[\\]{}.°0-9 \n-]{0,12}") {
        let at = at.min(WORKSHOP.len());
        let end = (at + len).min(WORKSHOP.len());
        let mut bytes = WORKSHOP.as_bytes().to_vec();
        bytes.splice(at..end, put.bytes());
        if let Err(r) = read("x", &bytes) {
            prop_assert!(!r.findings.is_empty());
            let _ = render(&r.findings, r.source.as_ref(), Look::default());
        }
    }
}
