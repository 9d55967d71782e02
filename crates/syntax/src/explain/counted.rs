//! Counts under the microscope whose parts stand in another order, or of which one is missing.

use super::refused::View;
use crate::item::shown;
use crate::{Fix, Problem};

/// What people call the cells that live, and those that do not.
const LIVE: &[&str] = &["alive", "live", "living", "unstained", "viable"];
const DEAD: &[&str] = &["blue", "dead", "stained"];
/// What may stand before the squares or the dilution.
const JOINING: &[&str] = &["at", "dilution", "diluted", "from", "in", "over"];

/// The parts of a count, however they are ordered.
#[derive(Default)]
struct Parts<'t> {
    lot: Option<&'t str>,
    squares: Option<&'t str>,
    live: Option<&'t str>,
    dead: Option<&'t str>,
    dilution: Option<String>,
}

/// `count tide-b 240 live 12 dead in 5 squares at 1:200`
pub(super) fn count_in_order(view: &View<'_, '_>) -> Option<Problem> {
    let parts = Parts::of(view.rest)?;
    let lot = parts.lot.map(|lot| format!("{lot} ")).unwrap_or_default();
    let dilution = parts.dilution.map(|dilution| format!(" {dilution}")).unwrap_or_default();
    let written = |squares: &str, live: &str, dead: &str| {
        format!("{lot}{squares} squares {live} live {dead} dead{dilution}")
    };
    let rest = view.rest_span();
    Some(match (parts.squares, parts.live, parts.dead) {
        (Some(squares), Some(live), Some(dead)) => {
            let meant = written(squares, live, dead);
            view.say(rest, format!("a count is written `count {}`", shown(&meant)))
                .fix(Fix::replace(rest, meant))
        }
        (None, Some(live), dead) => {
            let such = written("5", live, dead.unwrap_or("0"));
            view.say(rest, "over how many squares was this counted?").help(format!("such as `count {such}`"))
        }
        (Some(squares), Some(live), None) => {
            let such = written(squares, live, "0");
            view.say(rest, "how many of the cells were dead?").help(format!(
                "such as `count {such}`; where nothing was stained, a density is of all cells: `count 1.2 B/mL`"
            ))
        }
        _ => return None,
    })
}

impl<'t> Parts<'t> {
    fn of(text: &'t str) -> Option<Self> {
        let mut parts = Self::default();
        let mut number = None;
        for (at, word) in text.split([' ', ',', '\t']).filter(|word| !word.is_empty()).enumerate() {
            let is = |known: &[&str]| known.iter().any(|known| known.eq_ignore_ascii_case(word));
            let is_digits = |word: &str| !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_digit());
            // `231/9`: a dilution is of one part in many.
            if let Some((live, dead)) = word.split_once('/')
                && let (Ok(of_live), Ok(of_dead)) = (live.parse::<u32>(), dead.parse::<u32>())
                && of_live > of_dead
            {
                if parts.live.is_some() || parts.dead.is_some() || number.is_some() {
                    return None;
                }
                (parts.live, parts.dead) = (Some(live), Some(dead));
                continue;
            }
            let slot = if let Some((one, whole)) =
                word.split_once([':', '/']).filter(|(_, whole)| is_digits(whole))
            {
                parts.dilution =
                    Some(format!("{one}:{whole}")).filter(|_| is_digits(one) && parts.dilution.is_none());
                parts.dilution.as_ref()?;
                continue;
            } else if is_digits(word) && number.is_none() {
                number = Some(word);
                continue;
            } else if is(&["square", "squares", "square:", "squares:"]) {
                &mut parts.squares
            } else if is(LIVE) {
                &mut parts.live
            } else if is(DEAD) {
                &mut parts.dead
            } else if is(JOINING) && number.is_none() {
                continue;
            } else if at == 0 && word.starts_with(char::is_alphabetic) {
                parts.lot = Some(word);
                continue;
            } else {
                return None;
            };
            if slot.is_some() {
                return None;
            }
            *slot = Some(number.take()?);
        }
        number.is_none().then_some(parts)
    }
}
