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

use barm_report::Checked;
use jiff::civil::Date;

pub use html::html;
pub use json::json;
pub use table::csv;

/// A workspace whose season is shown, as far as it was asked about.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The workspace, and what was found in it.
    pub checked: Checked<'a>,
    /// The day of the yeast bank; `None`: that of the last dated event.
    pub on: Option<Date>,
}
