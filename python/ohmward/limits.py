"""Limits and part kinds: what a reading is compared with, and what holds for parts of a kind."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ohmward import _core, _datasets, _toml, temperature

__all__ = ["Limits", "PartKinds", "read_limits", "read_part_kinds"]

_LIMIT_KEYS = (
    "id", "quantity", "applies_to", "lower", "upper", "per_volt", "strict", "unit", "working_volt",
    "reference_celsius", "required_test_voltage_volt", "required_test_ampere", "rule", "authority", "of", "source",
    "edition", "valid_from", "note",
)  # fmt: skip
_PART_KIND_KEYS = (
    "id", "law", "capacitance_low_farad", "capacitance_high_farad", "allowed_test_voltage_volt", "network", "source",
    "note",
)  # fmt: skip
_WHOLE_KINDS = ("load_side", "whole_system")
_FAR = 2**62


class Limits:
    """Limits in the order of their files. A limit of the user's own with a shipped id replaces it."""

    def __init__(self, raw: list[_core.assessment.LimitEntry]) -> None:
        self._raw = raw

    def __iter__(self) -> Iterator[_core.assessment.LimitEntry]:
        """Limit by limit."""
        return iter(self._raw)

    def __len__(self) -> int:
        """Count the limits."""
        return len(self._raw)

    def __getitem__(self, name: str) -> _core.assessment.LimitEntry:
        """Return the limit with an id."""
        for entry in self._raw:
            if entry.id == name:
                return entry
        raise KeyError(f"no limit '{name}'")

    def over(self, other: Limits) -> Limits:
        """Return these limits joined with those of another set that they do not replace."""
        own = {entry.id for entry in self._raw}
        return Limits(self._raw + [entry for entry in other if entry.id not in own])


class PartKinds:
    """Part kinds by id. A kind of the user's own replaces the shipped one of that id."""

    def __init__(self, raw: list[_core.assessment.PartKind]) -> None:
        self._raw = {kind.id: kind for kind in raw}

    def __iter__(self) -> Iterator[_core.assessment.PartKind]:
        """Kind by kind."""
        return iter(self._raw.values())

    def __len__(self) -> int:
        """Count the kinds."""
        return len(self._raw)

    def __getitem__(self, name: str) -> _core.assessment.PartKind:
        """Return the kind with an id."""
        if name not in self._raw:
            raise KeyError(f"no part kind '{name}'; known are {', '.join(sorted(self._raw))}")
        return self._raw[name]

    def over(self, other: PartKinds) -> PartKinds:
        """Return these kinds joined with those of another set that they do not replace."""
        return PartKinds(list(({kind.id: kind for kind in other} | self._raw).values()))


def _rule(entry: dict[str, Any], path: str | Path, where: str) -> tuple[float, float] | None:
    rule = entry.get("rule", {"kind": "guarded"})
    _toml.refuse_unknown(rule, ("kind", "multiple", "coverage_factor"), path, where + ".rule")
    if _toml.choice(rule, "kind", {"simple": "simple", "guarded": "guarded"}, path, where + ".rule") == "simple":
        return None
    return (
        _toml.number(rule, "multiple", path, where + ".rule", 1.0),
        _toml.number(rule, "coverage_factor", path, where + ".rule", 2.0),
    )


def _limit(entry: dict[str, Any], path: str | Path) -> _core.assessment.LimitEntry:
    raw = _core.assessment.LimitEntry()
    raw.id = _toml.text(entry, "id", path, "limit")
    where = f"limit '{raw.id}'"
    _toml.refuse_unknown(entry, _LIMIT_KEYS, path, where)
    raw.quantity = _toml.quantity(entry, path, where)
    factor = _toml.unit_factor(entry, raw.quantity, path, where)
    raw.applies_to = entry.get("applies_to", {})
    raw.lower = factor * _toml.number(entry, "lower", path, where)
    raw.upper = factor * _toml.number(entry, "upper", path, where)
    raw.per_volt = factor * _toml.number(entry, "per_volt", path, where)
    raw.working_volt = _toml.number(entry, "working_volt", path, where)
    raw.strict = _toml.choice(entry, "strict", {True: True, False: False}, path, where, default=False)
    raw.reference_celsius = _toml.number(entry, "reference_celsius", path, where)
    raw.required_test_voltage_volt = _toml.number(entry, "required_test_voltage_volt", path, where)
    raw.required_test_ampere = _toml.number(entry, "required_test_ampere", path, where)
    raw.guard_factors = _rule(entry, path, where)
    authorities = {authority.name: authority for authority in _core.assessment.Authority}
    raw.authority = _toml.choice(entry, "authority", authorities, path, where)
    raw.whole = _toml.choice(entry, "of", {"whole": True, "part": False}, path, where, default=False)
    raw.source = _toml.text(entry, "source", path, where, "")
    raw.edition = _toml.text(entry, "edition", path, where, "")
    raw.valid_from_day = _toml.day(entry, "valid_from", path, where, -_FAR)
    raw.validate()
    return raw


def read_limits(path: str | Path, *, with_shipped: bool = True) -> Limits:
    """
    Read limits from a TOML file.

    Parameters
    ----------
    path : str or Path
        File with ``[[limit]]`` tables (see ``datasets/templates``).
    with_shipped : bool, default True
        Join the shipped limits of published rules; a limit with the same ``id`` replaces the shipped one.

    Returns
    -------
    Limits

    Raises
    ------
    ValueError
        Naming file, line, limit and key.

    Examples
    --------
    >>> import ohmward as ow
    >>> limits = ow.demo().limits
    >>> any(limit.source == "un-r100-bonding" for limit in limits)
    True
    """
    document = _toml.load(path)
    _toml.refuse_unknown(document, ("limit",), path, "the file")
    own = Limits([_limit(entry, path) for entry in document.get("limit", [])])
    return own.over(shipped_limits()) if with_shipped else own


def read_part_kinds(path: str | Path, *, with_shipped: bool = True) -> PartKinds:
    """
    Read part kinds from a TOML file.

    Parameters
    ----------
    path : str or Path
        File with ``[[part_kind]]`` tables (see ``datasets/templates``).
    with_shipped : bool, default True
        Join the shipped kinds; a kind with the same ``id`` replaces the shipped one.

    Returns
    -------
    PartKinds

    Raises
    ------
    ValueError
        Naming file, line, kind and key.

    Examples
    --------
    >>> import ohmward as ow
    >>> ow.demo().part_kinds["converter"].network
    True
    """
    document = _toml.load(path)
    _toml.refuse_unknown(document, ("part_kind",), path, "the file")
    own = PartKinds([_part_kind(entry, path) for entry in document.get("part_kind", [])])
    return own.over(shipped_part_kinds()) if with_shipped else own


def _part_kind(entry: dict[str, Any], path: str | Path) -> _core.assessment.PartKind:
    raw = _core.assessment.PartKind()
    raw.id = _toml.text(entry, "id", path, "part_kind")
    where = f"part_kind '{raw.id}'"
    _toml.refuse_unknown(entry, _PART_KIND_KEYS, path, where)
    raw.law = temperature.law_from_entry(entry.get("law", {"kind": "none"}), path, where + ".law")
    raw.capacitance_low_farad = _toml.number(entry, "capacitance_low_farad", path, where)
    raw.capacitance_high_farad = _toml.number(entry, "capacitance_high_farad", path, where)
    raw.allowed_test_voltage_volt = _toml.number(entry, "allowed_test_voltage_volt", path, where)
    raw.network = bool(entry.get("network", False))
    raw.whole = raw.id in _WHOLE_KINDS
    raw.source = _toml.text(entry, "source", path, where, "")
    return raw


def shipped_limits() -> Limits:
    """Return the limits of published rules that come with the library."""
    return read_limits(_datasets.path("tables", "limits.toml"), with_shipped=False)


def shipped_part_kinds() -> PartKinds:
    """Return the part kinds that come with the library."""
    return read_part_kinds(_datasets.path("tables", "part_kinds.toml"), with_shipped=False)
