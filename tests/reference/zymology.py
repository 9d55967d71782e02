"""Reference values for crates/zymology from general libraries that this project did not write.

Writes zymology.csv beside this file; the Rust tests read it. To make it again:

    python3 -m venv /tmp/reference && /tmp/reference/bin/pip install -r tests/reference/requirements.txt
    /tmp/reference/bin/python tests/reference/zymology.py

Each line: what is reckoned, the library and function, the arguments (up to three), the value. `--check` writes nothing
and fails where the file is not what would be written.
"""

import csv
import io
import pathlib
import sys

import gsw
import iapws
import numpy
import scipy.integrate
import scipy.optimize
import scipy.stats
from statsmodels.stats.proportion import proportion_confint

FILE = pathlib.Path(__file__).with_suffix(".csv")


def water_density():
    """kg/m³ at °C under one atmosphere."""
    for t in [0.5, 4, 8, 10, 12, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 90, 99]:
        yield t, iapws.IAPWS95(T=t + 273.15, P=0.101325).rho


def oxygen_saturation():
    """mg/L at °C in fresh water under moist air at one atmosphere (Garcia & Gordon 1992)."""
    for t in [0, 5, 10, 15, 20, 25, 30, 35, 40]:
        micromoles_per_kilogram = gsw.O2sol_SP_pt(0.0, float(t))
        density = iapws.IAPWS95(T=max(t, 0.01) + 273.15, P=0.101325).rho / 1000
        yield t, micromoles_per_kilogram * 31.9988e-3 * density


def oxygen_at_height():
    """mg/L at °C and metres: Standard Methods 4500-O written apart, with vapour pressure from IAPWS-IF97."""
    for t in [5, 20, 35]:
        for metres in [300, 1500, 3000]:
            kelvin = t + 273.15
            terms = [-139.34411, 1.575701e5, -6.642308e7, 1.2438e10, -8.621949e11]
            sea_level = numpy.exp(sum(a / kelvin**i for i, a in enumerate(terms)))
            vapour = iapws.iapws97._PSat_T(kelvin) / 0.101325
            air = (1 - 2.25577e-5 * metres) ** 5.25588
            theta = 0.000975 - 1.426e-5 * t + 6.436e-8 * t**2
            height = (1 - vapour / air) * (1 - theta * air) / ((1 - vapour) * (1 - theta))
            yield t, metres, sea_level * air * height


def poisson():
    """Ends of the exact range for a count, at a confidence: count, confidence, end (0 low, 1 high)."""
    for n in [1, 10, 25, 50, 100, 200, 400, 1000, 5000]:
        yield n, 0.95, 0, scipy.stats.chi2.ppf(0.025, 2 * n) / 2
        yield n, 0.95, 1, scipy.stats.chi2.ppf(0.975, 2 * n + 2) / 2


def wilson():
    """Ends of Wilson's range: live, seen, end."""
    for live, seen in [(81, 263), (190, 200), (90, 100), (5, 200), (200, 200), (1, 3)]:
        low, high = proportion_confint(live, seen, alpha=0.05, method="wilson")
        yield live, seen, 0, low
        yield live, seen, 1, high


SQUARES = [
    [35, 41, 37, 47, 43, 45, 70, 46, 40, 29],
    [12, 11, 14, 10, 13],
    [4, 9, 2, 30, 5, 8],
]


def clumps():
    """Index of dispersion (0), its chance (1) and the half-width of the mean by Student's t (2): squares, figure."""
    for i, squares in enumerate(SQUARES):
        k, mean = len(squares), numpy.mean(squares)
        index = (k - 1) * numpy.var(squares, ddof=1) / mean
        yield i, 0, index
        yield i, 1, scipy.stats.chi2.sf(index, k - 1)
        low, high = scipy.stats.t.interval(0.95, k - 1, loc=mean, scale=scipy.stats.sem(squares))
        yield i, 2, (high - low) / 2 / mean


def slurry_loss():
    """Loss of slurry (McCaig & Bendiak 1985: 7, 14, 68 % in 6 days at 1, 5, 25 °C): energy in kJ/mol (0), per day at 4 °C (1)."""
    kelvin = numpy.array([1.0, 5.0, 25.0]) + 273.15
    rate = -numpy.log(1 - numpy.array([0.07, 0.14, 0.68])) / 6
    fit = scipy.stats.linregress(1 / kelvin, numpy.log(rate))
    yield 0, -fit.slope * 8.314462618 / 1000
    yield 1, numpy.exp(fit.intercept + fit.slope / 277.15)


def still_starter():
    """Doublings against crowding, four rows (200, 100, 50, 25 M/mL to 112, 152, 205, 276 B from 100): growth at 100 (0), power (1)."""
    crowding = numpy.array([200, 100, 50, 25])
    grown = numpy.array([112, 152, 205, 276]) / 100
    fit = scipy.stats.linregress(numpy.log(100 / crowding), numpy.log(grown))
    yield 0, numpy.exp(fit.intercept)
    yield 1, fit.slope


def beer_temperature():
    """°C of 20 L of 12 °P at hours, by stiff integration: lump of 20.9293 kg, 125.572 g/L, 65 % gone by a logistic.

    Air 18 °C and swinging by 3 K a day; 3.5 W/K; 587 J/g; specific heat that of 8.1 °P at 20 °C.
    """
    mass, loss = 20.9286, 3.5
    capacity = mass * (4184 - 2511 * 0.081 + 7.5 * 0.081 * 20)
    heat = 20 * 125.5719 * 0.65 * 587

    def slope(t, beer):
        done = 1 / (1 + numpy.exp(-(t - 40) / 10))
        power = heat * done * (1 - done) / 10
        air = 18 + 3 * numpy.sin(2 * numpy.pi * t / 24)
        return (power - loss * 3600 * (beer - air)) / capacity

    hours = [6, 12, 24, 36, 48, 72, 96, 168]
    run = scipy.integrate.solve_ivp(slope, (0, 168), [16.0], t_eval=hours, method="LSODA", rtol=1e-10, atol=1e-10)
    yield from zip(hours, run.y[0])


def pressure_for_carbonation():
    """psi that hold volumes at °C, by root-finding in the fit that reckons volumes from psi."""
    for volumes in [1.5, 2.5, 4.0]:
        for t in [0, 10, 20, 30]:

            def missing(psi):
                return (psi + 14.695) * (0.01821 + 0.090115 * numpy.exp(-1.8 * t / 43.11)) - 0.003342 - volumes

            yield volumes, t, scipy.optimize.brentq(missing, -14, 300, xtol=1e-12)


TABLES = [
    ("water density", "iapws.IAPWS95", water_density),
    ("oxygen saturation", "gsw.O2sol_SP_pt", oxygen_saturation),
    ("oxygen at height", "iapws.iapws97._PSat_T and numpy", oxygen_at_height),
    ("poisson range", "scipy.stats.chi2.ppf", poisson),
    ("wilson range", "statsmodels.stats.proportion.proportion_confint", wilson),
    ("clumps", "scipy.stats.chi2.sf and scipy.stats.t.interval", clumps),
    ("slurry loss", "scipy.stats.linregress", slurry_loss),
    ("still starter", "scipy.stats.linregress", still_starter),
    ("beer temperature", "scipy.integrate.solve_ivp", beer_temperature),
    ("carbonation pressure", "scipy.optimize.brentq", pressure_for_carbonation),
]


def main():
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(["what", "library", "a", "b", "c", "value"])
    for what, library, values in TABLES:
        for *arguments, value in values():
            # Nine digits: further ones differ between builds of the libraries.
            arguments += [""] * (3 - len(arguments))
            rows.writerow([what, library, *arguments, f"{float(value):.9g}"])
    if "--check" in sys.argv[1:]:
        if FILE.read_text(encoding="utf-8") != out.getvalue():
            sys.exit(f"{FILE.name} is stale: run {pathlib.Path(__file__).name}")
    else:
        FILE.write_text(out.getvalue(), encoding="utf-8")


main()
