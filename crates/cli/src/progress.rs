//! How far the reading of a large workspace has come, on standard error and for a person only.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Fewer logs than this are read before anybody wonders.
const LONG: usize = 1000;

/// A bar; none where there is little to read, or nobody looks.
pub(crate) struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// For so many logs.
    pub(crate) fn over(logs: usize) -> Self {
        // A target that is no terminal draws nothing.
        let target = if logs < LONG { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let bar = ProgressBar::with_draw_target(Some(logs as u64), target);
        if let Ok(style) = ProgressStyle::with_template("{msg:9} {bar:30} {pos} of {len} logs") {
            bar.set_style(style);
        }
        Self { bar }
    }

    /// A step begins that goes through the logs.
    pub(crate) fn step(&self, name: &'static str) {
        self.bar.set_position(0);
        self.bar.set_message(name);
    }

    /// One log more is done.
    pub(crate) fn log(&self) {
        self.bar.inc(1);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
