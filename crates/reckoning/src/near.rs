//! The name that may have been meant by one that nobody has.

use strsim::osa_distance;

use crate::folded;

/// How many letters may be wrong: one in three, and two at most.
fn most(wanted: usize) -> usize {
    (wanted.max(3) / 3).min(2)
}

/// The nearest of some names (folded) to one that is not among them; of several, the first in the alphabet.
#[must_use]
pub fn nearest<'n>(name: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let wanted = folded(name);
    let length = wanted.chars().count();
    let most = most(length);
    // Of most names their length tells already that they are none.
    let about_as_long = names.into_iter().filter(|name| name.chars().count().abs_diff(length) <= most);
    let near = about_as_long.map(|name| (osa_distance(&wanted, name), name));
    near.filter(|(distance, _)| *distance <= most).min().map(|(_, name)| name)
}

/// Whether two names (folded) differ in one letter.
pub(crate) fn is_a_letter_off(one: &str, other: &str) -> bool {
    osa_distance(one, other) <= 1
}

/// [`nearest`] for a name (folded) and a whole season of names, in order: where thousands of names are not known, thousands
/// are. Those with one letter wrong are looked for first, and few names begin so.
pub(crate) fn of_many<'n>(wanted: &str, sorted: &'n [String]) -> Option<&'n str> {
    let wanted: Vec<char> = wanted.chars().collect();
    (0..=most(wanted.len())).find_map(|most| within(most, &wanted, sorted))
}

/// The first name that is no farther from the wanted one. What begins alike is compared together, and left together once it
/// begins too far off.
fn within<'n>(most: usize, wanted: &[char], sorted: &'n [String]) -> Option<&'n str> {
    // Of each beginning of the name that is looked at: how far it is from each beginning of the wanted one.
    let mut rows: Vec<Vec<usize>> = vec![(0..=wanted.len()).collect()];
    let mut written: Vec<char> = Vec::new();
    let mut rest = sorted;
    while let Some((name, after)) = rest.split_first() {
        rest = after;
        let alike = name.chars().zip(&written).take_while(|(a, b)| a == *b).count();
        written.truncate(alike);
        rows.truncate(alike + 1);
        let mut is_far = false;
        for letter in name.chars().skip(alike) {
            let (before, last) = (written.last().copied(), rows.last()?);
            let mut row = Vec::with_capacity(last.len());
            row.push(written.len() + 1);
            for (i, &want) in wanted.iter().enumerate() {
                let changed = last.get(i)? + usize::from(want != letter);
                let mut distance = changed.min(last.get(i + 1)? + 1).min(row.get(i)? + 1);
                if let (Some(i), Some(swapped)) = (i.checked_sub(1), rows.len().checked_sub(2))
                    && before == Some(want)
                    && wanted.get(i) == Some(&letter)
                {
                    distance = distance.min(rows.get(swapped)?.get(i)? + 1);
                }
                row.push(distance);
            }
            // A swap still to come counts from the row before.
            let least = |row: &[usize]| row.iter().min().copied().unwrap_or(0);
            is_far = least(&row) > most && least(last) >= most;
            rows.push(row);
            written.push(letter);
            if is_far {
                break;
            }
        }
        if is_far {
            let begin: String = written.iter().collect();
            let far = rest.partition_point(|name| name.starts_with(&begin));
            rest = rest.get(far..)?;
        } else if rows.last()?.last()? <= &most {
            return Some(name);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]

        #[test]
        fn many_names_are_compared_as_each_is(
            wanted in "[abé]{0,9}",
            names in prop::collection::btree_set("[abé]{1,9}", 0..40),
        ) {
            let sorted: Vec<String> = names.into_iter().collect();
            prop_assert_eq!(of_many(&wanted, &sorted), nearest(&wanted, sorted.iter().map(String::as_str)));
        }
    }

    #[test]
    fn what_was_meant_is_a_letter_or_two_away() {
        let nearest = |name| nearest(name, ["tide-b", "ebb", "slack-water"]);
        assert_eq!(nearest("tide-d"), Some("tide-b"));
        assert_eq!(nearest("Tdie-b"), Some("tide-b"));
        assert_eq!(nearest("slak-watr"), Some("slack-water"));
        assert_eq!(nearest("abc"), None);
        assert_eq!(nearest("eb"), Some("ebb"));
    }
}
