"""Plans: the links that a kind of work must leave behind, as a workshop's own file names them."""

from __future__ import annotations

import dataclasses
import math
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ohmward import _datasets
from ohmward._core import highvoltage as _hv
from ohmward._core import record as _record
from ohmward._toml import TomlFile

__all__ = ["SCOPE", "Link", "Plan", "link_title", "plans_by_id", "read_plan", "shipped_plans"]

#: Columns of a reading by which a plan tells its links apart.
SCOPE = (
    "part", "part_kind", "quantity", "from_point", "to_point", "circuit_side", "stage", "connected", "polarity", "wires"
)  # fmt: skip
_NAMES = {
    "source_before": "known source before",
    "source_after": "known source after",
    "dead": "dead check",
    "isolation": "isolation as found",
    "incoming_part": "isolation of the new part",
    "whole_after": "isolation after work",
    "bonding": "bonding",
    "contact_proof": "proof of contact",
    "discharge_after_test": "discharged after the test",
    "locked": "locked against switching on",
    "plug_out": "service plug out",
    "monitor_off": "isolation monitor off",
    "waited": "waited for discharge",
    "visual": "looked at",
    "interlock": "interlock loop",
}


@dataclass(frozen=True)
class Link:
    """One link that a plan expects."""

    check: str
    title: str
    weight: int
    may_be_left_out: bool = False
    where: Mapping[str, str] = field(default_factory=dict)  #: columns that a reading of it must have
    least_second: float = 0.0  #: evidence of waiting must say at least this [s]


@dataclass(frozen=True)
class Plan:
    """The links that a kind of work must leave behind."""

    id: str
    title: str
    links: tuple[Link, ...]
    source: str = ""
    near_zero_volt: float | None = None  #: a dead reading must lie below this too; None: the limits alone say
    check_tolerance: float | None = None  #: of a meter on its known source; None: the usual tenth

    def dead_policy(self) -> _hv.DeadPolicy:
        """What a proof of dead expects under this plan."""
        policy = _hv.DeadPolicy()
        if self.near_zero_volt is not None:
            policy.near_zero_volt = self.near_zero_volt
        if self.check_tolerance is not None:
            policy.check_tolerance = self.check_tolerance
        return policy

    def __repr__(self) -> str:
        """Return the links as a list."""
        return "\n".join([f"{self.id}: {self.title}", *(f"  {link.title}" for link in self.links)])


def link_title(check: str, where: Mapping[str, str]) -> str:
    """Name of a link for people."""
    name = _NAMES.get(check, check.replace("_", " "))
    points = " to ".join(
        where[key].replace("hv_plus", "HV+").replace("hv_minus", "HV-")
        for key in ("from_point", "to_point")
        if key in where
    )
    side = f"{where['circuit_side']} side" if "circuit_side" in where else ""
    about = ", ".join(text for text in (where.get("part", "").replace("_", " "), points, side) if text)
    return f"{name}: {about}" if about else name


def _links(file: TomlFile, entry: Mapping[str, Any]) -> list[Link]:
    keys = ("check", "title", "weight", "may_be_left_out", "pairs", "least_second", *SCOPE)
    file.check_keys(entry, keys, "link")
    check = file.needed_text(entry, "check", "link")
    where = {key: file.needed_text(entry, key, "link") for key in SCOPE if key in entry}
    weight = file.number(entry, "weight", "link", default=float(_record.usual_weight(check)))
    least = file.number(entry, "least_second", "link", default=0.0)
    if not 0 <= least < math.inf:
        raise file.error("link", "least_second", what=f"is {least!r}, expected a time of 0 s or more")
    pairs = entry.get("pairs", [None])
    if not isinstance(pairs, list) or not pairs:
        raise file.error("link", "pairs", what=f"is {pairs!r}, expected a list of pairs of points")
    found = []
    for pair in pairs:
        points: dict[str, str] = {}
        if pair is not None:
            if not isinstance(pair, list) or len(pair) != 2 or not all(isinstance(point, str) for point in pair):
                raise file.error("link", "pairs", what=f"holds {pair!r}, expected two points")
            points = {"from_point": pair[0], "to_point": pair[1]}
        places = where | points
        title = file.text(entry, "title", "link") or link_title(check, places)
        found.append(Link(check, title, int(weight), file.flag(entry, "may_be_left_out", "link"), places, least))
    return found


def _dead_settings(file: TomlFile, plan: Plan) -> Plan:
    """The plan with what its table `[dead]` says, refused where it makes no sense."""
    entry = file.check_keys(file.data.get("dead", {}), ("near_zero_volt", "check_tolerance"), "dead")
    near_zero, tolerance = (
        file.number(entry, key, "dead") if key in entry else None for key in ("near_zero_volt", "check_tolerance")
    )
    plan = dataclasses.replace(plan, near_zero_volt=near_zero, check_tolerance=tolerance)
    try:
        _hv.prove_dead([], plan.dead_policy())
    except ValueError as error:
        raise file.error("dead", what=f"makes no sense: {error}") from None
    return plan


def read_plan(source: str | os.PathLike[str] | Mapping[str, Any]) -> Plan:
    """
    Read a plan file.

    Parameters
    ----------
    source : path or mapping
        ``[plan]`` with ``id`` and ``title``; one ``[[link]]`` each with ``check`` and, optionally, ``title``,
        ``weight`` (greater is told first), ``may_be_left_out``, ``pairs``, ``least_second`` (of waiting) and columns
        that a reading must have. ``[dead]`` with ``near_zero_volt`` (a dead reading must lie below it besides the limit
        that applies; source of the usual 6 V: ``near-zero-voltage``) and ``check_tolerance`` (greatest relative
        difference of a meter on its known source; source of the usual 0.1: ``check-tolerance``).

    Returns
    -------
    Plan

    Raises
    ------
    ValueError
        Naming file, line and key.

    Examples
    --------
    >>> plan = read_plan({"plan": {"id": "wheels-off", "title": "Look under the floor"},
    ...                   "link": [{"check": "dead", "pairs": [["hv_plus", "hv_minus"]], "circuit_side": "load"}]})
    >>> plan
    wheels-off: Look under the floor
      dead check: HV+ to HV-, load side
    """
    file = TomlFile.read(source, name="plan")
    file.check_keys(file.data, ("plan", "link", "dead"))
    head = file.check_keys(file.data.get("plan", {}), ("id", "title"), "plan")
    entries = file.data.get("link", [])
    if not isinstance(entries, list) or not entries:
        raise file.error("link", what="is missing: a plan names at least one [[link]]")
    links = [link for entry in entries for link in _links(file, entry)]
    plan_id = file.needed_text(head, "id", "plan")
    plan = Plan(plan_id, file.text(head, "title", "plan") or plan_id, tuple(links), file.name)
    return _dead_settings(file, plan)


def shipped_plans() -> dict[str, Plan]:
    """
    Return the example plans that ship with the package, by id. They are invented; a workshop writes its own.

    Examples
    --------
    >>> sorted(shipped_plans())
    ['battery', 'charger', 'converter', 'inspection', 'motor']
    """
    plans = (read_plan(path) for path in sorted(_datasets.path("plans").glob("*.toml")))
    return {plan.id: plan for plan in plans}


def plans_by_id(plans: Plan | Iterable[Plan] | Mapping[str, Plan] | None) -> Mapping[str, Plan]:
    """Plans as a mapping; none given means the shipped examples."""
    if plans is None:
        return shipped_plans()
    if isinstance(plans, Plan):
        return {plans.id: plans}
    return plans if isinstance(plans, Mapping) else {plan.id: plan for plan in plans}
