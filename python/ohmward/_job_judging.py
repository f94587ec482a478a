"""What a job holds of each planned link, gathered for the compiled judge."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from ohmward import conformity
from ohmward._core import assessment as _assessment
from ohmward._core import highvoltage as _hv
from ohmward._core import record as _record
from ohmward._core.core import Censoring
from ohmward._jobs import Job, is_source_check, number_or_nan, order_of, pair_of
from ohmward._plans import SCOPE, Link, Plan, link_title
from ohmward.results import Results

__all__ = ["About", "JobJudging"]

About = tuple[str, str, str, str, str]  # shown, interval, limit, next action, because

_VERDICT = {name: number for number, name in enumerate(_assessment.verdict_names)}
#: Of two verdicts on one reading the worse one holds.
_RISING_CONCERN = ("pass", "conditional_pass", "", "undetermined", "conditional_fail", "fail")


def _worse(first: int, second: int) -> int:
    rank = {_VERDICT.get(name, 0): place for place, name in enumerate(_RISING_CONCERN)}
    return max(first, second, key=rank.__getitem__)


def _same(reading: Mapping[str, Any], where: Mapping[str, str]) -> bool:
    """Whether a reading has the columns that a link names; the order of the two points does not matter."""
    points = [where[key] for key in ("from_point", "to_point") if key in where]
    own = [reading.get("from_point"), reading.get("to_point")]
    if points and (sorted(points) != sorted(str(point) for point in own) if len(points) == 2 else points[0] not in own):
        return False
    columns = (key for key in where if key not in ("from_point", "to_point"))
    return all(key in reading and str(reading[key]) == where[key] for key in columns)


def _code(codes: dict[str, int], word: Any) -> int:
    return -1 if word in (None, "") else codes.setdefault(str(word), len(codes))


class JobJudging:
    """Gathers entries for the compiled judge."""

    def __init__(
        self,
        job: Job,
        plan: Plan | None,
        results: Results,
        *,
        rows: Sequence[int | None],
        rejected: Mapping[int, str],
        notes: Sequence[str] = (),
    ) -> None:
        self.job = job
        self.plan = plan
        self.links: tuple[Link, ...] = plan.links if plan else ()
        self.results = results
        self.row_of = rows  # of each reading; None where it could not be read
        self.rejected = rejected
        self.notes = list(notes)
        self.entries: list[tuple[int, Any, int, int, bool, bool, bool, bool]] = []
        self.about: list[About] = []
        self._input_ohm = {name: float(results.instruments[name]._raw.input_ohm) for name in results.instruments}
        self.superseded = self._superseded()
        self.dead, self.cautions = self._prove_dead()
        self._tell_near_zero()
        self._tell_unfitting()

    # Repeats ---------------------------------------------------------------------------------------------------------

    def _number_with_step(self, step: Any) -> int | None:
        wanted = number_or_nan(step)
        found = (i for i, reading in enumerate(self.job.readings) if number_or_nan(reading.get("step")) == wanted)
        return next(found, None)

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
            elif not number_or_nan(repeat["step"]) > number_or_nan(repeat["of"]) or not self._same_link(later, earlier):
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

    # Proving dead ----------------------------------------------------------------------------------------------------

    def _is_voltage(self, number: int, reading: Mapping[str, Any]) -> bool:
        return (
            self.row_of[number] is not None
            and reading.get("quantity") in ("dc_voltage", "ac_voltage")
            and (is_source_check(reading) or reading.get("check") == "dead" or pair_of(reading) != _hv.Pair.unknown)
        )

    def _prove_dead(self) -> tuple[dict[int, Mapping[str, Any]], tuple[str, ...]]:
        """The voltage rows by number, judged with their brackets, and what they can not exclude."""
        readings = self.job.readings
        numbers = [number for number, reading in enumerate(readings) if self._is_voltage(number, reading)]
        rows = [row for number in numbers if (row := self.row_of[number]) is not None]
        order, backwards = order_of([readings[number] for number in numbers], rows, self.results._rows.table)
        if backwards:
            self.notes.append("times run backwards against the steps: the steps decide")
        codes: dict[str, int] = {}
        voltages = [self._voltage(readings[numbers[i]], rows[i], numbers[i], codes) for i in order]
        found = _hv.prove_dead(voltages, self.plan.dead_policy() if self.plan else _hv.DeadPolicy())
        judged = dict(zip((numbers[i] for i in order), found["rows"], strict=True))
        return judged, found["cautions"] if voltages else ()

    def _voltage(self, reading: Mapping[str, Any], row: int, number: int, codes: dict[str, int]) -> _hv.VoltageRow:
        columns = self.results._columns
        one = _hv.VoltageRow()
        one.is_check = is_source_check(reading)
        one.function = _hv.Function.dc if reading["quantity"] == "dc_voltage" else _hv.Function.ac
        one.instrument = _code(codes, reading.get("instrument_id"))
        one.range = _code(codes, reading.get("range"))
        one.value_volt = float(columns["value"][row])
        one.censoring = Censoring(int(columns["censoring"][row]))
        one.standard_uncertainty_volt = float(columns["standard_uncertainty"][row])
        one.input_ohm = self._input_ohm.get(str(reading.get("instrument_id")), math.nan)
        one.reference_volt = number_or_nan(reading.get("reference_value"))
        one.pair, one.side = pair_of(reading), _hv.side_of(str(reading.get("circuit_side", "")))
        one.superseded = number in self.superseded
        return one

    def _near_zero(self) -> conformity.Limit | None:
        if self.plan is None or self.plan.near_zero_volt is None:
            return None
        return conformity.Limit(quantity="dc_voltage", upper=self.plan.near_zero_volt)

    def _tell_near_zero(self) -> None:
        """A plan can ask for less than the limit that applies, not for more."""
        if self.plan is None or self.plan.near_zero_volt is None:
            return
        applied = {int(self.results._columns["limit"][row]) for row in self._dead_rows()}
        entries = list(self.results.limits)
        stricter = [entries[i].id for i in applied if i >= 0 and entries[i].upper < self.plan.near_zero_volt]
        if stricter:
            told = f"near zero is up to {self.plan.near_zero_volt:g} V in the plan"
            self.notes.append(f"{told}; the limit {', '.join(stricter)} is stricter and decides")

    def _dead_rows(self) -> list[int]:
        return [row for number in self.dead if (row := self.row_of[number]) is not None]

    def _dead_verdict(self, number: int, row: int, verdict: int) -> int:
        """A hazardous voltage is a miss whatever limit applies; a reading that another contradicts never passes."""
        columns, found = self.results._columns, self.dead[number]
        if limit := self._near_zero():
            by_plan = limit.judge(
                abs(float(columns["value"][row])),
                standard_uncertainty=float(columns["standard_uncertainty"][row]),
                censoring=Censoring(int(columns["censoring"][row])).name,
            )
            verdict = _worse(verdict, _VERDICT[by_plan.verdict])
        if found["tier"] == _HAZARDOUS:
            verdict = _worse(verdict, _VERDICT["fail"])
        return _worse(verdict, _VERDICT["undetermined"]) if found["contradicts"] else verdict

    # Entries ---------------------------------------------------------------------------------------------------------

    def _tell_unfitting(self) -> None:
        """Readings of a planned kind that no link asks for are there, but a plan's link may look empty for them."""
        planned = {link.check for link in self.links}
        unfitting = Counter(
            str(reading["check"])
            for number, reading in enumerate(self.job.readings)
            if reading.get("check") in planned
            and self.row_of[number] is not None
            and self._link_of(reading) == _record.unplanned
        )
        if unfitting:
            told = ", ".join(f"{count} of {link_title(check, {})}" for check, count in unfitting.items())
            self.notes.append(f"readings that fit no link of the plan by part, points, side or stage: {told}")

    def _link_of(self, entry: Mapping[str, Any]) -> int:
        """First planned link that an entry fits."""
        for number, link in enumerate(self.links):
            if entry.get("check") == link.check and _same(entry, link.where):
                return number
        return _record.unplanned

    def add_readings(self) -> None:
        for number, reading in enumerate(self.job.readings):
            row = self.row_of[number]
            if row is None:
                why = self.rejected.get(number, "the row can not be read")
                self.notes.append(f"reading {number + 1} of the record was rejected: {why}")
            else:  # what can not be read is no evidence: its link stays missing
                self._add_reading(number, row, reading)

    def _add_reading(self, number: int, row: int, reading: Mapping[str, Any]) -> None:
        columns, rows = self.results._columns, self.results._rows
        link, superseded = self._link_of(reading), number in self.superseded
        dead = self.dead.get(number)
        _, interval = self.results._shown(row)
        about = (
            rows.as_written(row),
            interval,
            self.results._limit_shown(row),
            _assessment.action_texts[columns["action"][row]],
            dead["bracket"] or dead["text"] if dead else "",
        )
        if is_source_check(reading):
            good = bool(dead and dead["good"])
            return self._add(link, _record.Kind.meter_check, good=good, superseded=superseded, about=about)
        verdict = int(columns["verdict"][row])
        if dead:
            verdict = self._dead_verdict(number, row, verdict)
        if str(reading.get("instrument_id")) not in self._input_ohm:  # a class bound is no evidence in a job's record
            verdict = _worse(verdict, _VERDICT["undetermined"])
        return self._add(
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
            waited = _waited_second(entry)
            link = self._link_of(entry)
            least = self.links[link].least_second if link >= 0 else 0.0
            shown = "done" if entry.get("done") is True else "not done"
            time = "" if math.isnan(waited) else f"{waited:g} s"
            asked = f"at least {least:g} s" if least > 0 else ""
            self._add(
                link,
                _record.Kind.evidence,
                good=entry.get("done") is True,
                has_reason=bool(because.strip()),
                long_enough=least == 0 or waited >= least,
                about=(" ".join(text for text in (shown, time) if text), "", asked, "", because),
            )
        for entry in self.job.not_applicable:
            because = str(entry.get("because", ""))
            where = {key: str(value) for key, value in entry.items() if key in SCOPE}
            for number, link_left in enumerate(self.links):
                scope = link_left.where
                if link_left.check == entry.get("check") and all(scope.get(key) == word for key, word in where.items()):
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
        long_enough: bool = True,
        superseded: bool = False,
        about: About,
    ) -> None:
        self.entries.append((link, kind, verdict, findings, good, has_reason, long_enough, superseded))
        self.about.append(about)


_HAZARDOUS = 2  # highvoltage::Tier


def _waited_second(entry: Mapping[str, Any]) -> float:
    if "waited_second" in entry:
        return number_or_nan(entry["waited_second"])
    return 3600 * number_or_nan(entry.get("waited_hour"))
