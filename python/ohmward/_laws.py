"""Temperature laws as the part-kind files state them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from ohmward._core import temperature as _core
from ohmward._toml import TomlFile

_RANGE = ("fitted_low_celsius", "fitted_high_celsius")
_KEYS = {
    "none": (),
    "halving": ("step_kelvin", "step_standard_uncertainty_kelvin", *_RANGE),
    "arrhenius": ("activation_energy_electronvolt", "activation_energy_standard_uncertainty_electronvolt", *_RANGE),
    "conductor": ("tau_kelvin", "tau_standard_uncertainty_kelvin", *_RANGE),
    "thermosetting": ("relative_standard_uncertainty",),
    "table": ("points", "relative_standard_uncertainty"),
    "oil_immersed": (),
    "solid": (),
}
_MAKERS: dict[str, Callable[..., _core.Law]] = {
    "none": _core.Law,
    "halving": _core.halving,
    "arrhenius": _core.arrhenius,
    "conductor": _core.conductor,
    "thermosetting": _core.thermosetting,
    "table": _core.factor_table,
    "oil_immersed": _core.oil_immersed,
    "solid": _core.solid,
}
_DEFAULTS = {"fitted_low_celsius": -math.inf, "fitted_high_celsius": math.inf}


def law_from_table(file: TomlFile, entry: object, *path: str) -> _core.Law:
    """Make the law that a table `{kind = "halving", step_kelvin = 10, ...}` states."""
    if not isinstance(entry, Mapping):
        raise file.error(*path, what=f'is {entry!r}, expected a table such as {{ kind = "none" }}')
    kind = file.choice(entry, "kind", {name: name for name in _KEYS}, *path)
    file.check_keys(entry, ("kind", *_KEYS[kind]), *path)
    arguments: dict[str, Any] = {
        key: file.number(entry, key, *path, default=_DEFAULTS.get(key, math.nan))
        for key in _KEYS[kind]
        if key != "points"
    }
    if kind == "table":
        arguments["points"] = [tuple(point) for point in entry.get("points", [])]
    return _MAKERS[kind](**arguments)
