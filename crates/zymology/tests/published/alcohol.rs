use barm_quantity::{Gravity, GravityDifference, Plato, Share};
use barm_zymology::{alcohol, gravity};

use crate::check::{Check, Checks, ROUNDING};

/// Original and final gravity; OE, AE, RE in °P; alcohol by weight, by volume by the rule and by Tabarie; ADF, RDF in %.
const BEERS: [(f64, f64, [f64; 8]); 4] = [
    (1.030, 1.008, [7.558, 2.052, 3.047, 2.272, 2.90, 2.86, 72.9, 59.7]),
    (1.048, 1.010, [11.912, 2.561, 4.251, 3.950, 5.05, 4.99, 78.5, 64.3]),
    (1.060, 1.014, [14.741, 3.574, 5.593, 4.791, 6.15, 6.08, 75.8, 62.1]),
    (1.100, 1.024, [23.769, 6.077, 9.276, 7.994, 10.35, 10.29, 74.4, 61.0]),
];

/// Means of three sets of brews: original extract, alcohol by weight, real and apparent extract.
const CUTAIA: [(&str, f64, f64, f64, f64); 3] = [
    ("set I, 92 brews", 14.08, 4.72, 5.28, 3.11),
    ("set II, 221 brews", 11.34, 3.82, 3.80, 2.01),
    ("set III, 36 brews", 12.75, 4.21, 4.74, 2.79),
];
const CUTAIA_ET_AL: &str = "Cutaia, Reid & Speers 2009, J. Inst. Brew. 115, Table III";

fn by_weight(oe: f64, ae: f64) -> f64 {
    let at = |p| gravity::gravity(Plato::degrees(p));
    alcohol::by_weight(at(oe), at(ae)).as_percent()
}

pub(crate) fn checks() -> Vec<Check> {
    let real =
        Checks::of("real extract", "°P").from(CUTAIA_ET_AL).rows(CUTAIA, |checks, (set, oe, _, re, ae)| {
            let got = alcohol::real_extract(Plato::degrees(oe), Plato::degrees(ae)).as_degrees();
            checks.check(set, re, got, 0.2)
        });
    let measured = Checks::of("real extract from measured alcohol", "°P").from(CUTAIA_ET_AL).rows(
        CUTAIA,
        |checks, (set, _, a, re, ae)| {
            let got = alcohol::real_extract_measured(Plato::degrees(ae), Share::percent(a)).as_degrees();
            checks.check(set, re, got, 0.06)
        },
    );
    let original = Checks::of("original extract", "°P")
        .from(CUTAIA_ET_AL)
        .rows(CUTAIA, |checks, (set, oe, a, re, _)| {
            let got = alcohol::original_extract(Share::percent(a), Plato::degrees(re)).as_degrees();
            checks.check(set, oe, got, 0.25)
        })
        .from("Balling's balance with USDA Bulletin 493 (1917): alcohol 3.16, extract 5.13 (its own 11.45 is 2·A + E)")
        .check("3.16 % and 5.13 °P", 11.28, {
            alcohol::original_extract(Share::percent(3.16), Plato::degrees(5.13)).as_degrees()
        }, 0.01);
    let weight = Checks::of("alcohol by weight", "%")
        .from(CUTAIA_ET_AL)
        .rows(CUTAIA, |checks, (set, oe, a, _, ae)| checks.check(set, a, by_weight(oe, ae), 0.12))
        .from("Balling's factors, table of Eckhardt 1995")
        .rows([(8.0, 0.4110), (12.0, 0.4187), (16.0, 0.4267), (20.0, 0.4351)], |checks, (oe, factor)| {
            // The table gives alcohol for each °P of apparent attenuation; 75 % of it here.
            let gone = 0.75 * oe;
            checks.check(format!("{oe} °P"), factor * gone, by_weight(oe, oe - gone), 0.12)
        });
    [real.done(), measured.done(), original.done(), weight.done(), by_volume(), attenuation(), errors()]
        .concat()
}

fn by_volume() -> Vec<Check> {
    let rule =
        |og: f64, fg: f64| alcohol::by_volume(Gravity::specific(og), Gravity::specific(fg)).as_percent();
    // Points of difference up to which a factor holds.
    const HMRC: [(f64, f64); 11] = [
        (6.9, 0.125),
        (10.4, 0.126),
        (17.2, 0.127),
        (26.1, 0.128),
        (36.0, 0.129),
        (46.5, 0.130),
        (57.1, 0.131),
        (67.9, 0.132),
        (78.8, 0.133),
        (89.7, 0.134),
        (100.7, 0.135),
    ];
    let volume = Checks::of("alcohol by volume", "%")
        .from("HMRC excise notice 226, factors (from memory)")
        .rows([(1.030, 1.008), (1.048, 1.010), (1.060, 1.014), (1.100, 1.024)], |checks, (og, fg)| {
            let points = 1000.0 * (og - fg);
            let factor =
                HMRC.iter().find(|(most, _)| points <= *most).map_or(f64::NAN, |(_, factor)| *factor);
            checks.check(format!("{og:.3} to {fg:.3}"), points * factor, rule(og, fg), 0.25)
        })
        .from("derived: Balling and OIML R 22 worked apart in Python")
        .rows(BEERS, |checks, (og, fg, [.., by_rule, _, _, _])| {
            checks.check(format!("{og:.3} to {fg:.3}"), by_rule, rule(og, fg), 0.01)
        });
    let additive = Checks::of("alcohol by volume, Tabarie", "%")
        .from("derived: Tabarie with OIML R 22 worked apart in Python")
        .rows(BEERS, |checks, (og, fg, [.., additive, _, _])| {
            let got = alcohol::by_volume_additive(Gravity::specific(og), Gravity::specific(fg));
            checks.check(
                format!("{og:.3} to {fg:.3}"),
                additive,
                got.map_or(f64::NAN, Share::as_percent),
                0.01,
            )
        })
        .from("the rule, as a second opinion: 0.04–0.07 more")
        .rows(BEERS, |checks, (og, fg, _)| {
            let got = alcohol::by_volume_additive(Gravity::specific(og), Gravity::specific(fg));
            let got = got.map_or(f64::NAN, Share::as_percent);
            checks.check(format!("{og:.3} to {fg:.3}"), rule(og, fg), got, 0.08)
        });
    [volume.done(), additive.done()].concat()
}

fn attenuation() -> Vec<Check> {
    Checks::of("attenuation", "%")
        .from("derived: definitions worked apart in Python")
        .rows(BEERS, |checks, (og, fg, [.., adf, rdf])| {
            let name = format!("{og:.3} to {fg:.3}");
            let (og, fg) = (Gravity::specific(og), Gravity::specific(fg));
            checks
                .check(
                    format!("{name}, apparent"),
                    adf,
                    alcohol::apparent_attenuation(og, fg).as_percent(),
                    0.06,
                )
                .check("real", rdf, alcohol::real_attenuation(og, fg).as_percent(), 0.06)
        })
        .from("MEBAK: real attenuation is 0.81 of the apparent")
        .rows(BEERS, |checks, (og, fg, _)| {
            let name = format!("{og:.3} to {fg:.3}");
            let (og, fg) = (Gravity::specific(og), Gravity::specific(fg));
            let expected = 0.81 * alcohol::apparent_attenuation(og, fg).as_percent();
            checks.check(
                format!("{name}, real"),
                expected,
                alcohol::real_attenuation(og, fg).as_percent(),
                1.0,
            )
        })
        .from("Savel et al. 2020: the ASBC's real degree of fermentation is 1–2 % above (ordinary strength)")
        .rows(BEERS.into_iter().take(3), |checks, (og, fg, _)| {
            let name = format!("{og:.3} to {fg:.3}");
            let (og, fg) = (Gravity::specific(og), Gravity::specific(fg));
            let more = alcohol::real_degree_of_fermentation(og, fg) - alcohol::real_attenuation(og, fg);
            checks.check(format!("{name}, ASBC less real"), 1.5, more.as_percent(), 0.6)
        })
        .from("derived: real extract left by 10.8 °P of malt at 75 % and 1.2 °P of sugar, worked apart in Python")
        .check("a tenth sugar", 79.71, {
            let part = |percent| Share::percent(percent);
            alcohol::attenuation_with(part(75.0), part(10.0), part(0.0)).as_percent()
        }, 0.01)
        .check("a tenth lactose", 67.5, {
            let part = |percent| Share::percent(percent);
            alcohol::attenuation_with(part(75.0), part(0.0), part(10.0)).as_percent()
        }, 0.01)
        .from("from memory: a wash of sugar alone, 1.070 at first, ends at about 0.985")
        .check("sugar alone", 0.985, {
            let all = alcohol::attenuation_with(Share::percent(75.0), Share::percent(100.0), Share::percent(0.0));
            let strength = gravity::plato(Gravity::specific(1.070)).as_degrees();
            let end = Plato::degrees(strength * (1.0 - all.as_fraction()));
            gravity::gravity(end).as_specific()
        }, 0.004)
        .done()
}

fn errors() -> Vec<Check> {
    let known = |sg, error| (Gravity::specific(sg), GravityDifference::specific(error));
    let volume = Checks::of("what alcohol may be out by", "%")
        .from("common practice: 131.25 % by volume for a whole specific gravity, errors in quadrature")
        .rows([0.002, 0.003, 0.005], |checks, error: f64| {
            let got = alcohol::by_volume_error(known(1.048, error), known(1.010, error)).as_percent();
            checks.check(format!("± {error}"), 131.25 * error.hypot(error), got, 0.06)
        })
        .from("Cutaia, Reid & Speers 2009: never better than the balance")
        .check(
            "known exactly",
            0.2,
            alcohol::by_volume_error(known(1.048, 0.0), known(1.010, 0.0)).as_percent(),
            ROUNDING,
        );
    let reached = Checks::of("what attenuation may be out by", "%")
        .from("derived: the definition at gravities moved one at a time, in quadrature")
        .rows(
            [(1.048, 1.012, 0.001), (1.060, 1.020, 0.002), (1.040, 1.000, 0.001)],
            |checks, (og, fg, error)| {
                let at = |og: f64, fg: f64| 100.0 * (og - fg) / (og - 1.0);
                let (high, low) = (at(og + error, fg) - at(og, fg), at(og, fg - error) - at(og, fg));
                let got = alcohol::attenuation_error(known(og, error), known(fg, error)).as_percent();
                checks.check(format!("{og:.3} to {fg:.3} ± {error}"), high.hypot(low), got, 0.05)
            },
        );
    [volume.done(), reached.done()].concat()
}
