//! Readings thinned to what a straight line between them does not tell.

use crate::Moment;

/// More readings than this are thinned more coarsely, so that no file can fill the memory.
const MOST: usize = 1 << 17;

/// Averages over stretches of time, of which only those are kept that a straight line between their neighbours would
/// miss.
#[derive(Debug)]
pub(super) struct Thinned {
    /// A stretch to average over, in minutes.
    stretch: i32,
    open: Option<Stretch>,
    line: Line,
}

#[derive(Debug, Clone, Copy)]
struct Stretch {
    number: i32,
    begins: Moment,
    hours: f64,
    sum: f64,
    count: f64,
}

impl Thinned {
    /// Averages over `stretch` minutes, then straight lines that miss none of them by more than `tolerance`.
    pub(super) const fn new(stretch: i32, tolerance: f64) -> Self {
        Self { stretch, open: None, line: Line::new(tolerance) }
    }

    /// The next reading; times never fall.
    pub(super) fn push(&mut self, at: Moment, value: f64) {
        let number = at.minute_number().div_euclid(self.stretch);
        match &mut self.open {
            Some(open) if open.number == number => {
                open.hours += at.hours_since(open.begins);
                open.sum += value;
                open.count += 1.0;
            }
            _ => {
                self.close();
                self.open = Some(Stretch { number, begins: at, hours: 0.0, sum: value, count: 1.0 });
            }
        }
    }

    fn close(&mut self) {
        if let Some(Stretch { begins, hours, sum, count, .. }) = self.open.take() {
            self.line.push(begins.plus_hours(hours / count), sum / count);
        }
    }

    /// What is kept.
    pub(super) fn finish(mut self) -> Vec<(Moment, f64)> {
        self.close();
        self.line.finish()
    }
}

/// Keeps the ends of straight lines that pass every reading between them within a tolerance.
#[derive(Debug)]
struct Line {
    tolerance: f64,
    /// No line is longer than this, in hours.
    longest: f64,
    kept: Vec<(Moment, f64)>,
    /// The end of the line that begins at the last one kept.
    end: Option<(Moment, f64)>,
    /// Between these slopes it passes all readings since.
    slopes: (f64, f64),
}

impl Line {
    const fn new(tolerance: f64) -> Self {
        Self { tolerance, longest: 1.0, kept: Vec::new(), end: None, slopes: (0.0, 0.0) }
    }

    fn push(&mut self, at: Moment, value: f64) {
        let Some(&begin) = self.kept.last() else {
            self.kept.push((at, value));
            return;
        };
        let Some(end) = self.end else {
            self.slopes = self.passing(begin, (at, value));
            self.end = Some((at, value));
            return;
        };
        let hours = at.hours_since(begin.0);
        let slope = (value - begin.1) / hours;
        let (least, most) = self.slopes;
        if hours <= self.longest && least <= slope && slope <= most {
            let (low, high) = self.passing(begin, (at, value));
            self.slopes = (least.max(low), most.min(high));
        } else {
            self.kept.push(end);
            self.slopes = self.passing(end, (at, value));
        }
        self.end = Some((at, value));
        if self.kept.len() > MOST {
            self.coarsen();
        }
    }

    /// The slopes from a point that pass another within the tolerance.
    fn passing(&self, (from, begin): (Moment, f64), (at, value): (Moment, f64)) -> (f64, f64) {
        let hours = at.hours_since(from).max(1.0 / 60.0);
        ((value - self.tolerance - begin) / hours, (value + self.tolerance - begin) / hours)
    }

    /// Thins what is kept once more, twice as coarsely.
    fn coarsen(&mut self) {
        let mut coarser = Self::new(2.0 * self.tolerance);
        coarser.longest = 2.0 * self.longest;
        for (at, value) in self.kept.drain(..) {
            coarser.push(at, value);
        }
        if let Some((at, value)) = self.end {
            coarser.push(at, value);
        }
        *self = coarser;
    }

    fn finish(mut self) -> Vec<(Moment, f64)> {
        self.kept.extend(self.end);
        self.kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn at(minute: i32) -> Moment {
        Moment::new(date(2026, 9, 1), 0).plus_hours(f64::from(minute) / 60.0)
    }

    /// A fermentation with a controller that swings, read every minute for a month.
    fn temperature(minute: i32) -> f64 {
        let hours = f64::from(minute) / 60.0;
        18.0 + 2.0 * (-((hours - 60.0) / 24.0).powi(2)).exp() + 0.3 * (hours * 3.1).sin()
    }

    #[test]
    fn a_straight_line_between_what_is_kept_misses_nothing_by_more_than_a_tenth() {
        let mut thinned = Thinned::new(1, 0.1);
        let minutes = 30 * 24 * 60;
        for minute in 0..minutes {
            thinned.push(at(minute), temperature(minute));
        }
        let kept = thinned.finish();
        assert!(kept.len() < 5_000, "{}", kept.len());
        assert_eq!((kept[0].0, kept[kept.len() - 1].0), (at(0), at(minutes - 1)));
        for pair in kept.windows(2) {
            let ((from, a), (to, b)) = (pair[0], pair[1]);
            let length = to.hours_since(from);
            assert!(length > 0.0 && length <= 1.0 + 1e-9, "{length}");
            let first = (from.hours_since(at(0)) * 60.0).round() as i32;
            for minute in first..=first + (length * 60.0).round() as i32 {
                let part = at(minute).hours_since(from) / length;
                let missed = (a + (b - a) * part - temperature(minute)).abs();
                assert!(missed <= 0.1 + 1e-9, "{missed} at minute {minute}");
            }
        }
    }

    #[test]
    fn noise_is_thinned_until_it_fits() {
        let mut thinned = Thinned::new(1, 0.1);
        for minute in 0..400_000 {
            thinned.push(at(minute), if minute % 2 == 0 { 10.0 } else { 30.0 });
        }
        assert!(thinned.finish().len() <= MOST + 1);
    }

    #[test]
    fn readings_of_one_stretch_are_averaged_at_their_middle() {
        let mut thinned = Thinned::new(720, 0.0);
        for (minute, value) in [(0, 1.050), (360, 1.048), (718, 1.046), (720, 1.040), (1500, 1.030)] {
            thinned.push(at(minute), value);
        }
        let kept = thinned.finish();
        assert_eq!(kept.len(), 3);
        assert!((kept[0].1 - 1.048).abs() < 1e-9);
        assert_eq!(kept[0].0, at(359));
    }
}
