//! The days of a block put in order.

use barm_syntax::ast::Placed;
use barm_syntax::{Edit, Span};
use jiff::civil::Date;

use crate::at::line_end;
use crate::world::File;

/// What puts the days of a block in order, each with its events and with the comments above it; `None` where they are in
/// order, or where a day shares its line with what stands before it.
pub(crate) fn sorted(file: &File, placed: &Placed) -> Option<Edit> {
    let block = &*placed.block;
    let text = Span::new(placed.start, placed.start + block.len).text(&file.text);
    if block.in_conflict {
        return None;
    }
    // A day without a date stays below the one that it stands below.
    let mut dates: Vec<Option<Date>> = Vec::new();
    let mut starts: Vec<usize> = Vec::new();
    for day in &block.days {
        dates.push(day.date.or_else(|| dates.last().copied().flatten()));
        starts.push(begins(text, day.span.start as usize)?);
    }
    if dates.is_sorted() {
        return None;
    }
    let first = *starts.first()?;
    let end = ends(text)?;
    let ends = starts.iter().skip(1).copied().chain([end]);
    let groups = starts.iter().zip(ends).map(|(start, end)| text.get(*start..end));
    let mut groups: Vec<(Option<Date>, &str)> =
        dates.into_iter().zip(groups.collect::<Option<Vec<_>>>()?).collect();
    groups.sort_by_key(|(date, _)| *date);
    let newline = line_end(&file.text);
    let mut sorted = String::new();
    for (_, group) in groups {
        if !sorted.is_empty() && !sorted.ends_with('\n') {
            sorted.push_str(newline);
        }
        sorted.push_str(group);
    }
    let span = Span::of(first..end).shifted(placed.start);
    Some(Edit { span, text: sorted.trim_end().to_owned() })
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
