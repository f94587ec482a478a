"""One job: what was read and done, judged against the plan that the workshop wrote for that kind of work.

A plan names the links that a kind of work must leave behind; a record is complete when every link is there and counts.
The record itself never decides what was needed. Nothing here says that a vehicle is safe.
"""

from __future__ import annotations

import csv
import datetime
import html
import io
import math
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ohmward import _datasets
from ohmward._assess import assess
from ohmward._column_map import read_column_map
from ohmward._core import assessment as _assessment
from ohmward._core import highvoltage as _hv
from ohmward._core import readings as _readings
from ohmward._core import record as _record
from ohmward._core.core import Censoring
from ohmward._toml import TomlFile
from ohmward.instruments import Instruments, read_instruments
from ohmward.limits import Limits, PartKinds, read_limits
from ohmward.readings import Readings
from ohmward.results import Results

__all__ = [
    "Job",
    "Link",
    "LinkResult",
    "Plan",
    "Record",
    "demo_jobs",
    "judge",
    "read_job",
    "read_plan",
    "shipped_plans",
]

_SCOPE = (
    "part", "part_kind", "quantity", "from_point", "to_point", "circuit_side", "stage", "connected", "polarity", "wires"
)  # fmt: skip
_COLUMNS = (
    "reading_id", "object_id", "object_kind", "part", "part_kind", "quantity", "value", "unit", "taken_at",
    "instrument_id", "test_voltage_volt", "from_point", "to_point", "job_id", "step", "stage", "connected",
    "circuit_side", "part_celsius", "part_celsius_u", "ambient_celsius", "humidity_percent", "surface",
    "elapsed_second", "run_id", "early_second", "reference_value", "applied_volt", "capacitance_farad", "null_ohm",
    "wires", "test_ampere", "polarity", "rest_hour", "battery_type", "cells", "guard", "range", "pair_id", "origin",
    "taken_by", "doubt", "note",
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


# Plans ---------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Link:
    """One link that a plan expects."""

    check: str
    title: str
    weight: int
    may_be_left_out: bool = False
    where: Mapping[str, str] = field(default_factory=dict)  #: columns that a reading of it must have


@dataclass(frozen=True)
class Plan:
    """The links that a kind of work must leave behind."""

    id: str
    title: str
    links: tuple[Link, ...]
    source: str = ""

    def __repr__(self) -> str:
        """Return the links as a list."""
        return "\n".join([f"{self.id}: {self.title}", *(f"  {link.title}" for link in self.links)])


def _title(check: str, where: Mapping[str, str]) -> str:
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
    keys = ("check", "title", "weight", "may_be_left_out", "pairs", *_SCOPE)
    file.check_keys(entry, keys, "link")
    check = file.needed_text(entry, "check", "link")
    where = {key: file.needed_text(entry, key, "link") for key in _SCOPE if key in entry}
    weight = file.number(entry, "weight", "link", default=float(_record.usual_weight(check)))
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
        title = file.text(entry, "title", "link") or _title(check, places)
        found.append(Link(check, title, int(weight), file.flag(entry, "may_be_left_out", "link"), places))
    return found


def read_plan(source: str | os.PathLike[str] | Mapping[str, Any]) -> Plan:
    """
    Read a plan file.

    Parameters
    ----------
    source : path or mapping
        ``[plan]`` with ``id`` and ``title``; one ``[[link]]`` each with ``check`` and, optionally, ``title``,
        ``weight`` (greater is told first), ``may_be_left_out``, ``pairs`` and columns that a reading must have.

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
    file.check_keys(file.data, ("plan", "link"))
    head = file.check_keys(file.data.get("plan", {}), ("id", "title"), "plan")
    entries = file.data.get("link", [])
    if not isinstance(entries, list) or not entries:
        raise file.error("link", what="is missing: a plan names at least one [[link]]")
    links = [link for entry in entries for link in _links(file, entry)]
    plan_id = file.needed_text(head, "id", "plan")
    return Plan(plan_id, file.text(head, "title", "plan") or plan_id, tuple(links), file.name)


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


# Jobs ----------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Job:
    """What one job left behind, as written down."""

    job_id: str
    object_id: str
    plan: str
    readings: tuple[Mapping[str, Any], ...] = ()
    evidence: tuple[Mapping[str, Any], ...] = ()
    not_applicable: tuple[Mapping[str, Any], ...] = ()
    repeats: tuple[Mapping[str, Any], ...] = ()
    work: str = ""
    file: str = ""

    def readings_as_csv(self) -> bytes:
        """The readings as a table of the documented columns, with `check` kept."""
        names = [name for name in _COLUMNS if any(name in reading for reading in self.readings)]
        names = list(dict.fromkeys(["reading_id", "object_id", "job_id", *names, "check"]))
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(names)
        for number, reading in enumerate(self.readings):
            cells = {"reading_id": self.reading_id(number), "object_id": self.object_id, "job_id": self.job_id} | dict(
                reading
            )
            cells["reading_id"] = self.reading_id(number)
            writer.writerow([_cell(cells.get(name)) for name in names])
        return out.getvalue().encode()

    def reading_id(self, number: int) -> str:
        """Name of a reading by its position."""
        return f"{self.job_id}/{number + 1}"


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return value.isoformat() if isinstance(value, datetime.date | datetime.time) else str(value)


def read_job(source: str | os.PathLike[str] | Mapping[str, Any]) -> Job:
    """
    Read the record of one job.

    Parameters
    ----------
    source : path or mapping
        ``[job]`` with ``job_id``, ``object_id``, ``plan``; ``[[reading]]`` with the columns of a reading and ``check``;
        ``[[evidence]]`` with ``step, check, done, because`` and durations ``waited_second`` or ``waited_hour``;
        ``[[not_applicable]]`` with ``check, because``; ``[[repeat]]`` with ``step, of, because``.

    Returns
    -------
    Job

    Raises
    ------
    ValueError
        Naming file, line and key.

    Examples
    --------
    >>> read_job({"job": {"job_id": "J-1", "object_id": "SW-14", "plan": "motor"}}).plan
    'motor'
    """
    file = TomlFile.read(source, name="record")
    file.check_keys(file.data, ("job", "reading", "evidence", "not_applicable", "repeat"))
    head = file.check_keys(file.data.get("job", {}), ("job_id", "object_id", "plan", "work"), "job")
    keys = {
        "reading": ("check", *_COLUMNS),
        "evidence": ("step", "check", "done", "because", "waited_second", "waited_hour", *_SCOPE),
        "not_applicable": ("check", "because", *_SCOPE),
        "repeat": ("step", "of", "because"),
    }
    tables: dict[str, tuple[Mapping[str, Any], ...]] = {}
    for name, allowed in keys.items():
        entries = file.data.get(name, [])
        if not isinstance(entries, list):
            raise file.error(name, what=f"is {entries!r}, expected tables [[{name}]]")
        tables[name] = tuple(file.check_keys(entry, allowed, name) for entry in entries)
    return Job(
        job_id=file.needed_text(head, "job_id", "job"),
        object_id=file.needed_text(head, "object_id", "job"),
        plan=file.text(head, "plan", "job") or "",
        work=file.text(head, "work", "job") or "",
        readings=tables["reading"],
        evidence=tables["evidence"],
        not_applicable=tables["not_applicable"],
        repeats=tables["repeat"],
        file=file.name,
    )


def demo_jobs() -> dict[str, Job]:
    """
    Return the invented jobs that ship with the package, each with one gap or none, by name.

    Examples
    --------
    >>> demo_jobs()["complete"].plan
    'converter'
    """
    files = sorted(_datasets.path("jobs").glob("*.toml"))
    return {path.stem: read_job(path) for path in files if path.stem != "truth"}


# Judging -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class LinkResult:
    """One link of the plan and what the record holds of it."""

    title: str
    check: str
    state: str  #: met, left out with a reason, met within the uncertainty, not decided, limit missed, void, missing
    cause: str
    shown: str  #: as written
    interval: str
    limit: str
    next_action: str
    because: str = ""

    @property
    def needs_attention(self) -> bool:
        """Whether the link is not simply met."""
        return self.cause != ""


@dataclass(frozen=True)
class Record:
    """A job judged against its plan, on two axes, with what is missing in order of weight."""

    job: Job
    plan: Plan | None
    completeness: str  #: complete, incomplete
    conformity: str  #: conforming, not conforming, not decided
    links: tuple[LinkResult, ...]
    groups: tuple[tuple[str, tuple[str, ...]], ...]  #: cause and titles of its links, the weightiest first
    cautions: tuple[str, ...]  #: what the dead readings can not exclude
    notes: tuple[str, ...]  #: unreadable rows, repeats without a target, times that run backwards
    unplanned_fails: tuple[str, ...]
    results: Results

    @property
    def first_three(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """The three causes that matter first, each with its links."""
        return self.groups[:3]

    def __repr__(self) -> str:
        """Return the state and what matters first as text."""
        lines = [f"{self.job.job_id}, {self.job.object_id}: {self.completeness}, {self.conformity}"]
        lines += [f"  {cause}: {'; '.join(titles)}" for cause, titles in self.first_three]
        lines += [f"  {note}" for note in self.notes]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        return f"<pre>{html.escape(repr(self))}</pre>"

    def write_report(self, path: str | Path, *, today: datetime.date | None = None) -> Path:
        """
        Write one self-contained page: what is missing first, then every link in order.

        Parameters
        ----------
        path : str or Path
            File to write.
        today : date, optional
            Date printed on the page; default: the day of the call.

        Returns
        -------
        Path
        """
        from ohmward import _report_job

        return _report_job.write(self, Path(path), today or datetime.date.today())


def _known(value: object) -> float:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else math.nan


def _same(reading: Mapping[str, Any], where: Mapping[str, str]) -> bool:
    """Whether a reading has the columns that a link names; the order of the two points does not matter."""
    points = [where[key] for key in ("from_point", "to_point") if key in where]
    own = [reading.get("from_point"), reading.get("to_point")]
    if points and (sorted(points) != sorted(str(point) for point in own) if len(points) == 2 else points[0] not in own):
        return False
    return all(reading.get(key) == word for key, word in where.items() if key not in ("from_point", "to_point"))


def _is_check(reading: Mapping[str, Any]) -> bool:
    return str(reading.get("check", "")).startswith("source_") or (
        reading.get("stage") == "meter_check" and reading.get("part") == "known_source"
    )


class _Judging:
    """Gathers entries for the compiled judge."""

    def __init__(self, job: Job, plan: Plan | None, results: Results, readings: Readings) -> None:
        self.job = job
        self.links = plan.links if plan else ()
        self.results = results
        self.notes: list[str] = []
        self.entries: list[tuple[int, Any, int, int, bool, bool, bool]] = []
        self.about: list[tuple[str, str, str, str, str]] = []  # shown, interval, limit, next action, because
        table = results._rows.table
        self.row_of = {number: table.row_of(job.reading_id(number)) for number in range(len(job.readings))}
        self.rejected = {found.line - 2: f"{found.column} '{found.text}': {found.why}" for found in readings.rejected}
        self.superseded = self._superseded()
        self.proof = self._prove_dead()

    def _number_with_step(self, step: Any) -> int | None:
        wanted = _known(step)
        return next((i for i, reading in enumerate(self.job.readings) if _known(reading.get("step")) == wanted), None)

    def _superseded(self) -> set[int]:
        """Readings that a later one of the same link was declared to repeat, with a reason."""
        found = set()
        for repeat in self.job.repeats:
            later, earlier = self._number_with_step(repeat.get("step")), self._number_with_step(repeat.get("of"))
            told = f"repeat of step {repeat.get('of')} by step {repeat.get('step')}"
            if later is None or earlier is None:
                self.notes.append(f"{told}: no such reading, so it replaces nothing")
            elif not str(repeat.get("because", "")).strip():
                self.notes.append(f"{told}: no reason given, so it replaces nothing")
            elif not _known(repeat["step"]) > _known(repeat["of"]) or not self._same_link(later, earlier):
                self.notes.append(f"{told}: not a later reading of the same link, so it replaces nothing")
            elif self.row_of[later] is None:
                self.notes.append(f"{told}: the later reading can not be read, so it replaces nothing")
            else:
                found.add(earlier)
        return found

    def _same_link(self, first: int, second: int) -> bool:
        keys = ("check", "part", "quantity", "circuit_side")
        a, b = self.job.readings[first], self.job.readings[second]
        points = [sorted(str(one.get(key)) for key in ("from_point", "to_point")) for one in (a, b)]
        return points[0] == points[1] and all(a.get(key) == b.get(key) for key in keys)

    def _prove_dead(self) -> tuple[dict[int, Mapping[str, Any]], tuple[str, ...]]:
        """The voltage rows by number, judged with their brackets, and what they can not exclude."""
        table, columns = self.results._rows.table, self.results._columns
        numbers = [
            number
            for number, reading in enumerate(self.job.readings)
            if self.row_of[number] is not None
            and reading.get("quantity") in ("dc_voltage", "ac_voltage")
            and (_is_check(reading) or reading.get("check") == "dead" or _pair(reading) != _hv.Pair.unknown)
        ]
        rows = [self.row_of[number] for number in numbers]
        order, backwards = _hv.order_of(
            step=[_known(self.job.readings[number].get("step")) for number in numbers],
            second=[int(table.taken_at_second[row]) for row in rows],
            has_time=[bool(int(table.taken_at_form[row]) & 1) for row in rows],
        )
        if backwards:
            self.notes.append("times run backwards against the steps: the steps decide")
        codes: dict[str, int] = {}
        ordered = [numbers[i] for i in order]
        voltages = []
        for number in ordered:
            reading, row = self.job.readings[number], self.row_of[number]
            one = _hv.VoltageRow()
            one.is_check = _is_check(reading)
            one.function = _hv.Function.dc if reading["quantity"] == "dc_voltage" else _hv.Function.ac
            one.instrument = _code(codes, reading.get("instrument_id"))
            one.range = _code(codes, reading.get("range"))
            one.value_volt = float(columns["value"][row])
            one.censoring = Censoring(int(columns["censoring"][row]))
            one.standard_uncertainty_volt = float(columns["standard_uncertainty"][row])
            one.input_ohm = self._input_ohm(reading.get("instrument_id"))
            one.reference_volt = _known(reading.get("reference_value"))
            one.pair, one.side = _pair(reading), _hv.side_of(str(reading.get("circuit_side", "")))
            one.superseded = number in self.superseded
            voltages.append(one)
        found = _hv.prove_dead(voltages, _hv.DeadPolicy())
        judged = dict(zip(ordered, found["rows"], strict=True))
        return judged, found["cautions"] if voltages else ()

    def _input_ohm(self, instrument_id: Any) -> float:
        if instrument_id is None or instrument_id not in self.results.instruments:
            return math.nan
        return float(self.results.instruments[instrument_id]._raw.input_ohm)

    def _link_of(self, entry: Mapping[str, Any]) -> int:
        """First planned link that an entry fits."""
        for number, link in enumerate(self.links):
            if entry.get("check") == link.check and _same(entry, link.where):
                return number
        return _record.unplanned

    def add_readings(self) -> None:
        columns, rows = self.results._columns, self.results._rows
        for number, reading in enumerate(self.job.readings):
            row = self.row_of[number]
            link, superseded = self._link_of(reading), number in self.superseded
            if row is None:
                why = self.rejected.get(number, "the row can not be read")
                self.notes.append(f"reading {number + 1} of the record was rejected: {why}")
                continue  # what can not be read is no evidence: its link stays missing
            dead = self.proof[0].get(number)
            _, interval = self.results._shown(row)
            about = (
                rows.as_written(row),
                interval,
                self.results._limit_shown(row),
                _assessment.action_texts[columns["action"][row]],
                dead["bracket"] or dead["text"] if dead else "",
            )
            if _is_check(reading):
                self._add(
                    link, _record.Kind.meter_check, good=bool(dead and dead["good"]), superseded=superseded, about=about
                )
            else:
                verdict = int(columns["verdict"][row])
                unknown_meter = str(reading.get("instrument_id")) not in list(self.results.instruments)
                if (dead and dead["contradicts"]) or unknown_meter:  # a class bound is no evidence in a job's record
                    verdict = max(verdict, 5) if verdict not in (3, 4) else verdict
                self._add(
                    link,
                    _record.Kind.reading,
                    verdict=verdict,
                    findings=int(columns["findings"][row]),
                    superseded=superseded,
                    about=about,
                )

    def add_evidence(self) -> None:
        for entry in self.job.evidence:
            because = str(entry.get("because", ""))
            waited = (
                f"{entry['waited_second']} s"
                if "waited_second" in entry
                else f"{entry['waited_hour']} h"
                if "waited_hour" in entry
                else ""
            )
            shown = "done" if entry.get("done") is True else "not done"
            self._add(
                self._link_of(entry), _record.Kind.evidence, good=entry.get("done") is True,
                has_reason=bool(because.strip()),
                about=(" ".join(text for text in (shown, waited) if text), "", "", "", because),
            )  # fmt: skip
        for entry in self.job.not_applicable:
            because = str(entry.get("because", ""))
            where = {key: str(value) for key, value in entry.items() if key in _SCOPE}
            for number, link in enumerate(self.links):
                if link.check == entry.get("check") and all(link.where.get(key) == word for key, word in where.items()):
                    self._add(
                        number,
                        _record.Kind.left_out,
                        has_reason=bool(because.strip()),
                        about=("not applicable", "", "", "", because),
                    )

    def _add(
        self,
        link: int,
        kind: Any,
        *,
        verdict: int = 0,
        findings: int = 0,
        good: bool = False,
        has_reason: bool = False,
        superseded: bool = False,
        about: tuple[str, str, str, str, str],
    ) -> None:
        self.entries.append((link, kind, verdict, findings, good, has_reason, superseded))
        self.about.append(about)


def _pair(reading: Mapping[str, Any]) -> _hv.Pair:
    return _hv.pair_of(str(reading.get("from_point", "")), str(reading.get("to_point", "")))


def _code(codes: dict[str, int], word: Any) -> int:
    return -1 if word in (None, "") else codes.setdefault(str(word), len(codes))


_NEXT = {
    "nothing written down": "do it and write it down",
    "meter not proven on a known source before and after": "prove the meter before and after, read every pair again",
    "check of the meter not good, or its known value not written down": "check the meter, write down both values",
    "written down as not done": "do it, or write down why it does not apply",
    "left out without a reason": "write down why it does not apply",
    "the plan does not let it be left out": "do it: the plan asks for it",
    "two readings disagree and none is declared to repeat the other": "read again, write down what it repeats",
}


def judge(
    job: Job | str | Path | Mapping[str, Any],
    *,
    plans: Plan | Iterable[Plan] | Mapping[str, Plan] | None = None,
    instruments: Instruments | str | Path | None = None,
    limits: Limits | str | Path | None = None,
    part_kinds: PartKinds | None = None,
) -> Record:
    """
    Judge one job: each reading against its limit, and the chain against the plan.

    Parameters
    ----------
    job : Job, path or mapping
        See :func:`read_job`.
    plans : Plan, plans or mapping by id, optional
        Default: the shipped examples. A job whose plan is not among them is incomplete and not decided.
    instruments, limits, part_kinds : optional
        As :func:`ohmward.assess`.

    Returns
    -------
    Record

    Examples
    --------
    >>> import ohmward as ow
    >>> depot = ow.demo()
    >>> judge(demo_jobs()["source_after_missing"], instruments=depot.instruments, limits=depot.limits)
    J-02, SW-14: incomplete, not decided
      nothing written down: known source after
      meter not proven on a known source before and after: dead check: HV+ to HV-, load side; ...
    """
    own = job if isinstance(job, Job) else read_job(job)
    plan = _plans_by_id(plans).get(own.plan)
    readings = Readings(_readings.parse(own.readings_as_csv(), read_column_map(None), own.file or own.job_id), "")
    meters = read_instruments(instruments) if isinstance(instruments, str | Path) else instruments
    rules = read_limits(limits) if isinstance(limits, str | Path) else limits
    results = assess(readings, instruments=meters, limits=rules, part_kinds=part_kinds, screen=False)

    judging = _Judging(own, plan, results, readings)
    judging.add_readings()
    judging.add_evidence()
    if plan is None:
        judging.notes.insert(0, f"plan '{own.plan}' is not known: what was needed can not be told")
    found = _record.judge(
        plan=[(link.check, link.weight, link.may_be_left_out) for link in judging.links], entries=judging.entries
    )
    links = tuple(
        _link_result(link, state, cause, judging.about[entry] if entry >= 0 else _NOTHING)
        for link, (state, cause, entry) in zip(judging.links, found["links"], strict=True)
    )
    titles = [link.title for link in judging.links]
    return Record(
        job=own,
        plan=plan,
        completeness=found["completeness"],
        conformity=found["conformity"],
        links=links,
        groups=tuple((cause, tuple(titles[i] for i in members)) for cause, _, members in found["groups"]),
        cautions=judging.proof[1],
        notes=tuple(judging.notes),
        unplanned_fails=tuple(_unplanned(judging, entry) for entry in found["failing_unplanned"]),
        results=results,
    )


def _plans_by_id(plans: Plan | Iterable[Plan] | Mapping[str, Plan] | None) -> Mapping[str, Plan]:
    if plans is None:
        return shipped_plans()
    if isinstance(plans, Plan):
        return {plans.id: plans}
    return plans if isinstance(plans, Mapping) else {plan.id: plan for plan in plans}


_About = tuple[str, str, str, str, str]  # shown, interval, limit, next action, because
_NOTHING: _About = ("", "", "", "", "")


def _link_result(link: Link, state: str, cause: str, about: _About) -> LinkResult:
    shown, interval, limit, action, because = about
    what_next = _NEXT.get(cause, action) if cause else ""
    return LinkResult(link.title, link.check, state, cause, shown, interval, limit, what_next, because)


def _unplanned(judging: _Judging, entry: int) -> str:
    reading = judging.job.readings[entry]
    where = {key: str(reading[key]) for key in _SCOPE if key in reading}
    shown, _, limit, *_ = judging.about[entry]
    return f"{_title(str(reading.get('check', 'reading')), where)}: {shown}, limit {limit}"
