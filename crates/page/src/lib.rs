//! A season on one page: one HTML file with its plots, and the same figures as JSON and CSV.
//!
//! Every figure comes from the reckoning and is printed as `barm figures` prints it; a plot draws those figures and the
//! readings between them. Whatever comes from a log is made visible and escaped. The page asks for nothing outside itself
//! and holds no script. The same logs give the same bytes.

mod draw;
mod family;
mod glance;
mod html;
mod json;
mod plot;
mod table;

#[cfg(test)]
mod tests;

use std::fmt;

use barm_reckoning::Place;
use barm_report::Checked;
use jiff::civil::Date;

pub use html::html;
pub use json::json;
pub use table::csv;

/// A workspace whose season is shown.
#[derive(Clone, Copy)]
pub struct Part<'a> {
    /// The workspace, and what was found in it.
    pub checked: Checked<'a>,
    /// Whether a place was asked about.
    pub asks: &'a dyn Fn(Place) -> bool,
    /// The day of the yeast bank; `None`: that of the last dated event.
    pub on: Option<Date>,
}

impl fmt::Debug for Part<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Part").field("on", &self.on).finish_non_exhaustive()
    }
}
