"""Plots of readings and results. Every one takes ``ax=`` and returns it; Matplotlib is needed only here.

Marks differ in shape and carry words; colour only repeats what they say.
"""

from ohmward._plots_battery import pack_bars, pairs_by_month, posterior_on_curve, relaxation_fan
from ohmward._plots_depot import (
    attention,
    battery_by_month,
    bonding_session,
    object_over_time,
    quantity_by_kind,
)
from ohmward._plots_highvoltage import chain, decay, ladder
from ohmward._plots_insulation import forecast_fan, run_in_time, step_test, trend_of_part
from ohmward._plots_thresholds import decision_curve, roc, score_distributions, survival_by_band
from ohmward._plots_uncertainty import budget_bars, monte_carlo_histogram, operating_characteristic

__all__ = [
    "attention",
    "battery_by_month",
    "bonding_session",
    "budget_bars",
    "chain",
    "decay",
    "decision_curve",
    "forecast_fan",
    "ladder",
    "monte_carlo_histogram",
    "object_over_time",
    "operating_characteristic",
    "pack_bars",
    "pairs_by_month",
    "posterior_on_curve",
    "quantity_by_kind",
    "relaxation_fan",
    "roc",
    "run_in_time",
    "score_distributions",
    "step_test",
    "survival_by_band",
    "trend_of_part",
]
