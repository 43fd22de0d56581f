//! Hours of each boiler under each rotation policy, side by side.

use super::{
    ink::fill,
    panel::{Panel, Shape, sheet},
};

/// One policy.
#[derive(Clone, Debug)]
pub struct Row {
    /// What it is called.
    pub name: String,
    /// Hours with flame of each boiler.
    pub hours: Vec<f64>,
    /// True for the one that is recommended.
    pub taken: bool,
}

/// The chart.
pub fn chart(plant: &str, under: &str, boilers: &[String], rows: &[Row]) -> String {
    let count = boilers.len().max(1);
    let mut p = Panel::new("Hours with flame", 90 + rows.len() as u32 * (16 + 13 * count as u32));
    p.x_name = "Hours, h".into();
    let most = rows.iter().flat_map(|r| &r.hours).copied().fold(0.0, f64::max);
    // Room at the end of the longest bar for its figure.
    p.x = (0.0, if most > 0.0 { most * 1.14 } else { 1.0 });
    p.y = (0.0, rows.len().max(1) as f64);
    let mut words = Vec::new();
    for (k, row) in rows.iter().enumerate() {
        let top = (rows.len() - k) as f64 - 0.08;
        let each = 0.84 / count as f64;
        for (b, h) in row.hours.iter().enumerate() {
            let (y1, y0) = (top - b as f64 * each, top - (b as f64 + 0.9) * each);
            p.shapes.push(Shape::block(fill(b, count), (0.0, y0), (*h, y1)));
            p.words.push(((*h, (y0 + y1) / 2.0), format!("{h:.0}")));
        }
        let name = if row.taken { format!("► {}", row.name) } else { row.name.clone() };
        words.push((top - 0.42, name));
    }
    p.y_words = Some(words);
    p.fills = boilers.iter().enumerate().map(|(b, name)| (fill(b, count), name.clone())).collect();
    p.notes.push("► recommended".into());
    sheet(&format!("Boiler rotation of {plant}"), under, &[p])
}
