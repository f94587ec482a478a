"""One page about one batch of readings, for the screen and for paper."""

from __future__ import annotations

import base64
import datetime
import io
import warnings
from collections import Counter
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ohmward._evidence import counts, limits_used, meters_used
from ohmward._report_page import Html, document, element, joined, marked, paragraph, section, table

if TYPE_CHECKING:
    from ohmward.results import Results

__all__ = ["page", "write"]

CAUTIONS = (
    "High-voltage work only by qualified and authorised people; local rules and the maker's instructions come first.",
    "Prove the meter on a known source, test every pair for the absence of voltage, prove the meter again.",
    "Discharge before and after an insulation test; no high test voltage into electronics that do not stand it.",
    "Batteries can give off hydrogen and hold acid: ventilate, no sparks, protect eyes and hands.",
    "This page says what the readings show and what is missing. It does not say that a vehicle may be used: people do.",
)
_CAUSES_FIRST = 3
_STRIP_ROWS, _STRIP_ROWS_A_CAUSE = 32, 4
_STATE_MEANS = {
    "hold": "a reading misses its limit, or a dead circuit was not proven",
    "look again": "a reading is too close to its limit, can not be decided, or can not be believed",
    "no finding": "every latest reading passes",
    "not examined": "no reading that a limit fits",
}


def write(results: Results, path: Path, today: datetime.date, previous: Results | None = None) -> Path:
    """Write the page as UTF-8."""
    path.write_text(page(results, today, previous), encoding="utf-8", errors="backslashreplace")
    return path


def page(results: Results, today: datetime.date, previous: Results | None = None) -> str:
    """Return the page as text."""
    name = Path(results.readings.file).name
    return document(
        f"Readings of {name}, {today.isoformat()}",
        _first_screen(results, name, today),
        _to_do(results),
        _causes(results),
        _strip(results),
        _objects(results, previous),
        _runs(results),
        _pairs(results),
        _counts(results),
        _meters(results),
        _limits(results),
        section("Cautions", element("ol", *(element("li", line) for line in CAUTIONS))),
        _whole_list(results),
        _rejected(results),
        _origin(results),
    )


def _plural(count: int, one: str, many: str = "") -> str:
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def _part_name(text: str) -> str:
    return text.replace("_", " ")


# First screen --------------------------------------------------------------------------------------------------------


def _first_screen(results: Results, name: str, today: datetime.date) -> Html:
    objects = list(results.by_object().rows())
    states = Counter(row["state"] for row in objects)
    number = counts(results)
    told = [f"{name}: {_plural(number['rows in the file'], 'row')} read{_span(results)}; "
            f"page of {today.isoformat()}. The latest reading of each point counts."]  # fmt: skip
    lead = f"Of {_plural(len(objects), 'vehicle and machine', 'vehicles and machines')}: " + ", ".join(
        f"{states[state]} {state}" for state in _STATE_MEANS
    )
    means = [element("li", marked(state), f" – {text}") for state, text in _STATE_MEANS.items() if states[state]]
    return joined(
        element("h1", "What the readings show"),
        paragraph(*told, class_="quiet"),
        paragraph(element("strong", lead + "."), class_="lead"),
        element("ul", *means),
        _must_not_go_out(objects),
        _too_close(objects),
        _not_proven_dead(objects),
    )


def _span(results: Results) -> str:
    days = sorted(filter(None, (results._rows.taken_at(row)[:10] for row in range(len(results)))))
    return f", taken from {days[0]} to {days[-1]}" if days else ""


def _must_not_go_out(objects: list[dict[str, Any]]) -> Html:
    chosen = [row for row in objects if row["state"] == "hold" and row["verdict"] == "fail"]
    if not chosen:
        return paragraph("No reading misses its limit by more than the meter's uncertainty.")
    title = f"Must not go out before someone has looked: {len(chosen)}"
    rows = [(row["object_id"], _worst(row), row["last_read"], row["next_action"]) for row in chosen]
    headers = ("vehicle", "why", "read", "what next")
    return joined(element("h3", title), table(headers, rows, classes=("fixed", "", "fixed", "")))


def _too_close(objects: list[dict[str, Any]]) -> Html:
    return _hold_too(
        [row for row in objects if row["state"] == "hold" and row["verdict"] == "conditional_fail"],
        "misses a limit by less than the meter can tell",
        ". One more reading, with nulled leads or a better meter, settles most of these.",
    )


def _not_proven_dead(objects: list[dict[str, Any]]) -> Html:
    return _hold_too(
        [row for row in objects if row["state"] == "hold" and row["verdict"] not in ("fail", "conditional_fail")],
        "the last dead check has no good check of its meter before and after",
        ". It says nothing of the vehicle's parts, but that work must not rest on it.",
    )


def _hold_too(chosen: list[dict[str, Any]], why: str, closing: str) -> Html:
    if not chosen:
        return Html("")
    first, *rest = (joined(row["object_id"], " (", _part_name(row["point"]), " ", row["value"], ")") for row in chosen)
    pieces = [first, *(joined(", ", item) for item in rest)]
    return joined(element("h3", f"Hold too, but {why}: {len(chosen)}"), paragraph(*pieces, closing))


def _worst(row: dict[str, Any]) -> str:
    return _part_name(row["worst"].split(":", 1)[0]) + ":" + row["worst"].split(":", 1)[1] if row["worst"] else ""


# Attention -----------------------------------------------------------------------------------------------------------


def _to_do(results: Results) -> Html:
    """One line a thing to do: readings with a common cause together, a meter that left its sheet as one."""
    entries = list(results.attention().rows())
    if not entries:
        return section("What to do", paragraph("Every latest reading passes, and none hides anything."))
    readings = len(results.attention(each=True))
    lead = (
        f"{_plural(len(entries), 'entry', 'entries')}, most urgent first; behind them stand "
        f"{_plural(readings, 'reading')} that are no plain pass, each of them in the list at the end."
    )
    rows = [
        (_whose(row), _point(row), row["value"] or row["as_written"],
         marked(row["verdict"]) if row["verdict"] else "", row["reason"], row["next_action"])
        for row in entries
    ]  # fmt: skip
    headers = ("where", "part", "shows", "verdict", "why", "what next")
    return section(
        "What to do", paragraph(lead), table(headers, rows, classes=("", "", "fixed", "fixed", "", "")), wide=True
    )


def _whose(row: dict[str, Any]) -> str:
    """Name the vehicle or meter, and how many readings more there are like the one that is shown."""
    named = row["object_id"] or "not written"
    more = row["readings"] - 1
    if not more or not row["verdict"]:
        return named
    others = row["objects"] - 1
    return f"{named} and {_plural(more, 'reading')} more" + (f" on {_plural(others, 'other')}" if others else "")


def _strip(results: Results) -> Html:
    """Draw the most urgent readings; left out where Matplotlib is not installed."""
    if not len(results.attention(each=True)) or not find_spec("matplotlib"):
        return Html("")
    from matplotlib.figure import Figure

    from ohmward import plots

    figure = Figure(figsize=(11.5, 8.6), layout="constrained")
    plots.attention(results, ax=figure.add_subplot(), rows=_STRIP_ROWS, rows_a_cause=_STRIP_ROWS_A_CAUSE)
    buffer = io.BytesIO()
    with warnings.catch_warnings():
        warnings.filterwarnings(
            "ignore", message="Glyph .* missing from font"
        )  # a name in a script that the font lacks
        figure.savefig(buffer, format="png", dpi=120, metadata={"Software": None})
    address = "data:image/png;base64," + base64.b64encode(buffer.getvalue()).decode("ascii")
    words = "The most urgent readings of each cause with interval (k = 2); the list below holds them all."
    return section(
        "The most urgent readings",
        element("figure", Html(f'<img src="{address}" alt="{words}">'), element("figcaption", words, class_="quiet")),
    )


def _causes(results: Results) -> Html:
    causes = list(results.by_cause().rows())
    if not causes:
        return Html("")
    total = sum(cause["readings"] for cause in causes)
    first = causes[:_CAUSES_FIRST]
    share = sum(cause["readings"] for cause in first)
    lead = f"{_plural(total, 'reading')} need attention. {_plural(len(first), 'cause')} stand behind {share:,} of them:"
    items = [
        element("li", f"{cause['cause']} – {_plural(cause['readings'], 'reading')} on "
                f"{_plural(cause['objects'], 'vehicle')}. ", element("em", cause["next_action"], "."))
        for cause in first
    ]  # fmt: skip
    return section("What stands behind the attention list", paragraph(lead), element("ol", *items))


def _whole_list(results: Results) -> Html:
    groups: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for row in results.attention(each=True).rows():
        groups.setdefault((row["reason"], row["next_action"]), []).append(row)
    pieces = [_group(reason, action, rows) for (reason, action), rows in groups.items()]
    note = paragraph(
        "Most urgent first, readings of one cause together. Values with their interval (k = 2).", class_="quiet"
    )
    return section("The whole attention list", note, *pieces, wide=True)


def _point(row: dict[str, Any]) -> str:
    return _part_name(" ".join(filter(None, (row["part"] or row["quantity"], row["between"]))))


def _group(reason: str, action: str, rows: list[dict[str, Any]]) -> Html:
    headers = ("reading", "vehicle", "part", "read", "as written", "value", "interval", "limit", "verdict")
    cells = [
        (row["reading_id"], row["object_id"] or "not written", _point(row), row["taken_at"][:10], row["as_written"],
         row["value"], row["interval"], row["limit"], marked(row["verdict"] or "undetermined"))
        for row in rows
    ]  # fmt: skip
    classes = ("fixed", "fixed", "", "fixed", "typed", "fixed", "", "", "fixed")
    return joined(
        element("h3", f"{reason}: {_plural(len(rows), 'reading')}"),
        paragraph("Next: ", action, ".", class_="quiet"),
        table(headers, cells, classes=classes),
    )


# For the manager -----------------------------------------------------------------------------------------------------


def _objects(results: Results, previous: Results | None) -> Html:
    changed = _changes(results, previous) if previous is not None else None
    rows = []
    for row in results.by_object().rows():
        since = row["since"] if row["since"] == row["last_read"] else f"{row['since']}, last read {row['last_read']}"
        cells = [row["object_id"], marked(row["state"]), _worst(row), since, row["next_action"], "", row["evidence"]]
        rows.append([*cells, changed[row["object_id"]]] if changed is not None else cells)
    headers = ["vehicle", "state", "worst finding", "since", "what next", "who / by when", "evidence"]
    classes = ["fixed", "fixed", "finding", "due", "action", "fill", "fixed"]
    if changed is not None:
        headers, classes = [*headers, "since last report"], [*classes, "fixed"]
    note = (
        "Evidence: complete – meter, sheet, temperature, test voltage and contact are written down or shown; "
        "partly – less than half of the readings lack one; weak – half or more do."
    )
    return section(
        "Vehicle by vehicle", table(headers, rows, classes=classes), paragraph(note, class_="quiet"), wide=True
    )


def _runs(results: Results) -> Html:
    """Timed runs with what each ratio says, and what the part could have shown."""
    runs = list(results.runs().rows())
    if not runs:
        return Html("")
    rows = [
        (row["object_id"], _part_name(row["part"] or ""), row["taken_at"][:10], row["one_minute"],
         row["polarisation_index"] or "not reached", row["could_show"],
         marked(row["verdict"]) if row["verdict"] else "", row["reason"])
        for row in sorted(runs, key=lambda row: (row["object_id"], row["taken_at"]))
    ]  # fmt: skip
    headers = ("machine", "part", "read", "at 60 s", "600 s over 60 s", "could show", "verdict", "why")
    note = (
        "A ratio says something only where the part could show more: what it could show follows from its capacitance "
        "and its resistance at 60 s, at the generous loss factor 0.2. The common share of the meter's gain cancels."
    )
    classes = ("fixed", "", "fixed", "fixed", "", "", "fixed", "")
    return section("Timed runs", table(headers, rows, classes=classes), paragraph(note, class_="quiet"))


def _pairs(results: Results) -> Html:
    """Readings before and after drying, cleaning, with and without guard."""
    pairs = list(results.pairs().rows())
    if not pairs:
        return Html("")
    rows = [
        (row["object_id"], _part_name(row["part"] or row["quantity"]), row["taken_at"][:10], row["before"],
         row["after"], row["ratio"], row["change"])
        for row in pairs
    ]  # fmt: skip
    headers = ("vehicle", "part", "read", "before", "after", "after over before", "change")
    return section("Before and after", table(headers, rows, classes=("fixed", "", "fixed", "fixed", "fixed", "", "")))


def _changes(results: Results, previous: Results) -> dict[str, str]:
    """Compare each vehicle's worst finding with the previous report's."""
    before = {row["object_id"]: row for row in previous.by_object().rows()}
    return {row["object_id"]: _change(row, before.get(row["object_id"])) for row in results.by_object().rows()}


def _change(now: dict[str, Any], before: dict[str, Any] | None) -> str:
    was_open = before is not None and before["state"] in ("hold", "look again")
    if now["state"] not in ("hold", "look again"):
        return "resolved" if was_open and now["state"] == "no finding" else ""
    same = was_open and before is not None and (now["state"], now["point"]) == (before["state"], before["point"])
    return "same" if same else "new"


# What it rests on ----------------------------------------------------------------------------------------------------


def _counts(results: Results) -> Html:
    rows = list(counts(results).items())
    return section(
        "How many readings",
        table(("readings", "count"), [(name, f"{count:,}") for name, count in rows], classes=("", "number")),
    )


def _meters(results: Results) -> Html:
    rows = [
        (row["meter"] or "not written down", row["kind"] if row["meter"] else "", f"{row['readings']:,}",
         row["first"], row["last"],
         _dates(row), row["in_date"])
        for row in meters_used(results).rows()
    ]  # fmt: skip
    headers = ("meter", "kind", "readings", "first", "last", "calibration dates", "read in date")
    return section("Meters used", table(headers, rows, classes=("fixed", "", "number", "fixed", "fixed", "", "fixed")))


def _dates(meter: dict[str, Any]) -> str:
    low, high = meter["valid_from"], meter["valid_until"]
    return f"{low or '…'} to {high or '…'}" if low or high else "none stated"


def _limits(results: Results) -> Html:
    used = limits_used(results)
    headers = ("limit", "quantity", "requires", "authority", "source", "edition", "valid from", "readings")
    classes = ("", "", "fixed", "", "", "", "fixed", "number")
    return section("Limits used", table(headers, [list(row.values()) for row in used.rows()], classes=classes))


def _rejected(results: Results) -> Html:
    rejected = results.readings.rejected
    if not rejected:
        return section("Rejected rows", paragraph("None: every row of the file could be read."))
    rows = [(row.line, row.column, row.text, row.why) for row in rejected]
    lead = paragraph(f"{_plural(len(rows), 'row')} could not be read and took no part. As typed:")
    return section(
        "Rejected rows",
        lead,
        table(("line", "column", "as typed", "why"), rows, classes=("number", "fixed", "typed", "")),
    )


def _origin(results: Results) -> Html:
    meta = results.metadata
    made = f"Made by ohmward {meta['ohmward_version']} from input with SHA-256 {meta['input_sha256']}."
    text = f"{made} How the file was written: {results.readings.told}."
    return section("Origin", paragraph(text, class_="quiet"))
