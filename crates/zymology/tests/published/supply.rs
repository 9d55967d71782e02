use barm_quantity::{Cells, CellsPerGram, Estimate, Plato, Share, Volume};
use barm_zymology::supply::{Origin, SLURRY_GRAMS_PER_ML, Thickness};
use barm_zymology::{cake, pitching, supply};

use crate::check::{Check, Checks, ROUNDING};

pub(crate) fn checks() -> Vec<Check> {
    let density = |thickness, origin| supply::slurry(Some(thickness), origin, "").median() / 1e9;
    let slurry = Checks::of("cells in slurry", "B/mL")
        .from("an amateur laboratory's count of a well mixed home slurry, 2013: 1.1–1.3 in all")
        .check("medium, from the bottom", 1.2, density(Thickness::Medium, Origin::Bottom), 0.25)
        .from("a plant supplier: 0.6–0.8 L/hL of thick yeast is 15–18 M/mL")
        .check("thick, from the top", 2.37, density(Thickness::Thick, Origin::Top), 0.15)
        .from("a yeast maker: slurry of 40–60 % settled solids")
        .check("medium, from the top", 1.2, density(Thickness::Medium, Origin::Top), 0.1);
    let mass = Checks::of("cells in slurry by mass", "B/g")
        .from("Boulton & Quain, through Quain 2017: 40 % wet solids × 7.5 B/g (Suihko et al. 1993)")
        .check(
            "thick, from the top",
            3.0 / 1.06,
            density(Thickness::Thick, Origin::Top) / SLURRY_GRAMS_PER_ML,
            0.7,
        );
    let per_gram =
        |stated: Option<f64>| supply::dry(stated.map(CellsPerGram::billions), false, "").median() / 1e9;
    let dry = Checks::of("cells in dry yeast", "B/g")
        .from("a dry-yeast maker's article, 2023: 80–120 g/hL is 8–12 M/mL")
        .check("fresh", 10.0, per_gram(None), 0.5)
        .from("a dry-yeast maker's article, 2023: 50–80 g/hL is 4–6 M/mL")
        .check("fresh", 8.0, per_gram(None), 2.5)
        .from("what the brewer states is taken as it stands")
        .check("6 B/g", 6.0, per_gram(Some(6.0)), ROUNDING);
    let pack = Checks::of("live cells in a pack", "B").from("derived: label × 0.97").check(
        "100 B",
        97.0,
        supply::pack(Cells::billions(100.0), "").median() / 1e9,
        ROUNDING,
    );
    [slurry.done(), mass.done(), dry.done(), pack.done(), alive(), whole_cake()].concat()
}

fn alive() -> Vec<Check> {
    let harvested = |percent| supply::harvest_viability(Some(Share::percent(percent)), "");
    let harvest = Checks::of("live share at harvest", "")
        .from("a plant supplier's method of storing yeast: above 0.90, aim above 0.95")
        .check("ordinary beer", 0.95, harvested(5.0).median(), 0.005)
        .check("low end", 0.90, harvested(5.0).low(), 0.03)
        .from(
            "derived: judged multipliers for 5–6.5, 6.5–8, 8–10 and over 10 % alcohol, at the middle of each",
        )
        .rows([(5.75, 0.95), (7.25, 0.85), (9.0, 0.70), (11.0, 0.50)], |checks, (percent, donor)| {
            checks.check(format!("{percent} %"), 0.95 * donor, harvested(percent).median(), ROUNDING)
        });
    let live = |sprinkled| supply::dry(None, sprinkled, "").median();
    let sprinkled = Checks::of("live dry yeast sprinkled over rehydrated", "")
        .from("derived: between Cone's loss of half and the makers' of nothing")
        .check("on wort", 0.75, live(true) / live(false), 0.02);
    [harvest.done(), sprinkled.done()].concat()
}

fn whole_cake() -> Vec<Check> {
    let litres = Volume::litres(20.0);
    let left = |rate, strength: f64| {
        let strength = Plato::degrees(strength);
        let pitched = pitching::target(rate, strength, litres).as_each();
        cake::left(&Estimate::exact(pitched), strength, litres, "").median() / pitched
    };
    let per_millilitre = |strength: f64| {
        let strength = Plato::degrees(strength);
        let pitched = pitching::target(pitching::ALE, strength, litres).as_each();
        cake::left(&Estimate::exact(pitched), strength, litres, "").median() / 20_000.0 / 1e6
    };
    let times = Checks::of("whole cake over its target", "×")
        .from("derived: 9 + 36 and 18 + 36 M/mL at 12 °P")
        .check("ale", 5.0, left(pitching::ALE, 12.0), 0.1)
        .check("lager", 3.0, left(pitching::LAGER, 12.0), 0.06);
    let cells = Checks::of("cells at the end of fermentation", "M/mL")
        .from("Yeast (Brewers Publications 2010): 25–60 M/mL")
        .rows([8.0, 10.0, 12.0, 14.0], |checks, p| {
            checks.check(format!("{p} °P"), 42.5, per_millilitre(p), 17.5)
        })
        .from("home measurements in 1.8 L: about 40 M/mL")
        .check("12 °P", 40.0, per_millilitre(12.0), 6.0);
    [times.done(), cells.done()].concat()
}
