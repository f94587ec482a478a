"""Limits and part kinds: what a reading is compared with, and what holds for parts of a kind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ohmward import _core, _datasets
from ohmward._laws import law_from_table
from ohmward._toml import TomlFile
from ohmward._units import quantity_kinds, unit_factor

__all__ = ["Limits", "PartKinds", "read_limits", "read_part_kinds"]

_LIMIT_KEYS = (
    "id", "quantity", "applies_to", "lower", "upper", "per_volt", "strict", "unit", "working_volt",
    "reference_celsius", "required_test_voltage_volt", "required_test_ampere", "late_second", "early_second", "repeats",
    "rule", "authority", "of", "source", "edition", "valid_from", "note",
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


def _rule(file: TomlFile, entry: Mapping[str, Any]) -> tuple[float, float] | None:
    path = ("limit", "rule")
    rule = file.check_keys(entry.get("rule", {"kind": "guarded"}), ("kind", "multiple", "coverage_factor"), *path)
    if file.choice(rule, "kind", {"simple": True, "guarded": False}, *path):
        return None
    return file.number(rule, "multiple", *path, default=1.0), file.number(rule, "coverage_factor", *path, default=2.0)


def _limit(file: TomlFile, entry: Mapping[str, Any]) -> _core.assessment.LimitEntry:
    path = ("limit",)
    file.check_keys(entry, _LIMIT_KEYS, *path)
    raw = _core.assessment.LimitEntry()
    raw.id = file.needed_text(entry, "id", *path)
    raw.quantity = file.choice(entry, "quantity", quantity_kinds(), *path)
    factor = unit_factor(file, entry, raw.quantity, *path)
    raw.applies_to = dict(
        file.check_keys(entry.get("applies_to", {}), _core.assessment.scope_names, *path, "applies_to")
    )
    raw.lower = factor * file.number(entry, "lower", *path)
    raw.upper = factor * file.number(entry, "upper", *path)
    raw.per_volt = factor * file.number(entry, "per_volt", *path)
    raw.working_volt = file.number(entry, "working_volt", *path)
    raw.strict = file.flag(entry, "strict", *path)
    raw.reference_celsius = file.number(entry, "reference_celsius", *path)
    raw.required_test_voltage_volt = file.number(entry, "required_test_voltage_volt", *path)
    raw.required_test_ampere = file.number(entry, "required_test_ampere", *path)
    raw.late_second = file.number(entry, "late_second", *path)
    raw.early_second = file.number(entry, "early_second", *path)
    if "repeats" in entry:
        raw.repeats = file.choice(entry, "repeats", {each.name: each for each in _core.assessment.Repeats}, *path)
    raw.guard_factors = _rule(file, entry)
    raw.authority = file.choice(entry, "authority", {each.name: each for each in _core.assessment.Authority}, *path)
    raw.whole = file.choice(entry, "of", {"whole": True, "part": False}, *path, default=False)
    raw.source = file.text(entry, "source", *path) or ""
    raw.edition = file.text(entry, "edition", *path) or ""
    raw.valid_from_day = file.day(entry, "valid_from", *path, default=-_FAR)
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
    file = TomlFile.read(path, name="limits")
    own = Limits([_limit(file, entry) for entry in file.tables("limit")])
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
    file = TomlFile.read(path, name="part kinds")
    own = PartKinds([_part_kind(file, entry) for entry in file.tables("part_kind")])
    return own.over(shipped_part_kinds()) if with_shipped else own


def _part_kind(file: TomlFile, entry: Mapping[str, Any]) -> _core.assessment.PartKind:
    path = ("part_kind",)
    file.check_keys(entry, _PART_KIND_KEYS, *path)
    raw = _core.assessment.PartKind()
    raw.id = file.needed_text(entry, "id", *path)
    raw.law = law_from_table(file, entry.get("law", {"kind": "none"}), *path, "law")
    raw.capacitance_low_farad = file.number(entry, "capacitance_low_farad", *path)
    raw.capacitance_high_farad = file.number(entry, "capacitance_high_farad", *path)
    raw.allowed_test_voltage_volt = file.number(entry, "allowed_test_voltage_volt", *path)
    raw.network = file.flag(entry, "network", *path)
    raw.whole = raw.id in _WHOLE_KINDS
    raw.source = file.text(entry, "source", *path) or ""
    return raw


def shipped_limits() -> Limits:
    """Return the limits of published rules that come with the library."""
    return read_limits(_datasets.path("tables", "limits.toml"), with_shipped=False)


def shipped_part_kinds() -> PartKinds:
    """Return the part kinds that come with the library."""
    return read_part_kinds(_datasets.path("tables", "part_kinds.toml"), with_shipped=False)
