"""One page a job, read as a list: what is missing first, then every link in order. Self-contained, prints on A4."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from ohmward import _core
from ohmward._marks import GREY, ORANGE, VERDICTS, VERMILLION, Mark
from ohmward._report import CAUTIONS
from ohmward._report_page import Html, document, element, joined, paragraph, section, table

if TYPE_CHECKING:
    from ohmward._job_findings import JobFinding
    from ohmward.record import LinkResult, Record

__all__ = ["LINK_MARKS", "write"]

#: Shape and word carry the state of a link; the colour only repeats it.
LINK_MARKS = {
    "met": VERDICTS["pass"],
    "left out with a reason": Mark("–", "_", GREY, True),
    "met within the uncertainty": VERDICTS["conditional_pass"],
    "not decided": VERDICTS["undetermined"],
    "limit missed": VERDICTS["fail"],
    "void": Mark("✕", "x", VERMILLION, True),
    "missing": Mark("□", "s", ORANGE, False),
}
_NAMED_LINKS = 4  # beyond that their number says more than their names


def _sentence(record: Record) -> str:
    complete = f"The record is {record.completeness}"
    shown = {
        "conforming": "every link meets its limit",
        "not conforming": "at least one link misses its limit",
        "not decided": "whether every link meets its limit is not decided",
    }[record.conformity]
    if record.plan is None:
        return f"{complete}; {shown}: without a plan nothing says what was needed."
    counted = sum(1 for link in record.links if link.state not in ("missing", "void"))
    return f"{complete}; {shown}. {counted} of {len(record.links)} planned links are there and count."


def _sentence_case(text: str) -> str:
    return text[:1].upper() + text[1:]


def _first(record: Record) -> Html:
    by_title = {link.title: link for link in record.links}
    items = [
        element("li", element("b", "Limit missed outside the plan: "), text, ".") for text in record.unplanned_fails
    ]
    for cause, titles in record.first_three:
        named = "; ".join(titles[:_NAMED_LINKS])
        named += f" and {len(titles) - _NAMED_LINKS} more" if len(titles) > _NAMED_LINKS else ""
        action = by_title[titles[0]].next_action
        then = joined(Html("<br>"), element("span", f"Next: {action}.", class_="quiet")) if action else ""
        items.append(element("li", element("b", f"{_sentence_case(cause)}: "), named, ".", then))
    if not items:
        return paragraph("Nothing is missing, void or open." if record.plan else "No plan of that name was given.")
    rest = len(record.groups) - len(record.first_three)
    return joined(
        element("ol", *items), paragraph(f"{rest} more in the list below.", class_="quiet") if rest > 0 else ""
    )


def _row(link: LinkResult) -> tuple[object, ...]:
    mark = LINK_MARKS[link.state]
    symbol = element("span", mark.symbol, style=f"color:{mark.colour}", aria_hidden_="true")
    # What made a reading void says more than that it is void.
    remarks = (link.because,) if link.state == "void" and link.because else (link.cause, link.because)
    limit = link.limit.split(" (")[0]  # the page names the limits below
    return (
        joined(symbol, " ", link.state), link.title, link.shown, link.interval, limit,
        "; ".join(text for text in remarks if text),
    )  # fmt: skip


def _links(record: Record) -> Html | str:
    if not record.links:
        return ""
    headers = ("state", "link", "as written", "interval (k = 2)", "limit", "remark")
    looks = ("fixed", "", "fixed", "fixed", "fixed", "")
    return section("Link by link", table(headers, [_row(link) for link in record.links], classes=looks))


def _list(title: str, items: tuple[str, ...]) -> Html | str:
    return section(title, element("ul", *(element("li", _sentence_case(item), ".") for item in items))) if items else ""


def _found(found: JobFinding) -> str:
    return f"{found.text}; next: {found.next_action}"


def _of_plan(record: Record) -> str:
    """What the plan itself asks of dead checks."""
    plan, asked = record.plan, []
    if plan is not None and plan.near_zero_volt is not None:
        asked.append(f"near zero is up to {plan.near_zero_volt:g} V")
    if plan is not None and plan.check_tolerance is not None:
        asked.append(f"a meter may differ by {100 * plan.check_tolerance:g} % from its known source")
    return f" The plan says: {' and '.join(asked)}." if asked else ""


def _used(record: Record) -> Html:
    meters = sorted({str(reading["instrument_id"]) for reading in record.job.readings if reading.get("instrument_id")})
    rows = list(record.rows)  # of this job: results of a whole table hold other jobs' limits too
    used = {int(index) for index in record.results._columns["limit"][rows] if index >= 0}
    limits = [limit for index, limit in enumerate(record.results.limits) if index in used]
    named = [
        ": ".join(text for text in (limit.id, " ".join((limit.source, limit.edition)).strip()) if text)
        for limit in limits
    ]
    used_here = f"Meters: {', '.join(meters) or 'none named'}. Limits: {'; '.join(named) or 'none'}.{_of_plan(record)}"
    return section(
        "Meters, limits, cautions",
        paragraph(used_here, class_="quiet"),
        paragraph(" ".join(CAUTIONS), class_="quiet"),
    )


def write(record: Record, path: Path, today: datetime.date) -> Path:
    """Write the page of a judged job."""
    job = record.job
    work = record.plan.title if record.plan else job.work or "work without a known plan"
    made = f"Notes on the record, {today.isoformat()}, ohmward {_core.__version__}"
    sheet = element(
        "main",
        element("h1", f"{job.job_id}: {work}, {job.object_id}"),
        paragraph(f"{made}; plan {record.plan.id}." if record.plan else f"{made}.", class_="quiet"),
        paragraph(_sentence(record)),
        section("First", _first(record)),
        _list("About the record", record.notes),
        _links(record),
        _list("What several readings show together", tuple(_found(found) for found in record.shown_together)),
        _list("What the dead readings can not exclude", record.cautions),
        _used(record),
        style="line-height:1.25",  # so that twenty links and their gaps stay on one sheet
    )
    page = document(job.job_id, sheet)
    path.write_text(page, encoding="utf-8")
    return path
