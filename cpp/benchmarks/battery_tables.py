"""Prints how fast and how well calibrated the state of resting batteries is.

    PYTHONPATH=build/dev/python python cpp/benchmarks/battery_tables.py [speed] [ranks] [forecast]

speed: one million posteriors (median and 95 % interval), the best of three runs. ranks: 10 000 draws a type from the
model itself; the ranks of the true charges in 20 bins. forecast: rested voltages of six families of relaxation, two of
them in no model. Planted faults: tests/power/battery_power.py.
"""

from __future__ import annotations

import math
import os
import sys
import time

import numpy as np
from scipy.special import erfcx
from scipy.stats import chisquare

from ohmward import battery

LEAD = ("flooded", "enhanced_flooded", "agm", "gel")
KNOWN = {"celsius": 25.0, "celsius_standard_uncertainty_kelvin": 0.0, "rest_hour": 24.0}


def speed(rows=1_000_000):
    rng = np.random.default_rng(1)
    print(f"{rows} posteriors, median and 95 % interval, {os.cpu_count()} cores, best of three [s]")
    exact, nmc = battery.shipped_curve("lfp_prada_2013"), battery.shipped_curve("nmc111_exchange_2022")
    cases = {
        "flooded (one curve)": (battery.lead_acid("flooded"), 11.9, 12.6),
        "lfp, one curve of 125 points": (
            battery.with_curve(exact.charge, exact.cell_volt, cells=4, behaves_like="lfp", standard_uncertainty=0.0121),
            12.8,
            13.3,
        ),
        "nmc, one curve of 125 points": (
            battery.with_curve(nmc.charge, nmc.cell_volt, cells=4, behaves_like="nmc", standard_uncertainty=0.025),
            14.0,
            16.0,
        ),
        "lfp (two curves)": (battery.lithium("lfp", cells=4), 12.8, 13.3),
        "nmc (three curves)": (battery.lithium("nmc", cells=4), 14.0, 16.0),
        "unknown (five types, nine curves)": (battery.unknown_12v(), 11.9, 12.6),
    }
    for name, (one, low, high) in cases.items():
        volts = rng.uniform(low, high, rows)
        seconds = []
        for _ in range(3):
            start = time.perf_counter()
            one.at_rest_many(volts, standard_uncertainty=0.02, celsius=18.0, rest_hour=12.0)
            seconds.append(time.perf_counter() - start)
        print(f"  {name:36}{min(seconds):6.2f}")


def ranks(draws=10_000):
    print(f"ranks of the true charge, {draws} draws, 20 bins: p of uniformity, least and greatest bin over expected")
    for name in (*LEAD, "nmc", "nca", "lfp"):
        rng = np.random.default_rng(len(name))
        one = battery.lead_acid(name) if name in LEAD else battery.lithium(name, cells=4)
        curves = one.curves
        probe = one.at_rest(curves[0][1] * curves[0][2].volt(0.5, 25.0), standard_uncertainty=0.01, **KNOWN)
        u = math.sqrt(sum(part**2 for part in probe.voltage_uncertainty.values()))
        charge, which = rng.random(draws), rng.integers(len(curves), size=draws)
        found = []
        for s, k in zip(charge, which, strict=True):
            volt = curves[k][1] * curves[k][2].volt(s, 25.0) + u * rng.standard_normal()
            found.append(one.at_rest(volt, standard_uncertainty=0.01, **KNOWN).charge.cumulative(s))
        counts, _ = np.histogram([rank for rank in found if not math.isnan(rank)], bins=20, range=(0, 1))
        share = counts / counts.mean()
        fit = f"p {chisquare(counts).pvalue:5.3f}   {share.min():.3f} to {share.max():.3f}"
        print(f"  {name:18} {fit}   no charge {draws - counts.sum()}")


def families(rng):
    tau = math.exp(rng.uniform(math.log(0.3), math.log(4)))
    return {
        "single exponential": lambda t: np.exp(-t / tau),
        "double exponential": lambda t: 0.6 * np.exp(-4 * t / tau) + 0.4 * np.exp(-t / tau / 2),
        "stretched exponential": lambda t: np.exp(-((t / tau) ** 0.55)),
        "power": lambda t: (1 + t / tau) ** -0.9,
        "diffusion, in no model": lambda t: erfcx(np.sqrt(t / tau)),
        "finite diffusion, in no model": lambda t: sum(
            6 / math.pi**2 / n**2 * np.exp(-(n**2) * t / tau / 2) for n in range(1, 30)
        ),
    }


def forecast(runs=300):
    hours, noise = np.linspace(0.25, 4, 16), 0.001
    one = battery.lead_acid("agm")
    print(f"rested voltage at 24 h from 16 readings in 4 h, u 1 mV, {runs} runs: held by the 95 % interval, its width")
    for family in families(np.random.default_rng(0)):
        rng, held, widths = np.random.default_rng(11), 0, []
        for _ in range(runs):
            shape = families(rng)[family]
            rested, amplitude = rng.uniform(12.1, 12.7), -rng.uniform(0.05, 0.3)
            record = rested + amplitude * (shape(hours) - shape(24.0)) + noise * rng.standard_normal(hours.size)
            state = battery.relaxation(one, hours, record, standard_uncertainty=noise, history="after_discharge")
            held += state.rested_volt.low <= rested <= state.rested_volt.high
            widths.append(state.rested_volt.high - state.rested_volt.low)
        print(f"  {family:32} {held / runs:6.1%}   {1000 * np.median(widths):5.0f} mV")


if __name__ == "__main__":
    parts = {"speed": speed, "ranks": ranks, "forecast": forecast}
    for chosen in sys.argv[1:] or parts:
        parts[chosen]()
