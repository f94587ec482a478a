"""Ohmward turns collected workshop readings into defensible statements.

It says how uncertain a reading is on its meter, what it means at its temperature, whether it meets its limit given that
uncertainty, what is missing, and what would settle it. It never says that something is safe.
"""

from importlib import import_module
from typing import Any

from ohmward._assess import Batch, assess, demo
from ohmward._core import __version__
from ohmward._core.core import Censoring, Finding, QuantityKind, Status
from ohmward.instruments import read_instruments
from ohmward.limits import read_limits, read_part_kinds
from ohmward.readings import read_readings
from ohmward.results import Results

__all__ = [
    "Batch",
    "Censoring",
    "Finding",
    "QuantityKind",
    "Results",
    "Status",
    "__version__",
    "assess",
    "demo",
    "read_instruments",
    "read_limits",
    "read_part_kinds",
    "read_readings",
]

_ROOMS = (
    "battery",
    "conformity",
    "fleet",
    "highvoltage",
    "insulation",
    "logging",
    "plots",
    "record",
    "screening",
    "statistics",
    "temperature",
    "thresholds",
    "uncertainty",
)


def __getattr__(name: str) -> Any:
    if name in _ROOMS:
        return import_module(f"ohmward.{name}")
    raise AttributeError(f"module 'ohmward' has no attribute {name!r}")
