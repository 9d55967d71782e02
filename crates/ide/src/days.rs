//! The days of a block put in order, and what happened on each.

use barm_rules::is_past_midnight;
use barm_syntax::ast::Placed;
use barm_syntax::{Edit, Span, read_clock};
use jiff::civil::Date;

use crate::at::line_end;
use crate::world::File;

/// What puts the days of a block in order, each with its events and with the comments above it, and the events of a day by
/// their times; `None` where they are in order, or where a day shares its line with what stands before it.
pub(crate) fn sorted(file: &File, placed: &Placed) -> Option<Edit> {
    let block = &*placed.block;
    let text = Span::new(placed.start, placed.start + block.len).text(&file.text);
    if block.in_conflict {
        return None;
    }
    // A day without a date stays below the one that it stands below, and so does one without a time of the same date.
    let mut dates: Vec<Option<(Date, u16)>> = Vec::new();
    let mut starts: Vec<usize> = Vec::new();
    for day in &block.days {
        let above = dates.last().copied().flatten();
        dates.push(day.date.map_or(above, |date| {
            let above = above.filter(|(above, _)| *above == date).map_or(0, |(_, minutes)| minutes);
            Some((date, day.time.map_or(above, |time| time.minutes)))
        }));
        starts.push(begins(text, day.span.start as usize)?);
    }
    let first = *starts.first()?;
    let end = ends(text)?;
    let ends = starts.iter().skip(1).copied().chain([end]);
    let groups = starts.iter().zip(ends).map(|(start, end)| text.get(*start..end));
    let mut groups: Vec<(Option<(Date, u16)>, &str)> =
        dates.into_iter().zip(groups.collect::<Option<Vec<_>>>()?).collect();
    groups.sort_by_key(|(date, _)| *date);
    let newline = line_end(&file.text);
    let sorted = joined(groups.into_iter().map(|(_, group)| by_time(group, newline)), newline);
    let sorted = sorted.trim_end();
    let span = first..end;
    (text.get(span.clone())? != sorted)
        .then(|| Edit { span: Span::of(span).shifted(placed.start), text: sorted.to_owned() })
}

/// Pieces of a text, each from a line of its own on.
fn joined(pieces: impl Iterator<Item = String>, newline: &str) -> String {
    pieces.fold(String::new(), |mut all, piece| {
        if !all.is_empty() && !all.ends_with('\n') {
            all.push_str(newline);
        }
        all + &piece
    })
}

/// The lines of a day by the times that they begin with, each with the comments above it. A line without a time stays below
/// the one that it stands below, and what stands in the day's own line stays there.
fn by_time(day: &str, newline: &str) -> String {
    let mut timed: Vec<(u16, String)> = vec![(0, String::new())];
    // Comments, until it is known whose they are.
    let mut above = String::new();
    let mut opened = false;
    for line in day.split_inclusive('\n') {
        let said = line.trim_start();
        let time = read_clock(said);
        let is_comment = said.is_empty() || said.starts_with('#');
        match time.filter(|_| opened) {
            Some((time, _)) => timed.push((time.minutes, std::mem::take(&mut above) + line)),
            None if is_comment && opened => above.push_str(line),
            None => {
                opened |= !is_comment;
                let below = std::mem::take(&mut above) + line;
                timed.last_mut().into_iter().for_each(|(_, lines)| lines.push_str(&below));
            }
        }
    }
    timed.last_mut().into_iter().for_each(|(_, lines)| lines.push_str(&above));
    // What runs past midnight belongs to the next day: it is told so, and stays to be seen.
    let mut times = timed.iter().skip(1).map(|(time, _)| *time);
    if let Some(first) = times.next()
        && times.try_fold(first, |above, time| (!is_past_midnight(above, time)).then_some(time)).is_none()
    {
        return day.to_owned();
    }
    timed.sort_by_key(|(time, _)| *time);
    joined(timed.into_iter().map(|(_, lines)| lines), newline)
}

/// Where the last day ends: comments at the margin below it are of what comes next.
fn ends(text: &str) -> Option<usize> {
    let mut rest = text.trim_end();
    loop {
        let line = rest.rfind('\n').map_or(0, |end| end + 1);
        if !rest.get(line..)?.starts_with('#') {
            return Some(rest.len());
        }
        rest = rest.get(..line)?.trim_end();
    }
}

/// Where what belongs to a day begins: its line, and the comments right above it.
fn begins(text: &str, day: usize) -> Option<usize> {
    let line_of = |at: usize| text.get(..at).map(|before| before.rfind('\n').map_or(0, |end| end + 1));
    let mut start = line_of(day)?;
    if !text.get(start..day)?.trim().is_empty() {
        return None;
    }
    while start > 0 {
        let above = line_of(start - 1)?;
        if !text.get(above..start)?.trim_start().starts_with('#') {
            break;
        }
        start = above;
    }
    Some(start)
}

#[cfg(test)]
mod tests {
    use barm_reckoning::Settings;

    use crate::World;

    fn sorted(days: &str) -> Option<String> {
        let mut world = World::new(Settings::default());
        world.load(vec![("a.barm".into(), format!("brew b\n{days}").into(), None)]);
        let file = world.file("a.barm").unwrap();
        let edit = super::sorted(file, &file.log.blocks[0])?;
        let mut text = file.text.to_string();
        text.replace_range(edit.span.range(), &edit.text);
        Some(text.trim_start_matches("brew b\n").to_owned())
    }

    #[test]
    fn what_happened_on_a_day_is_put_in_the_order_of_its_times() {
        let days = "  on 2026-09-20\n    note first of all\n    14:00 temp 18 °C\n    ph 4.4\n    # before lunch\n    ~11:30 gravity 1.012\n  on \
                    2026-09-12 16:00 temp 19 °C\n    18:00 temp 18 °C\n    8:15 temp 17 °C\n";
        let in_order = "  on 2026-09-12 16:00 temp 19 °C\n    8:15 temp 17 °C\n    18:00 temp 18 °C\n  on 2026-09-20\n    note first of all\n    \
                        # before lunch\n    ~11:30 gravity 1.012\n    14:00 temp 18 °C\n    ph 4.4\n";
        assert_eq!(sorted(days).as_deref(), Some(in_order));
        assert_eq!(sorted(in_order), None, "once is enough");
        let same_day =
            ["  on 2026-09-12 20:00 temp 18 °C\n", "  on 2026-09-12 8:00 temp 17 °C\n    ph 4.4\n"];
        assert_eq!(sorted(&same_day.concat()), Some([same_day[1], same_day[0]].concat()));
        // The end of a long night.
        assert_eq!(sorted("  on 2026-09-12\n    23:10 temp 18 °C\n    0:40 temp 17 °C\n"), None);
        assert_eq!(sorted("  on 2026-09-12\n    8:00 temp 18 °C\n\n    # the last\n"), None);
    }

    #[test]
    fn what_stands_at_the_margin_below_the_last_day_stays_there() {
        let days = "  on 2026-09-20 gravity 1.012\n  # at last\n  on 2026-09-12 temp 18 °C\n";
        let below = "\n# The lager,\n\n# for winter\n";
        let mut world = World::new(Settings::default());
        world.load(vec![("a.barm".into(), format!("brew b\n{days}{below}brew c\n").into(), None)]);
        let file = world.file("a.barm").unwrap();
        let edit = super::sorted(file, &file.log.blocks[0]).unwrap();
        let mut text = file.text.to_string();
        text.replace_range(edit.span.range(), &edit.text);
        let sorted = "  # at last\n  on 2026-09-12 temp 18 °C\n  on 2026-09-20 gravity 1.012\n";
        assert_eq!(text, format!("brew b\n{sorted}{below}brew c\n"));
    }
}
