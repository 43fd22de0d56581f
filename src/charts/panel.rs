//! A panel: one pair of axes, what is drawn between them, and a legend to the right of it.
//!
//! Several panels stand below each other on one sheet. What a library is for (ticks, scales, SVG) is the library's; here is where
//! things stand, so that no text lies on a line or on another text.

use super::ink::{BLACK, Dash, FAINT, Ink, PAGE};
use plotters::{
    coord::Shift,
    prelude::*,
    style::text_anchor::{HPos, Pos, VPos},
};

/// Width of a sheet, in pixels.
pub const WIDTH: u32 = 1000;
/// Width of the legend's column, in pixels.
const LEGEND: u32 = 210;
/// Height of the sheet's title, in pixels.
const TITLE: u32 = 54;
/// Height of a line of the legend, in pixels.
const LEGEND_LINE: i32 = 19;
/// Where the legend's first line stands, in pixels from the top of its panel.
const LEGEND_TOP: i32 = 40;
/// Size of labels, in the library's pixels (a quarter larger than they come out).
const LABEL: u32 = 16;
const FAMILY: &str = "sans-serif";

/// A shape that is less tall than this, in pixels, has a pale line round it: black ones would meet and hide a light fill.
const THIN: i32 = 6;
const PALE: RGBColor = RGBColor(168, 158, 128);

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// A line of figures.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name in the legend; empty for none.
    pub name: String,
    /// How it is drawn.
    pub ink: Ink,
    /// Its runs of points: a gap parts two runs.
    pub runs: Vec<Vec<(f64, f64)>>,
}

impl Line {
    /// A line without gaps.
    pub fn whole(name: impl Into<String>, ink: Ink, points: Vec<(f64, f64)>) -> Self {
        Self { name: name.into(), ink, runs: vec![points] }
    }
    /// A line with a gap wherever a value is missing.
    pub fn gaps(name: impl Into<String>, ink: Ink, points: impl Iterator<Item = (f64, Option<f64>)>) -> Self {
        let mut runs = vec![Vec::new()];
        for (x, y) in points {
            match (y, runs.last_mut()) {
                (Some(y), Some(run)) => run.push((x, y)),
                (None, Some(run)) if !run.is_empty() => runs.push(Vec::new()),
                _ => {}
            }
        }
        Self { name: name.into(), ink, runs }
    }
}

/// A filled shape.
#[derive(Clone, Debug)]
pub struct Shape {
    /// Its fill.
    pub fill: RGBColor,
    /// Its corners.
    pub corners: Vec<(f64, f64)>,
    /// True for a black line round it: fills that touch are told apart by it.
    pub outlined: bool,
}

impl Shape {
    /// A box between two corners.
    pub fn block(fill: RGBColor, (x0, y0): (f64, f64), (x1, y1): (f64, f64)) -> Self {
        Self { fill, corners: vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)], outlined: true }
    }
}

/// How the ticks of an axis are labelled.
pub type Ticks<'a> = &'a dyn Fn(&f64) -> String;

/// One panel.
pub struct Panel<'a> {
    /// Its share of the sheet's height, in pixels.
    pub height: u32,
    /// What it shows.
    pub title: String,
    /// Name and unit of the axis across; empty for none.
    pub x_name: String,
    /// Name and unit of the axis upwards.
    pub y_name: String,
    /// Ends of the axis across.
    pub x: (f64, f64),
    /// Ends of the axis upwards.
    pub y: (f64, f64),
    /// About how many labels stand across.
    pub x_labels: usize,
    /// Labels across; `None` for plain numbers.
    pub x_ticks: Option<Ticks<'a>>,
    /// Names in place of numbers upwards, each at its height.
    pub y_words: Option<Vec<(f64, String)>>,
    /// Filled shapes, drawn first.
    pub shapes: Vec<Shape>,
    /// Lines.
    pub lines: Vec<Line>,
    /// Words at a place of the panel, to the right of it.
    pub words: Vec<((f64, f64), String)>,
    /// Entries of the legend for fills.
    pub fills: Vec<(RGBColor, String)>,
    /// Further lines of the legend.
    pub notes: Vec<String>,
}

impl Panel<'_> {
    /// An empty panel.
    pub fn new(title: impl Into<String>, height: u32) -> Self {
        Self {
            height,
            title: title.into(),
            x_name: String::new(),
            y_name: String::new(),
            x: (0.0, 1.0),
            y: (0.0, 1.0),
            x_labels: 10,
            x_ticks: None,
            y_words: None,
            shapes: Vec::new(),
            lines: Vec::new(),
            words: Vec::new(),
            fills: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Its height: what was asked for, or what its legend takes.
    fn tall(&self) -> u32 {
        let named = self.lines.iter().filter(|l| !l.name.is_empty()).count();
        let lines = (named + self.fills.len() + self.notes.len()) as u32;
        self.height.max(LEGEND_TOP as u32 + lines * LEGEND_LINE as u32)
    }

    /// Width of what stands left of its axis, in pixels: names are about seven pixels a letter.
    fn names_width(&self) -> u32 {
        let longest = self.y_words.iter().flatten().map(|w| w.1.chars().count()).max().unwrap_or(0) as u32;
        (longest * 7 + 16).clamp(66, 200)
    }

    /// Sets the axis upwards so that all lines fit, with a little room.
    pub fn fit_y(&mut self) {
        let all = || self.lines.iter().flat_map(|l| l.runs.iter().flatten()).map(|p| p.1);
        let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
        if low.is_finite() && high.is_finite() {
            let room = ((high - low) * 0.06).max(0.5);
            self.y = (low - room, high + room);
        }
    }
}

/// Nothing a chart is made of can fail but writing into a text, which does not.
type Drawn = Result<(), DrawingAreaErrorKind<std::io::Error>>;

/// A sheet of panels below each other, as the text of an SVG file.
pub fn sheet(title: &str, under: &str, panels: &[Panel<'_>]) -> String {
    let mut text = String::new();
    let height = TITLE + panels.iter().map(Panel::tall).sum::<u32>();
    {
        let root = SVGBackend::with_string(&mut text, (WIDTH, height)).into_drawing_area();
        // A text takes all that is written to it; a chart that could not be drawn would be an empty file, which a test would see.
        let _ = draw(&root, title, under, panels);
        let _ = root.present();
    }
    // What a screen reader says.
    let said = format!("<title>{}</title>\n", escape(&format!("{title}: {under}")));
    match text.find("<svg").and_then(|at| Some(at + text.get(at..)?.find('>')? + 2)) {
        Some(at) if text.is_char_boundary(at) => text.insert_str(at, &said),
        _ => {}
    }
    text
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

fn font(size: u32) -> TextStyle<'static> {
    TextStyle::from((FAMILY, size).into_font()).color(&BLACK)
}

fn draw(root: &Area<'_>, title: &str, under: &str, panels: &[Panel<'_>]) -> Drawn {
    root.fill(&PAGE)?;
    let bold = TextStyle::from((FAMILY, 24, FontStyle::Bold).into_font()).color(&BLACK);
    root.draw(&Text::new(title.to_owned(), (16, 10), bold))?;
    root.draw(&Text::new(under.to_owned(), (16, 34), font(LABEL)))?;
    // All panels of a sheet begin at the same line, however long the names on one of them are.
    let names = panels.iter().map(Panel::names_width).max().unwrap_or(0);
    let mut at = TITLE as i32;
    for p in panels {
        let strip = root.margin(0, 0, 0, 0).shrink((0, at), (WIDTH, p.tall()));
        panel(&strip, p, names)?;
        at += p.tall() as i32;
    }
    Ok(())
}

fn panel(strip: &Area<'_>, p: &Panel<'_>, names: u32) -> Drawn {
    let (left, right) = strip.split_horizontally(WIDTH - LEGEND);
    let head = TextStyle::from((FAMILY, 18, FontStyle::Bold).into_font()).color(&BLACK);
    left.draw(&Text::new(p.title.clone(), (16, 8), head))?;
    let mut chart = ChartBuilder::on(&left)
        .margin_top(32)
        // Half of a date below the last tick stands right of the axis.
        .margin_right(44)
        .margin_left(6)
        .margin_bottom(4)
        .x_label_area_size(if p.x_name.is_empty() { 26 } else { 44 })
        .y_label_area_size(names)
        .build_cartesian_2d(p.x.0..p.x.1, p.y.0..p.y.1)?;
    {
        let plain_x = |v: &f64| plain(*v);
        let plain_y = |v: &f64| plain(*v);
        let none = |_: &f64| String::new();
        let mut mesh = chart.configure_mesh();
        mesh.axis_style(BLACK)
            .bold_line_style(FAINT)
            .light_line_style(TRANSPARENT)
            .label_style(font(LABEL))
            .axis_desc_style(font(LABEL))
            .x_labels(p.x_labels)
            .x_label_formatter(match p.x_ticks {
                Some(f) => f,
                None => &plain_x,
            });
        if !p.x_name.is_empty() {
            mesh.x_desc(p.x_name.clone());
        }
        if p.y_words.is_some() {
            mesh.y_labels(0).y_label_formatter(&none).disable_y_mesh();
        } else {
            mesh.y_labels(8).y_label_formatter(&plain_y).y_desc(p.y_name.clone());
        }
        mesh.draw()?;
    }
    for s in &p.shapes {
        let filled = ShapeStyle { color: s.fill.into(), filled: true, stroke_width: 0 };
        chart.draw_series(std::iter::once(Polygon::new(s.corners.clone(), filled)))?;
        if !s.outlined {
            continue;
        }
        let mut round = s.corners.clone();
        round.extend(s.corners.first().copied());
        let heights: Vec<i32> = s.corners.iter().map(|c| chart.backend_coord(c).1).collect();
        let tall = heights.iter().max().zip(heights.iter().min()).map_or(0, |(low, high)| low - high);
        let line = if tall < THIN { PALE } else { BLACK };
        chart.draw_series(std::iter::once(PathElement::new(round, Ink::solid(line, 1).style())))?;
    }
    for l in &p.lines {
        for run in l.runs.iter().filter(|r| !r.is_empty()) {
            match l.ink.dash {
                Dash::Solid => {
                    chart.draw_series(LineSeries::new(run.clone(), l.ink.style()))?;
                }
                Dash::Strokes(on, off) => {
                    chart.draw_series(DashedLineSeries::new(run.clone(), on, off, l.ink.style()))?;
                }
            }
        }
    }
    for (at, text) in &p.words {
        let (x, y) = chart.backend_coord(at);
        let base = left.get_base_pixel();
        let style = font(LABEL).pos(Pos::new(HPos::Left, VPos::Center));
        left.draw(&Text::new(text.clone(), (x - base.0 + 5, y - base.1), style))?;
    }
    for (at, word) in p.y_words.iter().flatten() {
        let (x, y) = chart.backend_coord(&(p.x.0, *at));
        let base = left.get_base_pixel();
        let style = font(LABEL).pos(Pos::new(HPos::Right, VPos::Center));
        left.draw(&Text::new(word.clone(), (x - base.0 - 8, y - base.1), style))?;
    }
    legend(&right, p)
}

fn legend(right: &Area<'_>, p: &Panel<'_>) -> Drawn {
    let mut y = LEGEND_TOP;
    let style = || font(LABEL).pos(Pos::new(HPos::Left, VPos::Center));
    for l in p.lines.iter().filter(|l| !l.name.is_empty()) {
        let ends = [(8, y), (44, y)];
        match l.ink.dash {
            Dash::Solid => right.draw(&PathElement::new(ends.to_vec(), l.ink.style()))?,
            Dash::Strokes(on, off) => {
                let step = (on + off) as usize;
                for x in (8..44).step_by(step) {
                    let stroke = vec![(x, y), ((x + on as i32).min(44), y)];
                    right.draw(&PathElement::new(stroke, l.ink.style()))?;
                }
            }
        }
        right.draw(&Text::new(short(&l.name), (52, y), style()))?;
        y += LEGEND_LINE;
    }
    for (fill, name) in &p.fills {
        let corners = [(12, y - 6), (40, y + 6)];
        right.draw(&Rectangle::new(corners, fill.filled()))?;
        right.draw(&Rectangle::new(corners, Ink::solid(BLACK, 1).style()))?;
        right.draw(&Text::new(short(name), (52, y), style()))?;
        y += LEGEND_LINE;
    }
    for note in &p.notes {
        right.draw(&Text::new(note.clone(), (8, y), style()))?;
        y += LEGEND_LINE;
    }
    Ok(())
}

/// A name that fits the legend's column.
pub fn short(name: &str) -> String {
    cut(name, 21)
}

/// A text of at most so many characters; an ellipsis says that some are gone.
pub fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut out: String = text.chars().take(most.saturating_sub(1)).collect();
    out.push('…');
    out
}

/// A tick's number without needless decimals and never `-0`.
fn plain(v: f64) -> String {
    let text = crate::show::units::tidy(v, 2);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_holds_what_it_is_given_and_is_the_same_twice() {
        let mut p = Panel::new("Panel <one>", 200);
        p.y_name = "Height, ft".into();
        p.lines.push(Line::gaps("a & b", Ink::nth(1), [(0.0, Some(1.0)), (0.5, None), (1.0, Some(2.0))].into_iter()));
        p.fit_y();
        assert_eq!(p.lines[0].runs.len(), 2);
        let text = sheet("Title", "under it", &[p]);
        for s in ["<title>Title: under it</title>", "Panel &lt;one&gt;", "a &amp; b", "Height, ft"] {
            assert!(text.contains(s), "{s}: {text}");
        }
        assert!(text.trim_end().ends_with("</svg>"));
    }

    #[test]
    fn a_panel_is_as_tall_as_its_legend_and_all_begin_at_the_same_line() {
        let mut many = Panel::new("many", 100);
        for k in 0..16 {
            many.lines.push(Line::whole(format!("zone {k}"), Ink::nth(k), vec![(0.0, 0.0), (1.0, 1.0)]));
        }
        many.notes.push("the note".into());
        assert_eq!(many.tall(), 40 + 17 * 19);
        let few = Panel { y_words: Some(vec![(0.5, "Boiler 1".into())]), ..Panel::new("few", 100) };
        assert_eq!((few.tall(), few.names_width()), (100, 72));
        let text = sheet("Title", "under", &[many, few]);
        // The left ends of both axes: the library draws each panel's frame from the same place.
        assert!(text.contains(&format!("height=\"{}\"", 54 + 40 + 17 * 19 + 100)), "{text}");
    }

    #[test]
    fn ticks_are_plain() {
        assert_eq!([plain(-0.0), plain(10.0), plain(2.5), plain(100.0)], ["0", "10", "2.5", "100"]);
        assert_eq!(cut("Children's wing", 8), "Childre…");
    }
}
