"""Jobs with planted gaps come out as their truth file says; a complete record that loses a link never stays so."""

import copy
import datetime
import re
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ohmward as ow
from ohmward import _datasets, record

TRUTH = tomllib.loads(_datasets.path("jobs", "truth.toml").read_text(encoding="utf-8"))
DEPOT = ow.demo()


def judged(job, **changes):
    settings_ = {"instruments": DEPOT.instruments, "limits": DEPOT.limits, "part_kinds": DEPOT.part_kinds} | changes
    return record.judge(job, **settings_)


def job(name):
    return tomllib.loads(_datasets.path("jobs", f"{name}.toml").read_text(encoding="utf-8"))


def passes(found):
    return (found.completeness, found.conformity) == ("complete", "conforming")


def test_there_are_a_dozen_jobs():
    assert len(TRUTH) >= 12
    assert {path.stem for path in _datasets.path("jobs").glob("*.toml")} == {*TRUTH, "truth"}


@pytest.mark.parametrize("name", TRUTH)
def test_planted_gaps_come_out(name):
    truth = TRUTH[name]
    found = judged(_datasets.path("jobs", f"{name}.toml"))
    first = found.groups[0][0] if found.groups else ""
    assert (found.completeness, found.conformity, first) == (
        truth["completeness"],
        truth["conformity"],
        truth["first_cause"],
    )
    for state in ("void", "missing"):
        if state in truth:
            assert sum(link.state == state for link in found.links) == truth[state]
    assert all(link.next_action for link in found.links if link.needs_attention)


@pytest.mark.parametrize("table", ["reading", "evidence"])
def test_no_link_can_be_taken_away(table):
    whole = job("complete")
    for number in range(len(whole[table])):
        without = copy.deepcopy(whole)
        del without[table][number]
        assert not passes(judged(without)), without
        assert judged(without).groups[0][0] in (
            "nothing written down",
            "check of the meter not good, or its known value not written down",
        )


NEEDED = ("check", "value", "instrument_id", "from_point", "to_point", "circuit_side", "reference_value", "quantity")


def test_no_needed_field_can_be_taken_away():
    whole = job("complete")
    for number, reading in enumerate(whole["reading"]):
        for name in NEEDED:
            if name not in reading or (name in ("from_point", "to_point") and reading["check"] == "bonding"):
                continue
            less = copy.deepcopy(whole)
            del less["reading"][number][name]
            assert not passes(judged(less)), (reading["check"], name)


SPOILERS = st.sampled_from(
    ["drop", "no_instrument", "unknown_instrument", "no_value", "ac", "not_done", "no_reference", "over_range"]
)


def spoil(work, how, place):
    readings, evidence = work["reading"], work["evidence"]
    reading = readings[place % len(readings)] if readings else {}
    if how == "drop" and readings:
        readings.remove(reading)
    elif how == "no_instrument":
        reading.pop("instrument_id", None)
    elif how == "unknown_instrument":
        reading["instrument_id"] = "meter-99"
    elif how == "no_value":
        reading["value"] = "-"
    elif how == "ac" and reading.get("quantity") == "dc_voltage":
        reading["quantity"] = "ac_voltage"
    elif how == "not_done" and evidence:
        evidence[place % len(evidence)]["done"] = False
    elif how == "no_reference":
        reading.pop("reference_value", None)
    elif how == "over_range" and reading.get("quantity") != "insulation_resistance":  # there it may be a good value
        reading["value"] = "OL"


@settings(max_examples=1000, deadline=None)
@given(steps=st.lists(st.tuples(SPOILERS, st.integers(0, 40)), min_size=1, max_size=4))
def test_spoiling_never_raises_a_statement(steps):
    work = job("complete")
    before = judged(work)
    for how, place in steps:
        spoil(work, how, place)
        after = judged(work)
        if not passes(before):
            assert not passes(after)
        if before.completeness == "incomplete" and how != "over_range":
            assert after.completeness == "incomplete"
        before = after


def test_voiding_the_closing_check_voids_what_it_brackets():
    work = job("complete")
    next(reading for reading in work["reading"] if reading["check"] == "source_after")["value"] = "0.0"
    states = [link.state for link in judged(work).links if link.check == "dead"]
    assert states == ["void"] * 3


def test_the_clock_never_beats_the_step():
    work = job("complete")
    moments = [reading["taken_at"] for reading in work["reading"]]
    for reading, moment in zip(work["reading"], reversed(moments), strict=True):
        reading["taken_at"] = moment
    assert passes(judged(work))
    assert any("times run backwards" in note for note in judged(work).notes)
    # Steps exchanged: the check that closed the bracket now stands before it, whatever the clock says.
    work = job("complete")
    source = next(reading for reading in work["reading"] if reading["check"] == "source_after")
    source["step"] = 0
    assert not passes(judged(work))


def test_a_repeat_needs_a_reason_and_a_later_reading():
    work = job("dried_and_read_again")
    assert passes(judged(work))
    for change in ({"because": ""}, {"of": 99}, {"step": 99}, {"step": work["repeat"][0]["of"], "of": 90}):
        other = copy.deepcopy(work)
        other["repeat"][0].update(change)
        found = judged(other)
        assert found.conformity == "not conforming"
        assert any("replaces nothing" in note for note in found.notes)


def test_nothing_passes_without_meters():
    found = judged(job("complete"), instruments=None)
    assert not passes(found)


def test_without_a_known_plan_nothing_is_complete():
    found = judged(job("complete"), plans=[])
    assert (found.completeness, found.conformity) == ("incomplete", "not decided")
    assert "is not known" in found.notes[0]


def test_unreadable_readings_are_told_and_never_pass():
    work = job("complete")
    work["reading"][1]["value"] = "1,234"
    found = judged(work)
    assert not passes(found)
    assert any("was rejected" in note for note in found.notes)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ({"job": {"job_id": "J", "object_id": "V", "plam": "x"}}, "plam is an unknown key"),
        ({"job": {"object_id": "V"}}, "has no job_id"),
        ({"job": {"job_id": "J", "object_id": "V"}, "reading": [{"volts": 3}]}, "volts is an unknown key"),
    ],
)
def test_records_that_make_no_sense_are_refused(content, message):
    with pytest.raises(ValueError, match=re.escape(message)):
        record.read_job(content)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ({"plan": {"id": "p"}}, "at least one"),
        ({"plan": {"id": "p"}, "link": [{"check": "dead", "pairs": [["hv_plus"]]}]}, "expected two points"),
        ({"plan": {"id": "p"}, "link": [{"checks": "dead"}]}, "checks is an unknown key"),
        ({"plan": {}, "link": [{"check": "dead"}]}, "has no id"),
    ],
)
def test_plans_that_make_no_sense_are_refused(content, message):
    with pytest.raises(ValueError, match=re.escape(message)):
        record.read_plan(content)


def test_templates_can_be_read():
    plan = record.read_plan(_datasets.path("templates", "plan.toml"))
    found = judged(_datasets.path("templates", "record.toml"), plans=plan)
    assert found.plan is not None
    assert found.completeness == "incomplete"


def test_shipped_plans_name_the_source_checks():
    for plan in record.shipped_plans().values():
        checks = [link.check for link in plan.links]
        if "dead" in checks:
            assert checks.index("source_before") < checks.index("dead") < checks.index("source_after")


@pytest.mark.parametrize("name", ["source_after_missing", "complete", "unknown_plan", "wet_after_wash"])
def test_the_page_tells_what_is_missing_first(name, tmp_path):
    found = judged(_datasets.path("jobs", f"{name}.toml"))
    page = found.write_report(tmp_path / "job.html", today=datetime.date(2024, 3, 5)).read_text(encoding="utf-8")
    assert page.index("<h2>First</h2>") < page.index("Meters, limits, cautions")
    assert "<script" not in page
    assert "http" not in page.replace("http-equiv", "")
    for cause, titles in found.first_three:
        assert cause[1:] in page
        assert titles[0].split(":")[0] in page
    assert not re.search(r"\bis safe\b|\bcertificate\b", page)


def test_a_text_of_a_record_is_never_markup(tmp_path):
    work = job("complete")
    work["evidence"][0]["because"] = "<script>alert(1)</script>"
    page = judged(work).write_report(tmp_path / "job.html").read_text(encoding="utf-8")
    assert "<script" not in page
