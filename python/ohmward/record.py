"""One job: what was read and done, judged against the plan that the workshop wrote for that kind of work.

A plan names the links that a kind of work must leave behind; a record is complete when every link is there and counts.
The record itself never decides what was needed. Nothing here says that a vehicle is safe.
"""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ohmward._assess import assess
from ohmward._column_map import read_column_map
from ohmward._core import readings as _readings
from ohmward._core import record as _record
from ohmward._job_findings import JobFinding, findings_of_rows, job_findings
from ohmward._job_judging import About, JobJudging
from ohmward._jobs import Job, demo_jobs, job_of_rows, read_job
from ohmward._plans import SCOPE, Link, Plan, link_title, plans_by_id, read_plan, shipped_plans
from ohmward.instruments import Instruments
from ohmward.limits import Limits, PartKinds
from ohmward.readings import Readings
from ohmward.results import Results

__all__ = [
    "Job",
    "JobFinding",
    "Link",
    "LinkResult",
    "Plan",
    "Record",
    "demo_jobs",
    "job_findings",
    "judge",
    "judge_rows",
    "read_job",
    "read_plan",
    "shipped_plans",
]


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
    results: Results  #: of the job's readings; of the whole table where the job came from one
    rows: tuple[int, ...]  #: of the job's readings in `results`

    @property
    def first_three(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """The three causes that matter first, each with its links."""
        return self.groups[:3]

    @property
    def shown_together(self) -> tuple[JobFinding, ...]:
        """What several readings of the job show together, such as the part that leaks; no verdict."""
        near_zero = self.plan.near_zero_volt if self.plan else None
        return tuple(findings_of_rows(self.results, self.rows, near_zero_volt=near_zero))

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


_NEXT = {
    "nothing written down": "do it and write it down",
    "meter not proven on a known source before and after": "prove the meter before and after, read every pair again",
    "check of the meter not good, or its known value not written down": "check the meter, write down both values",
    "written down as not done": "do it, or write down why it does not apply",
    "left out without a reason": "write down why it does not apply",
    "the plan does not let it be left out": "do it: the plan asks for it",
    "waited shorter than the plan asks, or the time not written down": "wait as the plan asks, then read again",
    "marked by a person: do not use": "read again",
    "no limit applies": "ask the maker or the workshop for the limit",
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
    Judge one job from its own file: each reading against its limit, and the chain against the plan.

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
    plan = plans_by_id(plans).get(own.plan)
    readings = Readings(_readings.parse(own.readings_as_csv(), read_column_map(None), own.file or own.job_id), "")
    results = assess(
        readings,
        instruments=instruments,
        limits=limits,
        part_kinds=part_kinds,
        dead_policy=plan.dead_policy() if plan else None,
        screen=False,
    )
    table = results._rows.table
    row_of = {table.id(row): row for row in range(table.rows)}
    judging = JobJudging(
        own,
        plan,
        results,
        rows=[row_of.get(own.reading_id(number)) for number in range(len(own.readings))],
        rejected={found.line - 2: f"{found.column} '{found.text}': {found.why}" for found in readings.rejected},
    )
    return _record_of(judging)


def judge_rows(
    readings: Any,
    job_id: str,
    *,
    plan: str | Plan,
    evidence: Sequence[Mapping[str, Any]] = (),
    not_applicable: Sequence[Mapping[str, Any]] = (),
    repeats: Sequence[Mapping[str, Any]] = (),
    plans: Plan | Iterable[Plan] | Mapping[str, Plan] | None = None,
    instruments: Instruments | str | Path | None = None,
    limits: Limits | str | Path | None = None,
    part_kinds: PartKinds | None = None,
) -> Record:
    """
    Judge one job from the rows of a readings table that name it by ``job_id``; ``step`` orders them.

    Parameters
    ----------
    readings : Results, or whatever :func:`ohmward.assess` takes
        Results spare judging the whole table again for each of its jobs.
    job_id : str
        As in the rows. The object is the one that most of them name.
    plan : str or Plan
        What that kind of work must leave behind, or its id.
    evidence, not_applicable, repeats : sequence of mapping
        What a row can not hold, with the keys of :func:`read_job`. Without evidence of waiting the ``elapsed_second``
        of the dead readings tells it.
    plans : Plan, plans or mapping by id, optional
        Where an id is looked up. Default: the shipped examples.
    instruments, limits, part_kinds : optional
        As :func:`ohmward.assess`; not with Results.

    Returns
    -------
    Record
        Rows may name what they check in a column ``check``; else quantity, part and stage say it, and a note tells so.

    Raises
    ------
    ValueError
        For a job that no row names, and for Results where the plan has its own tolerance of a meter's check.

    Examples
    --------
    >>> import ohmward as ow
    >>> results = ow.assess(ow.demo())
    >>> judged = judge_rows(results, "J-0006", plan="converter")
    >>> judged.completeness
    'incomplete'
    """
    known = plans_by_id(plans)
    own_plan = plan if isinstance(plan, Plan) else known.get(plan)
    tolerance = own_plan.check_tolerance if own_plan else None
    if isinstance(readings, Results):
        if tolerance is not None:
            raise ValueError(f"plan {plan!r} sets check_tolerance: pass the readings, not results judged without it")
        results = readings
    else:
        results = assess(
            readings,
            instruments=instruments,
            limits=limits,
            part_kinds=part_kinds,
            dead_policy=own_plan.dead_policy() if own_plan else None,
        )
    plan_id = own_plan.id if own_plan else str(plan)
    job, rows, notes = job_of_rows(
        results._rows, job_id, plan=plan_id, evidence=evidence, not_applicable=not_applicable, repeats=repeats
    )
    rejected = len(results.readings.rejected)
    if rejected:
        notes.append(f"{rejected} rows of the table could not be read; whether one is of this job is not known")
    return _record_of(JobJudging(job, own_plan, results, rows=rows, rejected={}, notes=notes))


def _record_of(judging: JobJudging) -> Record:
    job, plan = judging.job, judging.plan
    judging.add_readings()
    judging.add_evidence()
    if plan is None:
        judging.notes.insert(0, f"plan '{job.plan}' is not known: what was needed can not be told")
    found = _record.judge(
        plan=[(link.check, link.weight, link.may_be_left_out) for link in judging.links], entries=judging.entries
    )
    links = tuple(
        _link_result(link, state, cause, judging.about[entry] if entry >= 0 else _NOTHING)
        for link, (state, cause, entry) in zip(judging.links, found["links"], strict=True)
    )
    titles = [link.title for link in judging.links]
    return Record(
        job=job,
        plan=plan,
        completeness=found["completeness"],
        conformity=found["conformity"],
        links=links,
        groups=tuple((cause, tuple(titles[i] for i in members)) for cause, _, members in found["groups"]),
        cautions=judging.cautions,
        notes=tuple(judging.notes),
        unplanned_fails=tuple(_unplanned(judging, entry) for entry in found["failing_unplanned"]),
        results=judging.results,
        rows=tuple(row for row in judging.row_of if row is not None),
    )


_NOTHING: About = ("", "", "", "", "")


def _link_result(link: Link, state: str, cause: str, about: About) -> LinkResult:
    shown, interval, limit, action, because = about
    what_next = _NEXT.get(cause, action) if cause else ""
    return LinkResult(link.title, link.check, state, cause, shown, interval, limit, what_next, because)


def _unplanned(judging: JobJudging, entry: int) -> str:
    reading = judging.job.readings[entry]
    where = {key: str(reading[key]) for key in SCOPE if key in reading}
    shown, _, limit, *_ = judging.about[entry]
    return f"{link_title(str(reading.get('check', 'reading')), where)}: {shown}, limit {limit}"
