//! The wiring plan as a workbook for the job: a sheet a list, made to be filtered, ticked off and printed.
//!
//! Every sheet has its heads frozen and filtered, columns as wide as what stands in them, a box to tick on every line where
//! there is something to do, and prints landscape on one page's width with its heads repeated. Numbers are numbers. The date of
//! creation is fixed, so that one plan makes the same bytes on every day.
//!
//! What it deliberately does not do: formulas, macros, colours that mean something.

use super::{
    Table,
    table::Align,
    units::In,
    wiring::{by_bar, by_cable, by_device, by_run, by_wire, directory, labels, materials, motors, transformers},
};
use crate::finding::Finding;
use heatwright_core::{Severity, Subject};
use heatwright_wiring::plan::Plan;
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};

/// Widest column, characters; longer cells are wrapped.
const WIDTH_MAX: usize = 48;

/// The workbook's bytes. `checksum` is that of the plant file, for the foot of each page.
pub fn workbook(plan: &Plan, plant: &str, checksum: &str, u: In) -> Result<Vec<u8>, Finding> {
    build(plan, plant, checksum, u).map_err(|e| {
        Finding::new("F05", Severity::Error, Subject::Plant, format!("the workbook cannot be made: {e}"))
            .hint("a list of more than a million lines does not fit; the comma-separated form has no such limit")
    })
}

fn build(plan: &Plan, plant: &str, checksum: &str, u: In) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_title(format!("Wiring of {plant}")).set_creation_datetime(&made));
    // Name of the sheet, its list, what the box to tick says.
    let sheets: [(&str, Table, Option<&str>); 10] = [
        ("Wires", by_wire(plan, u), Some("Landed")),
        ("Devices", by_device(plan), Some("Checked")),
        ("Cables", by_cable(plan, u), Some("Pulled")),
        ("Runs", by_run(plan, u), Some("Run")),
        ("Bars", by_bar(plan), Some("Set in")),
        ("Directory", directory(plan), Some("Posted")),
        ("Motors", motors(plan), Some("Set")),
        ("Transformers", transformers(plan), None),
        ("Materials", materials(plan, u), Some("On site")),
        ("Labels", labels(plan), Some("Stuck on")),
    ];
    for (name, table, tick) in sheets {
        let sheet = book.add_worksheet();
        sheet.set_name(name)?;
        fill(sheet, &table, tick)?;
        set_up(sheet, plant, checksum, name, u)?;
    }
    book.save_to_buffer()
}

fn fill(sheet: &mut Worksheet, table: &Table, tick: Option<&str>) -> Result<(), XlsxError> {
    let head =
        Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top).set_border_bottom(FormatBorder::Thin);
    let text = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    let number = Format::new().set_align(FormatAlign::Top);
    let first = u16::from(tick.is_some());
    if let Some(tick) = tick {
        sheet.write_string_with_format(0, 0, tick, &head)?;
        sheet.set_column_width(0, width(tick.len()))?;
    }
    for (c, (title, align)) in (first..).zip(&table.columns) {
        sheet.write_string_with_format(0, c, title, &head)?;
        let at = usize::from(c - first);
        let longest = table.rows.iter().map(|r| r[at].chars().count()).max().unwrap_or(0);
        sheet.set_column_width(c, width(longest.max(title.split(' ').map(str::len).max().unwrap_or(0))))?;
        for (r, row) in (1..).zip(&table.rows) {
            let cell = &row[at];
            match (align, cell.parse::<f64>()) {
                (Align::Right, Ok(n)) if n.is_finite() => sheet.write_number_with_format(r, c, n, &number)?,
                _ => sheet.write_string_with_format(r, c, cell, &text)?,
            };
        }
    }
    let rows = u32::try_from(table.rows.len()).unwrap_or(u32::MAX);
    if tick.is_some() {
        for r in 1..=rows {
            sheet.insert_checkbox(r, 0, false)?;
        }
    }
    let last = first + u16::try_from(table.columns.len()).unwrap_or(1) - 1;
    sheet.autofilter(0, 0, rows, last)?;
    sheet.set_freeze_panes(1, first + 1)?;
    sheet.set_repeat_rows(0, 0)?;
    Ok(())
}

/// Column width for so many characters, with room for the filter's button.
fn width(characters: usize) -> f64 {
    characters.min(WIDTH_MAX) as f64 + 3.0
}

fn set_up(sheet: &mut Worksheet, plant: &str, checksum: &str, name: &str, u: In) -> Result<(), XlsxError> {
    // An ampersand is a control sign of headers.
    let plant = plant.replace('&', "&&");
    // 1 is Letter, 9 is A4.
    sheet.set_paper_size(if u.is_us() { 1 } else { 9 });
    sheet.set_landscape().set_print_fit_to_pages(1, 0).set_print_gridlines(true);
    sheet.set_header(format!("&L{plant}&R{name}"));
    sheet.set_footer(format!("&LLock out and test before touch&CPlant file {checksum}&RPage &P of &N"));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::{self, quantity::Units};

    #[test]
    fn one_plan_makes_the_same_bytes_twice() {
        let path = "docs/examples/workshop.toml";
        let l = plant::load(path, &std::fs::read(path).unwrap()).unwrap();
        let plan = heatwright_wiring::plan::plan(&l.job()).unwrap();
        let make = || workbook(&plan, "Sam & sons", "0badcafe", In(Units::Us)).unwrap();
        let bytes = make();
        assert!(bytes.starts_with(b"PK") && bytes.len() > 10_000);
        assert_eq!(bytes, make());
    }
}
