//! `barm.toml`: what it holds, what is wrong in it and where, and what its schema says of it.

use barm_quantity::Temperature;
use barm_reckoning::{KnownRules, Settings, Units};

use crate::settled;

const RULES: KnownRules<'_> = KnownRules {
    all: &["late-generation", "low-oxygen", "missing-unit", "old-line", "underpitched"],
    limited: &["late-generation", "low-oxygen", "old-line", "underpitched"],
    shares: &[("underpitched", 5.0)],
};

const ALL: &str = "units = \"us\"\ngravity = \"plato\"\nelevation = \"340 m\"\ncautions = \"read\"\n\
    [instruments]\nhydrometer = { calibrated = \"68 °F\", error = \"0.002\" }\n\
    refractometer = { wort-factor = 1.02 }\nthermometer.error = \"1 °F\"\n\
    [places]\nrefrigerator = \"3 °C\"\nroom = \"66 F\"\n\
    [rates]\nale = \"0.9 M/mL/°P\"\nlager = \"1.2 m/ml/p\"\ndry-ale = \"60 g/hL\"\ndry-lager = \"0.4 lb/bbl\"\n\
    [limits]\nunderpitched = 0.5\nlow-oxygen = 7\n[levels]\nlate-generation = \"off\"\nmissing-unit = \"note\"\n\
    [models]\npack-loss = \"15 %/month\"\nslurry-loss = \"1.5 %/day\"\nharvest-viability = \"92 %\"\n\
    slurry-thin = \"0.4 B/mL\"\nslurry-medium = \"900 M/mL\"\nslurry-thick = \"1.8 B/mL\"\ndry-cells = \"8 B/g\"\n";

/// Every text that is wrong in one thing: what is marked, and a part of what is said.
const WRONG: &[(&str, &str, &str)] = &[
    ("elevatoin = \"340 m\"\n", "elevatoin", "there is no key `elevatoin`; did you mean `elevation`?"),
    ("colour = 1\n", "colour", "there is `units`, `gravity`, `elevation`"),
    ("[instrument]\n", "instrument", "did you mean `instruments`?"),
    (
        "[instruments.hydrometre]\nerror = \"0.001\"\n",
        "hydrometre",
        "in `[instruments]`; did you mean `hydrometer`?",
    ),
    (
        "[instruments]\nhydrometer = { eror = \"0.001\" }\n",
        "eror",
        "in `[instruments.hydrometer]`; did you mean `error`?",
    ),
    (
        "[instruments]\nhydrometer = \"0.001\"\n",
        "\"0.001\"",
        "`hydrometer` is a table; write `calibrated = …` below `[instruments.hydrometer]`",
    ),
    ("rates = 3\n", "3", "`rates` is a table"),
    ("[rates]\nalle = \"1 M/mL/°P\"\n", "alle", "did you mean `ale`?"),
    ("[models]\nslurry-lose = \"2 %/day\"\n", "slurry-lose", "did you mean `slurry-loss`?"),
    ("units = \"imperial\"\n", "\"imperial\"", "`units` cannot be `imperial`; there is `metric` or `us`"),
    ("units = true\n", "true", "`units` is one of `metric` or `us`; write \"metric\""),
    ("[units]\n", "[units]", "`units` is one of"),
    ("elevation = 340\n", "340", "`elevation` is a height with its unit, between quotes; write \"340 m\""),
    ("elevation = \"340\"\n", "\"340\"", "`340` has no unit"),
    ("elevation = \"340 L\"\n", "\"340 L\"", "`340 L` is a volume, not a height"),
    ("elevation = \"high\"\n", "\"high\"", "`high` is not a height with its unit"),
    ("elevation = \"9000 m\"\n", "\"9000 m\"", "outside of what can be"),
    ("[instruments]\nrefractometer.wort-factor = 2\n", "2", "lies between 0.9 and 1.2"),
    ("[instruments]\nrefractometer.wort-factor = nan\n", "nan", "is a number"),
    ("[instruments]\nhydrometer.error = 1\n", "1", "outside of what can be"),
    (
        "[instruments]\nhydrometer.calibrated = \"60 °C\"\n",
        "\"60 °C\"",
        "`60 °C` is outside of what can be; was \"60 °F\" meant?",
    ),
    ("[instruments]\nhydrometer.calibrated = \"5 °C\"\n", "\"5 °C\"", "write \"20 °C\""),
    ("[places]\ncellar = \"12 °C\"\n", "cellar", "in `[places]`; there is `refrigerator` or `room`"),
    ("[places]\nroom = 12\n", "12", "a temperature with its unit"),
    ("[places]\nroom = \"80 °C\"\n", "\"80 °C\"", "outside of what can be"),
    (
        "[models]\npack-loss = \"20 %\"\n",
        "\"20 %\"",
        "`20 %` is a share in per cent, not a loss by the month",
    ),
    ("[models]\npack-loss = \"120 %/day\"\n", "\"120 %/day\"", "outside of what can be"),
    ("[models]\nslurry-loss = \"-1 %/day\"\n", "\"-1 %/day\"", "outside of what can be"),
    ("[limits]\nunderpitched = \"0.5\"\n", "\"0.5\"", "`underpitched` is a number"),
    ("[limits]\nunderpitched = -1\n", "-1", "lies between 0 and"),
    (
        "[limits]\nunderpitched = 67\n",
        "67",
        "`underpitched` is a share and not in per cent, and 5 at the most; write 0.67 for 67 %",
    ),
    ("[limits]\nunderpitched = 5e3\n", "5e3", "5 at the most; write 0.67"),
    (
        "[limits]\nunderpiched = 0.5\n",
        "underpiched",
        "there is no rule `underpiched`; did you mean `underpitched`?",
    ),
    ("[limits]\nmissing-unit = 0.5\n", "missing-unit", "the rule `missing-unit` has no limit of its own"),
    ("[levels]\nlow-oxigen = \"off\"\n", "low-oxigen", "did you mean `low-oxygen`?"),
    ("[levels]\nloud = \"off\"\n", "loud", "`barm rules` lists them"),
    ("[levels]\nlow-oxygen = \"loud\"\n", "\"loud\"", "there is `off`, `note`, `warning` or `error`"),
    ("[levels]\nlow-oxygen = \"of\"\n", "\"of\"", "did you mean `off`?"),
];

#[test]
fn reads_every_key() {
    let settings = Settings::read_knowing(ALL, RULES).unwrap();
    assert_eq!(settings.units, Units::Us);
    assert_eq!(settings.elevation_metres, 340.0);
    assert!((settings.hydrometer_calibrated.as_celsius() - 20.0).abs() < 1e-9);
    assert!((settings.thermometer_error.as_kelvin() - 5.0 / 9.0).abs() < 1e-9);
    assert_eq!((settings.hydrometer_error, settings.wort_factor), (0.002, 1.02));
    assert_eq!(settings.refrigerator(), Temperature::celsius(3.0));
    assert_eq!(settings.places["room"], Temperature::fahrenheit(66.0));
    assert!((settings.lager_rate.as_millions() - 1.2).abs() < 1e-9);
    assert!((settings.dry_ale.as_grams_per_litre() - 0.6).abs() < 1e-9);
    assert_eq!((settings.limit("underpitched", 0.67), settings.limit("low-oxygen", 6.0)), (0.5, 7.0));
    assert_eq!(settings.levels["late-generation"], "off");
    assert!((settings.models.slurry_loss.per_day - 0.015_114).abs() < 1e-5, "{:?}", settings.models);
    assert!((settings.models.pack_loss.per_day - 0.005_339).abs() < 1e-5, "{:?}", settings.models);
}

#[test]
fn what_is_wrong_is_told_at_its_place() {
    for (text, marked, said) in WRONG {
        let error = Settings::read_knowing(text, RULES).expect_err(text);
        assert!(error.message.contains(said), "{text}: {}", error.message);
        let span = text.get(error.span.clone()).unwrap_or_default();
        assert!(span == *marked || marked.starts_with('['), "{text}: {span}");
    }
    let twice = Settings::read_knowing("units = \"us\"\nunits = \"us\"\n", RULES).unwrap_err();
    assert!(twice.span.start >= 13, "{twice:?}");
    assert!(Settings::read_knowing("units = \n", RULES).is_err());
}

#[test]
fn of_two_mistakes_the_first_in_the_file_is_told() {
    let error = Settings::read_knowing("[rates]\nlagre = 1\n[places]\nattic = 1\n", RULES).unwrap_err();
    assert!(error.message.contains("lagre"), "{}", error.message);
    let error = Settings::read_knowing("[places]\nattic = 1\n[rates]\nlagre = 1\n", RULES).unwrap_err();
    assert!(error.message.contains("attic"), "{}", error.message);
}

/// Whether the schema takes a text, as a validator that we did not write sees it.
fn fits(validator: &jsonschema::Validator, text: &str) -> bool {
    let document: serde_json::Value = toml::from_str(text).unwrap();
    validator.is_valid(&document)
}

#[test]
fn the_schema_takes_what_the_program_takes_and_refuses_what_it_refuses() {
    let validator = jsonschema::validator_for(&Settings::schema(RULES)).unwrap();
    for text in [ALL, &Settings::explained(), "", include_str!("../../../../demo-logs/barm.toml")] {
        assert!(Settings::read_knowing(text, RULES).is_ok(), "{text}");
        assert!(fits(&validator, text), "{text}");
    }
    // Every line of it by itself, in its table: none is taken only because another is not looked at.
    let mut table = "";
    for line in ALL.lines() {
        if line.starts_with('[') {
            table = line;
        } else {
            assert!(fits(&validator, &format!("{table}\n{line}\n")), "{line}");
        }
    }
    // JSON has no NaN.
    for (text, ..) in WRONG.iter().filter(|(text, ..)| !text.contains("nan")) {
        assert!(!fits(&validator, text), "{text}");
    }
}

#[test]
fn what_holds_without_a_file_is_what_the_explanation_says() {
    let explained = Settings::explained();
    assert_eq!(Settings::read_knowing(&explained, RULES).unwrap(), Settings::default());
    // The models are commented out: a house that has not measured has wider ranges, not these very values.
    let models = explained.split_once("[models]").unwrap().1.replace("\n# ", "\n");
    let values: Vec<&str> = models.lines().filter(|line| line.contains(" = \"")).collect();
    assert_eq!(values.len(), 7, "{models}");
    let house = Settings::read_knowing(&format!("[models]\n{}\n", values.join("\n")), RULES).unwrap();
    let usual = Settings::default();
    assert!((house.models.pack_loss.per_day / usual.models.pack_loss.per_day - 1.0).abs() < 1e-9);
    assert!((house.models.slurry_loss.per_day / usual.models.slurry_loss.per_day - 1.0).abs() < 0.02);
}

/// Live cells that each form of yeast brings to a brew, in B.
fn pitched(toml: &str) -> Vec<f64> {
    let text = "culture jar\n  kind ale\n  slurry 400 mL thick\n  harvested 2026-03-01\n\n\
        culture packs\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-01\n\n\
        culture dry\n  kind ale\n  sachet 1 × 10 g\n  made 2026-02-01\n\n\
        brew a\n  wort 20 L at 1.048\n  on 2026-03-08 12:00  pitch jar 100 mL\n\n\
        brew b\n  wort 20 L at 1.048\n  on 2026-03-08 12:00  pitch packs\n\n\
        brew c\n  wort 20 L at 1.048\n  on 2026-03-08 12:00  pitch dry\n";
    let season = settled(text, Settings::read(toml).unwrap());
    season.batches.iter().map(|batch| batch.pitches[0].live.as_ref().unwrap().median() / 1e9).collect()
}

#[test]
fn what_a_house_has_measured_counts() {
    let usual = pitched("");
    let changed = |toml: &str| -> Vec<bool> {
        pitched(toml).iter().zip(&usual).map(|(own, usual)| (own / usual - 1.0).abs() > 0.02).collect()
    };
    assert_eq!(changed("[models]\npack-loss = \"10 %/month\"\n"), [false, true, false]);
    assert_eq!(changed("[models]\nslurry-loss = \"1 %/day\"\n"), [true, false, false]);
    assert_eq!(changed("[models]\nharvest-viability = \"80 %\"\n"), [true, false, false]);
    assert_eq!(changed("[models]\nslurry-thin = \"0.2 B/mL\"\n"), [false, false, false]);
    assert_eq!(changed("[models]\ndry-cells = \"6 B/g\"\n"), [false, false, true]);
    // 100 mL of 1.5 B/mL counted, 95 % alive at harvest, a week less half a day at 2 % a day.
    let jar = pitched("[models]\nslurry-thick = \"1.5 B/mL\"\n")[0];
    assert!((jar - 150.0 * 0.95 * (-0.020_f64 * 7.0).exp()).abs() < 1.0, "{jar}");
}
