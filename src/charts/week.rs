//! The course of a run: outdoors, target and supply; boilers as bars, their outlets and the tank; rooms; return water.

use super::{
    ink::{BLACK, COLOURS, Dash, FAINT, Ink, fill},
    panel::{Line, Panel, Shape, cut, sheet},
    returns::Returns,
};
use crate::show::units::In;
use jiff::{SignedDuration, civil::DateTime};

/// What is drawn of a run, in the units that are shown, sample by sample.
#[derive(Clone, Debug)]
pub struct Week {
    /// Title of the sheet.
    pub title: String,
    /// What stands below it.
    pub under: String,
    /// The run's first moment.
    pub start: DateTime,
    /// Days since the start.
    pub at_d: Vec<f64>,
    /// Outdoor temperature.
    pub outdoor: Vec<f64>,
    /// Target of the supply; `None` while nothing is wanted.
    pub target: Vec<Option<f64>>,
    /// Supply temperature.
    pub supply: Vec<f64>,
    /// Each zone's name and air temperature.
    pub zones: Vec<(String, Vec<f64>)>,
    /// Each boiler's name and firing rate, 0 to 1.
    pub boilers: Vec<(String, Vec<f64>)>,
    /// Each boiler's name and outlet temperature.
    pub outlets: Vec<(String, Vec<f64>)>,
    /// Temperature of the hot-water tank, where there is one.
    pub tank: Option<Vec<f64>>,
    /// Return water while they burn.
    pub returns: Returns,
}

/// Share of a boiler's row that full fire fills.
const ROW: f64 = 0.8;

impl Week {
    /// The chart.
    pub fn chart(&self, u: In) -> String {
        let days = self.at_d.last().copied().unwrap_or(1.0).max(1e-6);
        // Short runs are ticked every three hours, long ones at midnights.
        let unit_d = if days <= 2.0 { 0.125 } else { 1.0 };
        let start = self.start;
        let ticks = move |x: &f64| {
            let at = start.checked_add(SignedDuration::from_secs((x * unit_d * 86_400.0).round() as i64));
            let form = |at: &DateTime| match (days <= 2.0, at.hour()) {
                (true, _) => "%a %H:%M",
                (false, 0) => "%a %-d %b",
                // A tick between two midnights is none of the day's.
                (false, _) => "%H:%M",
            };
            at.map_or(String::new(), |at| at.strftime(form(&at)).to_string())
        };
        let xs: Vec<f64> = self.at_d.iter().map(|d| d / unit_d).collect();
        let across = |p: &mut Panel<'_>| {
            p.x = (0.0, days / unit_d);
            p.x_labels = 9;
        };
        let line = |name: &str, ink: Ink, ys: &[f64]| {
            Line::whole(name, ink, xs.iter().copied().zip(ys.iter().copied()).collect())
        };

        let mut water = Panel::new("Outdoors and supply water", 330);
        across(&mut water);
        water.x_ticks = Some(&ticks);
        water.y_name = format!("Temperature, {}", u.temp_unit());
        let [blue, brown, ..] = COLOURS;
        water.lines.push(line("supply", Ink::solid(brown, 1), &self.supply));
        let target = Ink { colour: BLACK, width: 2, dash: Dash::Strokes(9, 4) };
        water.lines.push(Line::gaps("target", target, xs.iter().copied().zip(self.target.iter().copied())));
        water.lines.push(line("outdoors", Ink::solid(blue, 2), &self.outdoor));
        water.fit_y();

        let count = self.boilers.len();
        let mut fire = Panel::new("Firing rate of each boiler", 90 + 44 * count.max(1) as u32);
        across(&mut fire);
        fire.x_ticks = Some(&ticks);
        fire.y = (0.0, count.max(1) as f64);
        // The first boiler stands on top.
        let base = |k: usize| (count - 1 - k) as f64;
        let words = self.boilers.iter().enumerate().map(|(k, b)| (base(k) + ROW / 2.0, cut(&b.0, 22)));
        fire.y_words = Some(words.collect());
        for (k, (_, rates)) in self.boilers.iter().enumerate() {
            // What full fire would fill: the bar is read against it.
            let row = vec![(0.0, base(k)), (fire.x.1, base(k)), (fire.x.1, base(k) + ROW), (0.0, base(k) + ROW)];
            fire.shapes.push(Shape { fill: FAINT, corners: row, outlined: false });
            fire.shapes.extend(burns(&xs, rates, base(k), fill(0, 2)));
        }
        fire.notes.push("Height of a bar: firing".into());
        fire.notes.push("rate; the gray row is 100 %.".into());

        // A thermostat's or a burner's own swing is no news: it would hide how they stand to each other.
        let mean_h = if days <= 2.0 { 0.0 } else { (days / 7.0).max(1.0) };
        let over = if mean_h > 0.0 { format!(", mean of {mean_h:.0} h") } else { String::new() };
        let length = mean_h / 24.0 / unit_d;
        let title = format!("Boiler outlets{over}{}", if self.tank.is_some() { "; hot-water tank" } else { "" });
        let mut hot = Panel::new(title, 290);
        across(&mut hot);
        hot.x_ticks = Some(&ticks);
        hot.y_name = format!("Temperature, {}", u.temp_unit());
        for (k, (name, water)) in self.outlets.iter().enumerate() {
            let (x, y) = means(&xs, water, length);
            hot.lines.push(Line::whole(cut(name, 22), Ink::nth(k), x.into_iter().zip(y).collect()));
        }
        if let Some(tank) = &self.tank {
            hot.lines.push(line("hot-water tank", Ink::solid(BLACK, 2), tank));
        }
        hot.fit_y();

        let mut rooms = Panel::new(format!("Rooms{over}"), 330);
        across(&mut rooms);
        rooms.x_ticks = Some(&ticks);
        rooms.y_name = format!("Air, {}", u.temp_unit());
        for (k, (name, air)) in self.zones.iter().enumerate() {
            let (x, y) = means(&xs, air, length);
            rooms.lines.push(Line::whole(name, Ink::nth(k), x.into_iter().zip(y).collect()));
        }
        rooms.fit_y();
        sheet(&self.title, &self.under, &[water, fire, hot, rooms, self.returns.panel(u)])
    }
}

/// Means over stretches of this length, each at its middle; all points where the length is zero.
fn means(xs: &[f64], ys: &[f64], length: f64) -> (Vec<f64>, Vec<f64>) {
    if length <= 0.0 {
        return (xs.to_vec(), ys.to_vec());
    }
    let (mut mid, mut mean) = (Vec::new(), Vec::new());
    let points: Vec<(f64, f64)> = xs.iter().copied().zip(ys.iter().copied()).collect();
    let mut parts: Vec<&[(f64, f64)]> =
        points.chunk_by(|a, b| (a.0 / length).floor() == (b.0 / length).floor()).collect();
    // A last stretch of which there is but a piece is no mean of that length: it belongs to the one before it.
    if let [first, .., before, last] = parts[..]
        && 2 * last.len() <= first.len()
        && let Some(both) = points.get(points.len() - last.len() - before.len()..)
    {
        parts.truncate(parts.len() - 2);
        parts.push(both);
    }
    for part in parts {
        let n = part.len() as f64;
        mid.push(part.iter().map(|p| p.0).sum::<f64>() / n);
        mean.push(part.iter().map(|p| p.1).sum::<f64>() / n);
    }
    (mid, mean)
}

/// One shape a burn: the firing rate holds from its sample to the next.
fn burns(xs: &[f64], rates: &[f64], base: f64, colour: plotters::style::RGBColor) -> Vec<Shape> {
    let mut out = Vec::new();
    let mut corners: Vec<(f64, f64)> = Vec::new();
    for (k, (x, rate)) in xs.iter().zip(rates).enumerate() {
        let next = xs.get(k + 1).copied().unwrap_or(*x);
        if *rate > 0.0 {
            let top = base + ROW * rate.min(1.0);
            if corners.is_empty() {
                corners.push((*x, base));
            }
            corners.push((*x, top));
            corners.push((next, top));
        }
        let ends = rates.get(k + 1).is_none_or(|r| *r <= 0.0);
        if ends && let Some((x, _)) = corners.last().copied() {
            corners.push((x, base));
            out.push(Shape { fill: colour, corners: std::mem::take(&mut corners), outlined: false });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_stand_in_the_middle() {
        let (x, y) = means(&[0.0, 1.0, 2.0, 3.0, 4.0], &[1.0, 3.0, 5.0, 7.0, 9.0], 2.0);
        assert_eq!((x, y), (vec![0.5, 3.0], vec![2.0, 7.0]), "one sample is no mean");
        let (x, y) = means(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 5.0, 7.0], 2.0);
        assert_eq!((x, y), (vec![0.5, 2.5], vec![2.0, 6.0]));
        assert_eq!(means(&[0.0, 1.0], &[1.0, 3.0], 0.0), (vec![0.0, 1.0], vec![1.0, 3.0]));
    }

    #[test]
    fn a_burn_is_one_shape() {
        let xs = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
        let shapes = burns(&xs, &[0.0, 0.5, 1.0, 0.0, 0.2, 0.2], 2.0, BLACK);
        assert_eq!(shapes.len(), 2);
        assert_eq!(shapes[0].corners, [(1.0, 2.0), (1.0, 2.4), (2.0, 2.4), (2.0, 2.8), (3.0, 2.8), (3.0, 2.0)]);
        assert!(burns(&xs, &[0.0; 6], 0.0, BLACK).is_empty());
    }
}
