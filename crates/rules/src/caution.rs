use barm_quantity::{Mass, Unit, significant};
use barm_reckoning::{Cautions, Danger, Hazard, Scale, Season};
use barm_zymology::fermentation::ATTENUATES;
use barm_zymology::{alcohol, carbonation, gravity};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "caution";
/// What every caution ends with.
const DEFER: &str = "follow your local codes, the maker's instructions and licensed practice";

rule! {
    /// The usual cautions, each once, where the thing is first done.
    Caution, "caution", Note, "caution.md", check,
    Anything "nothing in it is dangerous that is not cautioned of elsewhere in this season"
}

fn check(season: &Season, report: &mut Report) {
    if season.settings.cautions == Cautions::Read {
        return;
    }
    for hazard in &season.hazards {
        report.found(finding(season, hazard));
    }
}

fn finding(season: &Season, hazard: &Hazard) -> Finding {
    let (label, message, more) = words(hazard.danger);
    let mut finding = Finding::new(NAME, Level::Note, hazard.place, message).labelled(label);
    if let Some(lot) = hazard.lot.and_then(|lot| season.lot(lot)) {
        finding = finding.about(lot.name.to_string());
    }
    if hazard.danger == Danger::CarbonDioxide
        && let Some(litres) = gas(season, hazard)
    {
        let wort = hazard.lot.and_then(|lot| season.batch(lot)?.wort).map(|wort| wort.place);
        let unit = if Scale::of(season, wort).is_us() { Unit::UsGallon } else { Unit::Litre };
        let about = significant(unit.from_base(litres), 1);
        finding = finding.noting(format!("this beer gives off about {about} {} of it", unit.symbol()));
    }
    finding.noting(more).noting(DEFER)
}

/// Litres of carbon dioxide that a brew gives off.
fn gas(season: &Season, hazard: &Hazard) -> Option<f64> {
    let wort = season.batch(hazard.lot?)?.wort?;
    let [_, usual, _] = ATTENUATES;
    let extract: Mass = gravity::extract(alcohol::extract_fermented(wort.strength, usual)) * wort.volume;
    Some(carbonation::from_extract(extract, wort.volume).as_volumes() * wort.volume.as_litres())
}

/// The caution for a danger: in a sentence, what more there is to it, and who knows better.
#[must_use]
pub const fn caution(danger: Danger) -> [&'static str; 3] {
    let (_, sentence, more) = words(danger);
    [sentence, more, DEFER]
}

/// What stands at the place, the caution in a sentence, and what more there is to it.
const fn words(danger: Danger) -> (&'static str, &'static str, &'static str) {
    match danger {
        Danger::Oxygen => (
            "pure oxygen",
            "Pure oxygen makes anything burn fiercely: no flame or smoking, no oil or grease, and air the room.",
            "fasten the cylinder upright, open its valve slowly, use only parts made for oxygen, and shut it when done; a leak \
             enriches a small room fast",
        ),
        Danger::Jar => (
            "live yeast in a jar",
            "Live yeast in a closed jar goes on making gas until the jar bursts: leave the lid loose or vented.",
            "fill it three quarters at the most, keep it cold and in a tray, vent it daily for three days and then weekly, and \
             open it cold, away from your face",
        ),
        Danger::CarbonDioxide => (
            "fermentation",
            "Carbon dioxide has no smell, sinks and suffocates: ferment where air moves, never in a closed cellar, cupboard or \
             car.",
            "0.5 % in the air is the limit for a working day, from 4 % on stay out; do not lean into a fermenter, and never go \
             into a tank or pit alone",
        ),
        Danger::HotGlass => (
            "boiled wort",
            "Boiling wort scalds and glass cracks: no flame under thick glass, no hot glass on a cold wet bench, no stopper in \
             a flask that is hot or working.",
            "borosilicate only on the heat and none of it scratched; wort that stood still may boil over when it is stirred; \
             cover a working flask with foil or foam",
        ),
        Danger::Cleaner => (
            "cleaning",
            "Caustic and acid burn: goggles and gloves on, cleaner into cold water and never water into cleaner, and never one \
             with another.",
            "acid with bleach gives chlorine; hot caustic in a closed tank full of carbon dioxide pulls a vacuum that can crush \
             it; have water for the eyes at hand",
        ),
        // Common practice.
        Danger::Acid => (
            "acid",
            "Acid burns skin and eyes: goggles and gloves on, acid into cold water and never water into acid, and never near \
             bleach.",
            "acid with bleach gives chlorine; have water for the eyes at hand, and the bottle closed and labelled; too much of it \
             spoils wort or beer, so measure it and stir it in a little at a time",
        ),
        // Common practice.
        Danger::DryIce => (
            "dry ice",
            "Dry ice turns into hundreds of times its room of carbon dioxide: never in a closed bottle, keg or fermenter, and \
             never in a closed room.",
            "a kilogram gives some 500 litres of gas, which suffocates; it freezes skin at once: thick gloves and goggles, and \
             add it in small pieces, for the beer foams over",
        ),
        Danger::StoredWort => (
            "wort that was kept",
            "Wort that is kept unfermented at room temperature can grow the poison of botulism: make it fresh, or freeze it.",
            "its pH is above 4.6, so boiling it in jars does not make it safe to keep; boil kept wort for ten minutes before it \
             is used, longer at a height",
        ),
        // Common practice.
        Danger::Pressure => (
            "fermenter under pressure",
            "A closed fermenter bursts when nothing lets its gas off: a relief valve on it that nobody shuts, never more than its \
             maker rates it to, and all let off before it is opened.",
            "never glass, nor a bucket or carboy that is not made for it; foam and hops clog a valve, so leave room above the beer \
             and look at the gauge daily",
        ),
        // Common practice.
        Danger::PressedGlass => (
            "glass under pressure",
            "Glass bursts under any pressure that it is not made for, and carboys, demijohns and flasks are made for none: let the \
             gas off, and take steel or what its maker rates for it.",
            "let it off slowly, goggles and gloves on and with a cloth over the glass, and do not carry it before; under an airlock \
             or a blow-off tube nothing builds up",
        ),
        // Common practice; of glass, the page of `bottle-pressure`.
        Danger::Package => (
            "packaging",
            "Bottles burst and kegs throw what is loosened: let the beer finish first, weigh the sugar, and stay within what the \
             maker of the bottle or keg rates it to.",
            "a bottle with too much gas in it: keep it cold, upright and in a closed crate, goggles and gloves on, and do not \
             open it warm; a keg is vented before anything on it is undone",
        ),
    }
}
