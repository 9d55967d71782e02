use barm_reckoning::{Batch, Blend, Figure, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "blend-share";

rule! {
    /// The strains of a blend and their shares of the live cells. A figure, which `check` does not show.
    BlendShare, "blend-share", Figure, "blend_share.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        match batch.blend.as_ref().filter(|blend| blend.parts.len() > 1) {
            Some(blend) => report.found(told(batch, blend)),
            None => report.silent(NAME, &batch.name, "its yeast is of one strain, or of none that is known"),
        }
    }
}

fn told(batch: &Batch, blend: &Blend) -> Finding {
    let names: Vec<&str> = blend.parts.iter().map(|part| &*part.name).collect();
    let shares: Option<Vec<String>> = blend
        .parts
        .iter()
        .map(|part| {
            let share = part.share.as_ref()?;
            let percent = |share: f64| barm_quantity::plain((share * 100.0).min(100.0), 0);
            let (low, high) = (percent(share.low()), percent(share.high()));
            let range = if low == high { low } else { format!("{low}–{high}") };
            Some(format!("{range} % {}", part.name))
        })
        .collect();
    let message = match shares {
        Some(shares) => format!("{} by live cells", shares.join(", ")),
        None => format!("{}: which part of the cells is whose is not known", names.join(" and ")),
    };
    let place = batch.pitches.first().map_or(batch.place, |pitch| pitch.place);
    let mut finding =
        Finding::new(NAME, Level::Figure, place, message).about(batch.name.to_string()).labelled("a blend");
    for pitch in batch.pitches.iter().skip(1) {
        finding = finding.pointing(pitch.place, format!("{} goes in too", pitch.name));
    }
    if let Some(why) = &blend.unknown {
        finding = finding.noting(why.clone());
    }
    if !blend.later.is_empty() {
        finding = finding.noting(format!("{} went in later and is in no share", blend.later.join(" and ")));
    }
    if let Some(band) = &blend.attenuation {
        let percent = |share: barm_quantity::Share| format!("{:.0}", share.as_percent());
        finding = finding.noting(format!(
            "about {} % attenuation to expect ({}–{}): a blend goes nearly as far as its furthest strain",
            percent(band.best),
            percent(band.low),
            percent(band.high)
        ));
    }
    for flavour in &blend.flavours {
        let how = flavour.noticeable.map_or("", |n| n.words());
        let how = if how.is_empty() { String::new() } else { format!(", {how}") };
        finding =
            finding.noting(format!("{}{how}: {} makes it", flavour.word, flavour.strains.join(" and ")));
    }
    for part in &blend.parts {
        if let Some(share) = &part.share {
            let from = format!("{}, by live cells when it was pitched", part.name);
            finding = finding.showing(Figure::of("blend-share", share, 0.01, "%", from));
        }
    }
    finding
}
