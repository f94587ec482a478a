"""The pictures are drawn into the axes given, and say in words what they show."""

import matplotlib as mpl

mpl.use("Agg")

import numpy as np
import pytest
from matplotlib import pyplot

from ohmward import _plots_battery as plots
from ohmward import battery


@pytest.fixture
def ax():
    figure, axes = pyplot.subplots()
    yield axes
    pyplot.close(figure)


def words(ax):
    legend = ax.get_legend()
    texts = [*ax.texts, *(legend.get_texts() if legend else [])]
    return " | ".join([ax.get_title(), *(text.get_text() for text in texts)])


def test_posterior_tells_its_interval(ax):
    one = battery.lithium("lfp", cells=4)
    state = one.at_rest(13.09, standard_uncertainty=0.01, celsius=25, rest_hour=24)
    assert plots.posterior_on_curve(one, state, 13.09, ax=ax) is ax
    assert "95 %" in words(ax)
    assert "lfp prada 2013" in words(ax)


def test_posterior_without_charge_says_so(ax):
    one = battery.lead_acid("flooded")
    state = one.at_rest(13.5, standard_uncertainty=0.01, celsius=25, rest_hour=24)
    plots.posterior_on_curve(one, state, 13.5, ax=ax)
    assert "no charge: on charge" in words(ax)


def test_fan_names_its_models(ax):
    hours = np.linspace(0.25, 3, 12)
    volts = 12.3 - 0.12 * np.exp(-hours / 0.8)
    agm = battery.lead_acid("agm")
    state = battery.relaxation(agm, hours, volts, standard_uncertainty=0.001, history="after_discharge")
    plots.relaxation_fan(hours, volts, state, ax=ax)
    assert "single exponential" in words(ax)
    assert "mV to go" in words(ax)


def test_pack_tells_what_is_not_decidable(ax):
    volts = np.full(12, 3.275)
    volts[4] += 0.009
    module = battery.lithium("lfp", cells=1)
    pack = battery.pack_at_rest(module, volts, standard_uncertainty=0.001, pack_celsius=20, rest_hour=12)
    plots.pack_bars(pack, ax=ax)
    assert "not decidable" in words(ax)
    assert "stands out" in words(ax)


def test_pairs_carry_their_difference(ax):
    a, b = [12.6, 12.5, 12.6], [12.58, 12.4, 12.3]
    plots.pairs_by_month([1, 2, 3], a, b, low_volt=12.4, healthy_difference_volt=0.05, ax=ax)
    assert "0.30 V" in words(ax)
    assert "0.02 V" not in words(ax)
