//! Plots as SVG, by plotters.
//!
//! A plot is drawn once, in the inks of the light page; the page's style sheet gives each ink another colour in the dark,
//! by the attributes that plotters writes. Plotters knows whole units only, so a plot is drawn [`FINE`] times as large
//! as it is shown.

use std::io;

use plotters::prelude::*;
use plotters::style::RGBColor;

/// Units of the drawing for one of the page.
const FINE: u32 = 3;
/// Height of a letter, in units of the page. Plotters' SVG writes it divided by 1.24.
const LETTER: u32 = 14;

/// The inks. The style sheet names the same colours.
pub(crate) const TEXT: RGBColor = RGBColor(0x45, 0x45, 0x42);
pub(crate) const RULE: RGBColor = RGBColor(0xE3, 0xE1, 0xDA);
pub(crate) const AXIS: RGBColor = RGBColor(0x8C, 0x8A, 0x83);
pub(crate) const BAND: RGBColor = RGBColor(0xD5, 0xE2, 0xD2);
pub(crate) const FAINT: RGBColor = RGBColor(0x9F, 0xB7, 0xA0);
pub(crate) const LINE: RGBColor = RGBColor(0x2B, 0x4C, 0x6F);
pub(crate) const OUT: RGBColor = RGBColor(0xB0, 0x3A, 0x2E);
pub(crate) const MARK: RGBColor = RGBColor(0x7A, 0x55, 0x1E);

/// One direction of a plot.
pub(crate) struct Axis<'a> {
    /// From where to where.
    pub from: f64,
    pub to: f64,
    /// About so many marks.
    pub marks: usize,
    /// What stands at a mark, its unit with it.
    pub label: &'a dyn Fn(f64) -> String,
}

impl Axis<'_> {
    /// What plotters can divide: finite, and wider than nothing.
    fn range(&self) -> std::ops::Range<f64> {
        let (from, to) = (self.from, self.to);
        if from.is_finite() && to.is_finite() && to - from > 1e-9 { from..to } else { 0.0..1.0 }
    }
}

/// The least and the greatest of some numbers.
pub(crate) fn extremes(numbers: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    let finite = numbers.into_iter().filter(|number| number.is_finite());
    finite.fold(None, |ends, number| {
        Some(ends.map_or((number, number), |(low, high): (f64, f64)| (low.min(number), high.max(number))))
    })
}

/// The same with a little room, for an axis.
pub(crate) fn ends(numbers: impl IntoIterator<Item = f64>, least_room: f64) -> (f64, f64) {
    let (low, high) = extremes(numbers).unwrap_or((0.0, 1.0));
    let room = ((high - low) * 0.06).max(least_room);
    (low - room, high + room)
}

/// What stands in a plot, in the order in which it is drawn.
pub(crate) enum Mark {
    /// Joined by straight lines.
    Line { ink: RGBColor, width: u32, points: Vec<(f64, f64)> },
    /// The area between two lines: x, lower, upper.
    Band { points: Vec<(f64, f64, f64)> },
    /// Dots.
    Dots { ink: RGBColor, size: u32, points: Vec<(f64, f64)> },
    /// Squares, for what is to be told from dots.
    Squares { ink: RGBColor, size: u32, points: Vec<(f64, f64)> },
}

pub(crate) struct Plot<'a> {
    /// Width and height on the page, in its pixels.
    pub size: (u32, u32),
    pub x: Axis<'a>,
    pub y: Axis<'a>,
    /// Room left of the plot for the labels of `y`; 0: a small curve in a row, without axes.
    pub gutter: u32,
    pub marks: Vec<Mark>,
}

impl Plot<'_> {
    /// The `svg` element.
    pub(crate) fn svg(&self) -> io::Result<String> {
        let mut out = String::new();
        self.draw(&mut out).map_err(|error| io::Error::other(error.to_string()))?;
        Ok(slim(&out, (self.size.0 * FINE, self.size.1 * FINE)))
    }

    fn draw(&self, out: &mut String) -> Result<(), DrawingAreaErrorKind<io::Error>> {
        let (width, height) = (self.size.0 * FINE, self.size.1 * FINE);
        let root = SVGBackend::with_string(out, (width, height)).into_drawing_area();
        let axes = self.gutter > 0;
        let mut builder = ChartBuilder::on(&root);
        builder.margin(if axes { 8 * FINE } else { 2 * FINE });
        if axes {
            // Half a label stands beyond the last mark.
            builder.margin_right(20 * FINE);
            builder.x_label_area_size(20 * FINE).y_label_area_size(self.gutter * FINE);
        }
        let mut chart = builder.build_cartesian_2d(self.x.range(), self.y.range())?;
        for mark in self.marks.iter().filter(|mark| matches!(mark, Mark::Band { .. })) {
            chart.draw_series(mark.area())?;
        }
        if axes {
            chart
                .configure_mesh()
                .light_line_style(TRANSPARENT)
                .bold_line_style(RULE.stroke_width(FINE))
                .axis_style(AXIS.stroke_width(FINE))
                .label_style(("sans-serif", LETTER * FINE).with_color(TEXT))
                .set_all_tick_mark_size(4 * FINE)
                .x_labels(self.x.marks)
                .y_labels(self.y.marks)
                .x_label_formatter(&|x| (self.x.label)(*x))
                .y_label_formatter(&|y| (self.y.label)(*y))
                .draw()?;
        }
        for mark in &self.marks {
            match mark {
                Mark::Band { .. } => {}
                Mark::Line { ink, width, points } => {
                    let style = ink.stroke_width(width * FINE / 2);
                    chart.draw_series([PathElement::new(points.clone(), style)])?;
                }
                Mark::Dots { ink, size, points } => {
                    let dot = |at: &(f64, f64)| Circle::new(*at, size * FINE / 2, ink.filled());
                    chart.draw_series(points.iter().map(dot))?;
                }
                Mark::Squares { ink, size, points } => {
                    let half = i32::try_from(size * FINE / 2).unwrap_or(1);
                    let square = |at: &(f64, f64)| {
                        EmptyElement::at(*at) + Rectangle::new([(-half, -half), (half, half)], ink.filled())
                    };
                    chart.draw_series(points.iter().map(square))?;
                }
            }
        }
        root.present()
    }
}

impl Mark {
    fn area(&self) -> Option<Polygon<(f64, f64)>> {
        let Self::Band { points } = self else { return None };
        let upper = points.iter().map(|&(x, _, high)| (x, high));
        let lower = points.iter().rev().map(|&(x, low, _)| (x, low));
        Some(Polygon::new(upper.chain(lower).collect::<Vec<_>>(), BAND.filled()))
    }
}

/// Of the picture what an HTML page needs: it says itself how large it is shown, and what holds for all text once.
fn slim(svg: &str, (width, height): (u32, u32)) -> String {
    let inner = svg.split_once('>').map_or("", |(_, inner)| inner);
    let inner =
        inner.replace(" opacity=\"1\"", "").replace(" font-family=\"sans-serif\"", "").replace(" \"", "\"");
    let inner = inner.replace('\n', "");
    format!("<svg viewBox=\"0 0 {width} {height}\" aria-hidden=\"true\" focusable=\"false\">{inner}")
}

/// At most so many points of a curve: of each stretch of it the lowest and the highest stay.
pub(crate) fn thinned(points: &[(f64, f64)], most: usize) -> Vec<(f64, f64)> {
    if points.len() <= most {
        return points.to_vec();
    }
    let each = points.len().div_ceil((most / 2).max(1));
    let mut out = Vec::with_capacity(most + 2);
    for stretch in points.chunks(each) {
        let by_height = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
        let lowest = stretch.iter().min_by(by_height).copied();
        let highest = stretch.iter().max_by(by_height).copied();
        let mut kept: Vec<(f64, f64)> = lowest.into_iter().chain(highest).collect();
        kept.sort_by(|a, b| a.0.total_cmp(&b.0));
        kept.dedup();
        out.extend(kept);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(from: f64, to: f64, label: &str, points: Vec<(f64, f64)>) -> String {
        let label = |_: f64| label.to_owned();
        let axis = |from, to| Axis { from, to, marks: 5, label: &label };
        let marks = vec![Mark::Line { ink: LINE, width: 4, points }];
        Plot { size: (400, 190), x: axis(from, to), y: axis(from, to), gutter: 40, marks }.svg().unwrap()
    }

    #[test]
    fn a_label_is_escaped() {
        let svg = drawn(0.0, 10.0, "<b>&\"", vec![(1.0, 1.0), (2.0, 2.0)]);
        assert!(svg.contains("&lt;b&gt;&amp;&quot;") && !svg.contains("<b>"), "{svg}");
        assert!(svg.starts_with("<svg viewBox=\"0 0 1200 570\"") && svg.ends_with("</svg>"), "{svg}");
    }

    #[test]
    fn ends_that_are_no_range_draw_an_empty_plot() {
        for (from, to) in [(f64::NAN, 1.0), (0.0, f64::INFINITY), (5.0, 5.0), (3.0, 1.0), (1e15, 1e15)] {
            assert!(drawn(from, to, "x", vec![]).contains("</svg>"), "{from} {to}");
        }
    }

    #[test]
    fn a_thin_curve_keeps_its_peaks() {
        let points: Vec<(f64, f64)> =
            (0..10_000).map(|i| (f64::from(i), if i == 4321 { 99.0 } else { f64::from(i % 7) })).collect();
        let thin = thinned(&points, 240);
        assert!(thin.len() <= 242, "{}", thin.len());
        assert!(thin.contains(&(4321.0, 99.0)));
        assert!(thin.is_sorted_by(|a, b| a.0 <= b.0));
        assert_eq!(thinned(&points[..50], 240), points[..50]);
    }

    #[test]
    fn every_ink_has_its_colour_in_the_dark() {
        let sheet = include_str!("../templates/style.css");
        for ink in [TEXT, RULE, AXIS, BAND, FAINT, LINE, OUT, MARK] {
            let RGBColor(r, g, b) = ink;
            let hex = format!("#{r:02X}{g:02X}{b:02X}");
            assert!(sheet.contains(&format!("=\"{hex}\"] {{")), "{hex} is re-inked");
            assert!(sheet.contains(&hex.to_lowercase()), "{hex} is the light page's");
        }
    }
}
