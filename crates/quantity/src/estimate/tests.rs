use super::*;

fn name(of: &str) -> FactorName {
    FactorName::new("density", of)
}

#[test]
fn products_of_independent_factors_add_in_quadrature() {
    let a = Estimate::exact(2.0).with_factor(name("a"), 0.3);
    let b = Estimate::exact(5.0).with_factor(name("b"), 0.4);
    let product = a * b;
    assert!((product.median() - 10.0).abs() < 1e-12);
    assert!((product.spread() - 0.5).abs() < 1e-12);
}

#[test]
fn a_shared_factor_adds_before_squaring() {
    let a = Estimate::exact(2.0).with_factor(name("a"), 0.3);
    assert!(((a.clone() * a.clone()).spread() - 0.6).abs() < 1e-12);
    assert!((a.clone() / a).spread() < 1e-12);
}

#[test]
fn quantiles_agree_with_the_range() {
    let a = Estimate::exact(2.0).with_factor(name("a"), 0.3);
    assert!((a.quantile(0.05) - a.low()).abs() < 1e-9);
    assert!((a.quantile(0.95) - a.high()).abs() < 1e-9);
    // Normal table: 97.5 % at 1.95996 (from memory, as every statistics book prints it).
    assert!((normal_quantile(0.975) - 1.959_964).abs() < 1e-5);
}

#[test]
fn a_cap_cuts_the_range_and_keeps_the_order() {
    let a = Estimate::exact(0.9).with_factor(name("a"), 0.3).capped(1.0);
    let uncut = Estimate::exact(0.9).with_factor(name("a"), 0.3);
    assert!(a.high() < uncut.high() && a.low() < a.median() && a.median() <= 1.0);
}

#[test]
fn odd_input_gives_zero_and_never_nan() {
    assert_eq!(Estimate::exact(f64::NAN).median(), 0.0);
    assert_eq!(Estimate::exact(-1.0).median(), 0.0);
    let zero = Estimate::exact(0.0);
    assert_eq!((Estimate::exact(1.0) / zero.clone()).median(), 0.0);
    assert_eq!(zero.chance_below(&Estimate::exact(1.0)), 1.0);
    assert_eq!(zero.spread(), 0.0);
}

#[test]
fn a_cap_bends_the_range_and_carries_on() {
    let capped = Estimate::exact(0.9).with_factor(name("a"), 0.3).capped(1.0);
    assert!((capped.low() - 0.9 * (-0.3 * NINETY).exp()).abs() < 1e-12);
    assert!((capped.median() - 0.9).abs() < 1e-12 && (capped.high() - 1.0).abs() < 1e-12);
    // Its reciprocal has a floor, and the two cancel.
    let reciprocal = capped.powered(-1.0);
    assert!((reciprocal.low() - 1.0).abs() < 1e-12 && (reciprocal.high() - 1.0 / capped.low()).abs() < 1e-9);
    let one = capped.clone() * reciprocal;
    assert!((one.low() - 1.0).abs() < 1e-9 && (one.high() - 1.0).abs() < 1e-9);
    // Beyond the range that holds nine cases in ten the cap is not kept.
    let short = capped.chance_below(&Estimate::exact(1.0 + 1e-9));
    assert!((0.949..=1.0).contains(&short), "{short}");
}

#[test]
fn a_sum_of_one_thing_is_exact_and_the_order_is_no_matter() {
    let one = Estimate::exact(1.0).with_factor(name("a"), 0.4);
    let sum = one.clone() + Estimate::exact(2.0);
    for z in [-NINETY, 0.0, NINETY] {
        assert!((sum.at(z) - (2.0 + (0.4 * z).exp())).abs() < 1e-9);
    }
    let two = Estimate::exact(3.0).with_factor(name("b"), 0.6);
    let three = Estimate::exact(2.0).with_factor(name("a"), -0.2);
    let sum = |terms: [&Estimate; 3]| terms.into_iter().cloned().sum::<Estimate>();
    assert_eq!(sum([&one, &two, &three]), sum([&three, &one, &two]));
    assert_eq!((one.clone() + Estimate::exact(0.0)).median(), one.median());
}

#[test]
fn a_falling_function_turns_the_factors() {
    let one = Estimate::exact(1.0).with_factor(name("a"), 0.4);
    let falling = one.mapped(|x| (-x).exp());
    assert!(falling.factors().iter().all(|f| f.spread < 0.0));
    assert!((falling.low() - (-one.high()).exp()).abs() < 1e-12);
}

#[test]
fn a_sum_of_many_is_as_wide_as_chance_makes_it() {
    // A hundred independent figures of equal spread s: their sum has the spread s'/√100, with s'² = e^(s²) − 1.
    let many = |n: usize| -> Estimate {
        (0..n).map(|i| Estimate::exact(1.0).with_factor(name(&i.to_string()), 0.3)).sum()
    };
    let hundred = many(100);
    let relative = ((0.3_f64 * 0.3).exp() - 1.0).sqrt() / 10.0;
    assert!((hundred.spread() / relative - 1.0).abs() < 0.05, "{}", hundred.spread());
    assert!(
        (hundred.median() / (100.0 * (0.3_f64 * 0.3 / 2.0).exp()) - 1.0).abs() < 0.01,
        "{}",
        hundred.median()
    );
    assert_eq!(many(5000).factors().len(), 5000);
}
