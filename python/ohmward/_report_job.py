"""One page a job, read as a list: what is missing first, then every link in order. Self-contained HTML, prints on A4."""

from __future__ import annotations

import datetime
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from ohmward import _core

if TYPE_CHECKING:
    from ohmward.record import LinkResult, Record

# Shape and word carry the state; the colour (Okabe-Ito) only repeats it.
_MARKS = {
    "met": ("●", "#009E73"),
    "left out with a reason": ("–", "#555555"),
    "met within the uncertainty": ("◐", "#0072B2"),
    "not decided": ("◇", "#0072B2"),
    "limit missed": ("▲", "#D55E00"),
    "void": ("✕", "#D55E00"),
    "missing": ("○", "#D55E00"),
}
_CAUTIONS = (
    "Work on high-voltage systems only by qualified and authorised people; local rules and the maker's instructions first.",
    "Prove the meter on a known source, read every pair, prove it again; a near-zero reading between two good checks still "
    "leaves open what is listed above.",
    "Discharge before and after an insulation test; no high-voltage test into electronics that do not stand it.",
    "This page says what the readings show and what is missing. It does not say that the vehicle is safe.",
)
_STYLE = """
@page { size: A4; margin: 16mm 14mm; }
body { font: 10.5pt/1.45 "DejaVu Sans", Verdana, sans-serif; color: #222; max-width: 182mm; margin: 8mm auto; padding: 0 4mm; }
h1 { font-size: 15pt; font-weight: 600; margin: 0 0 1mm; } h2 { font-size: 11pt; margin: 6mm 0 1.5mm; font-weight: 600; }
p { margin: 1mm 0; } .quiet { color: #555; } ol, ul { margin: 1mm 0; padding-left: 6mm; } li { margin: 1mm 0; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; } caption { text-align: left; }
th { text-align: left; font-weight: 600; border-bottom: 0.4mm solid #222; padding: 1mm 2mm 1mm 0; }
td { vertical-align: top; border-bottom: 0.2mm solid #ccc; padding: 1.1mm 2mm 1.1mm 0; } tr { break-inside: avoid; }
.mark { width: 5mm; text-align: center; } .number { white-space: nowrap; } .state { white-space: nowrap; }
@media print { body { margin: 0; padding: 0; max-width: none; } }
"""


def _sentence(record: Record) -> str:
    needed = len(record.links)
    counted = sum(1 for link in record.links if link.state not in ("missing", "void"))
    chain = (
        f"{counted} of {needed} planned links are there and count."
        if record.plan
        else "No plan, so nothing says what was needed."
    )
    complete = "The record is complete" if record.completeness == "complete" else "The record is incomplete"
    shown = {
        "conforming": "every link meets its limit",
        "not conforming": "at least one link misses its limit",
        "not decided": "whether every link meets its limit is not decided",
    }[record.conformity]
    return f"{complete}; {shown}. {chain}"


def _first(record: Record) -> str:
    by_title = {link.title: link for link in record.links}
    items = []
    for cause, titles in record.first_three:
        # Beyond four links their number says more than their names.
        named = "; ".join(titles[:4]) + (f" and {len(titles) - 4} more" if len(titles) > 4 else "")
        action = by_title[titles[0]].next_action
        items.append(f"<li><b>{escape(cause[:1].upper() + cause[1:])}:</b> {escape(named)}.{_then(action)}</li>")
    rest = len(record.groups) - len(record.first_three)
    more = f'<p class="quiet">{rest} more in the list below.</p>' if rest > 0 else ""
    unplanned = "".join(
        f"<li><b>Limit missed outside the plan:</b> {escape(text)}.</li>" for text in record.unplanned_fails
    )
    if not items and not unplanned:
        return "<p>Nothing is missing, void or open.</p>"
    return f"<ol>{unplanned}{''.join(items)}</ol>{more}"


def _then(action: str) -> str:
    return f"<br><span class='quiet'>Next: {escape(action)}.</span>" if action else ""


def _row(link: LinkResult) -> str:
    mark, colour = _MARKS[link.state]
    remark = "; ".join(text for text in (link.cause, link.because) if text)
    return (
        f'<tr><td class="mark" style="color:{colour}">{mark}</td><td class="state">{escape(link.state)}</td>'
        f"<td>{escape(link.title)}</td><td class='number'>{escape(link.shown)}</td><td class='number'>{escape(link.interval)}</td>"
        f"<td>{escape(link.limit)}</td><td>{escape(remark)}</td></tr>"
    )


def _used(record: Record) -> str:
    if record.results is None:
        return ""
    meters = sorted({str(reading["instrument_id"]) for reading in record.job.readings if reading.get("instrument_id")})
    used = {int(index) for index in record.results._columns["limit"] if index >= 0}
    entries = [entry for index, entry in enumerate(record.results.limits) if index in used]
    limits = "".join(f"<li>{escape(', '.join(t for t in (e.id, e.source, e.edition) if t))}</li>" for e in entries)
    return f"<h2>Meters and limits</h2><p>Meters: {escape(', '.join(meters) or 'none named')}.</p><ul>{limits}</ul>"


def _list(title: str, items: tuple[str, ...]) -> str:
    if not items:
        return ""
    return f"<h2>{title}</h2><ul>{''.join(f'<li>{escape(item)}.</li>' for item in items)}</ul>"


def write(record: Record, path: Path, today: datetime.date) -> Path:
    """Write the page of a judged job."""
    job = record.job
    title = record.plan.title if record.plan else job.work or "Work without a plan"
    rows = "".join(_row(link) for link in record.links)
    table = (
        "<h2>Link by link</h2><table><thead><tr><th></th><th>state</th><th>link</th><th>as written</th><th>interval (k = 2)</th>"
        f"<th>limit</th><th>remark</th></tr></thead><tbody>{rows}</tbody></table>"
        if rows
        else ""
    )
    body = (
        f"<h1>{escape(job.job_id)}: {escape(title)}, {escape(job.object_id)}</h1>"
        f"<p class='quiet'>Notes on the record, written {today.isoformat()} with ohmward {_core.__version__}"
        f"{'; plan ' + escape(record.plan.id) if record.plan else ''}.</p>"
        f"<p>{escape(_sentence(record))}</p><h2>First</h2>{_first(record)}{_list('About the record', record.notes)}{table}"
        f"{_list('What the dead readings can not exclude', record.cautions)}{_used(record)}{_list('Cautions', tuple(c.rstrip('.') for c in _CAUTIONS))}"
    )
    path.write_text(
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{escape(job.job_id)}</title>'
        f"<style>{_STYLE}</style></head><body>{body}</body></html>\n",
        encoding="utf-8",
    )
    return path
