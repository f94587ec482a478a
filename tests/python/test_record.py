"""Jobs with planted gaps come out as their truth file says; a complete record that loses a link never stays so."""

import copy
import datetime
import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ohmward as ow
from ohmward import _datasets, record

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "power"))
import job_power as power

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


# Bad input: a state, a reason, never a pass ------------------------------------------------------------------------


def dead_reading(work, pair=("hv_plus", "hv_minus")):
    return next(r for r in work["reading"] if r["check"] == "dead" and (r["from_point"], r["to_point"]) == pair)


def change_dead(**cells):
    def change(work):
        dead_reading(work).update(cells)

    return change


def all_in_ac(work):
    for reading in work["reading"]:
        if reading["quantity"] == "dc_voltage":
            reading["quantity"] = "ac_voltage"


def one_pair_in_ac(work):
    dead_reading(work)["quantity"] = "ac_voltage"


def closed_too_early_by_the_clock(work):
    """Without steps the clock orders: the closing check then stands before what it should close."""
    for reading in work["reading"]:
        del reading["step"]
    before, after = (
        next(one for one in work["reading"] if one["check"] == check) for check in ("source_before", "source_after")
    )
    after["taken_at"] = before["taken_at"]


def second_reading(work):
    other = copy.deepcopy(dead_reading(work))
    other["value"] = "45"
    work["reading"].insert(work["reading"].index(dead_reading(work)), other)


def source_at_zero(work):
    for reading in work["reading"]:
        if reading["check"].startswith("source_"):
            reading.update(value="0.0", reference_value=0.0)


def other_meter_proven(work):
    for reading in work["reading"]:
        if reading["check"].startswith("source_"):
            reading["instrument_id"] = "meter-07"


def no_pair(work):
    reading = dead_reading(work)
    for name in ("from_point", "to_point"):
        del reading[name]


def waited_as_text(work):
    next(one for one in work["evidence"] if one["check"] == "waited")["done"] = "yes"


@pytest.mark.parametrize(
    ("change", "state", "cause"),
    [
        (change_dead(value="-400"), "limit missed", "limit missed"),  # probes exchanged on a live pair
        (change_dead(value="400"), "limit missed", "limit missed"),
        (change_dead(value="OL"), "limit missed", "limit missed"),  # over range is not dead
        (change_dead(value=">600"), "limit missed", "limit missed"),
        (change_dead(value="62"), "limit missed", "limit missed"),
        (change_dead(value="-"), "missing", "nothing written down"),
        (change_dead(value="nothing"), "missing", "nothing written down"),
        (change_dead(circuit_side="battery"), "missing", "nothing written down"),
        (change_dead(instrument_id="meter-99"), "void", "meter not proven on a known source before and after"),
        (change_dead(instrument_id="meter-01"), "void", "meter not proven on a known source before and after"),
        (change_dead(doubt="lead was loose"), "void", "marked by a person: do not use"),
        (no_pair, "missing", "nothing written down"),
        (all_in_ac, "not decided", "no limit applies"),  # a known source in AC proves the meter, and not the pair
        (one_pair_in_ac, "void", "meter not proven on a known source before and after"),
        (closed_too_early_by_the_clock, "void", "meter not proven on a known source before and after"),
        (second_reading, "limit missed", "limit missed"),
        (source_at_zero, "void", "meter not proven on a known source before and after"),
        (other_meter_proven, "void", "meter not proven on a known source before and after"),
    ],
    ids=lambda value: value.__name__ if callable(value) else None,
)
def test_bad_dead_checks_never_pass(change, state, cause):
    work = job("complete")
    change(work)
    found = judged(work)
    assert not passes(found)
    link = next(link for link in found.links if link.title == "dead check: HV+ to HV-, load side")
    assert (link.state, link.cause) == (state, cause)
    assert link.next_action


def test_evidence_is_done_or_it_is_not():
    work = job("complete")
    waited_as_text(work)
    assert [link.cause for link in judged(work).links if link.check == "waited"] == ["written down as not done"]


@settings(max_examples=300, deadline=None)
@given(order=st.permutations(range(len(job("complete")["reading"]))))
def test_neither_clock_nor_line_beats_the_step(order):
    work = job("complete")
    before = [(link.title, link.state) for link in judged(work).links]
    moments = [reading["taken_at"] for reading in work["reading"]]
    for reading, place in zip(work["reading"], order, strict=True):
        reading["taken_at"] = moments[place]
    work["reading"] = [work["reading"][place] for place in reversed(order)]
    after = judged(work)
    assert [(link.title, link.state) for link in after.links] == before


# What a plan says of dead checks and of waiting ---------------------------------------------------------------------


def plan_with(**tables):
    content = tomllib.loads(_datasets.path("plans", "converter.toml").read_text(encoding="utf-8"))
    for link in content["link"]:
        if link["check"] == "waited":
            link.update(tables.pop("waited", {}))
    return record.read_plan(content | tables)


def dead_states(found):
    return [link.state for link in found.links if link.check == "dead"]


def test_a_plan_can_ask_for_less_than_the_limit():
    work = job("complete")
    dead_reading(work)["value"] = "3.00"
    assert passes(judged(work))
    assert passes(judged(work, plans=plan_with(dead={"near_zero_volt": 4})))
    found = judged(work, plans=plan_with(dead={"near_zero_volt": 2}))
    assert dead_states(found) == ["limit missed", "met", "met"]
    dead_reading(work)["value"] = "7.00"  # the limit of 6 V stays, whatever the plan says
    found = judged(work, plans=plan_with(dead={"near_zero_volt": 10}))
    assert dead_states(found) == ["limit missed", "met", "met"]
    assert any("is stricter and decides" in note for note in found.notes)


def test_a_plan_sets_how_well_a_meter_must_agree_with_its_source():
    work = job("complete")
    for reading in work["reading"]:
        if reading["check"].startswith("source_"):
            reading.update(value="27.0", reference_value=24.0)  # an eighth too much
    assert dead_states(judged(work)) == ["void"] * 3
    assert passes(judged(work, plans=plan_with(dead={"check_tolerance": 0.15})))
    assert dead_states(judged(job("complete"), plans=plan_with(dead={"check_tolerance": 0.0}))) == ["met"] * 3
    for reading in work["reading"]:
        if reading["check"].startswith("source_"):
            reading["value"] = "24.6"
    assert passes(judged(work))
    assert not passes(judged(work, plans=plan_with(dead={"check_tolerance": 0.0})))


@pytest.mark.parametrize(
    ("dead", "message"),
    [
        ({"near_zero_volt": 60}, "less than the hazardous voltages"),
        ({"near_zero_volt": 0}, "above 0"),
        ({"check_tolerance": 1.0}, "a fraction from 0 to below 1"),
        ({"near_zero": 6}, "near_zero is an unknown key"),
        ({"check_tolerance": "tight"}, "expected a number"),
    ],
)
def test_senseless_settings_of_a_plan_are_refused(dead, message):
    with pytest.raises(ValueError, match=message):
        plan_with(dead=dead)


@pytest.mark.parametrize(
    ("evidence", "state"),
    [
        ({"waited_second": 600}, "met"),
        ({"waited_second": 599}, "void"),
        ({"waited_hour": 0.5}, "met"),
        ({}, "void"),
        ({"waited_second": "long"}, "void"),
    ],
)
def test_waiting_shorter_than_the_plan_asks_does_not_count(evidence, state):
    work = job("complete")
    waited = next(one for one in work["evidence"] if one["check"] == "waited")
    for name in ("waited_second", "waited_hour"):
        waited.pop(name, None)
    waited.update(evidence)
    found = judged(work, plans=plan_with(waited={"least_second": 600}))
    assert [link.state for link in found.links if link.check == "waited"] == [state]
    assert passes(found) == (state == "met")


# Jobs from the rows of a table ------------------------------------------------------------------------------------

EVIDENCE = [{"check": check, "done": True} for check in ("locked", "plug_out", "discharge_after_test", "interlock")]


@pytest.fixture(scope="module")
def results():
    return ow.assess(DEPOT)


@pytest.fixture(scope="module")
def clean_rows():
    """A made depot without faults or slips, judged, with the jobs that replaced a converter."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "datasets" / "depot"))
    from demo_depot import generate

    depot = generate(3, faults=(), dirt=False)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        path.write_text(depot.readings_csv(), encoding="utf-8")
        readings = ow.read_readings(path)
    judged_rows = ow.assess(ow.Batch(readings, DEPOT.instruments, DEPOT.limits, DEPOT.part_kinds))
    converters = [
        r.job for r in depot.readings if r.cells["stage"] == "incoming_part" and r.cells["part"] == "converter"
    ]
    return judged_rows, converters


def test_rows_of_a_job_become_its_record(clean_rows):
    rows, converters = clean_rows
    found = [record.judge_rows(rows, name, plan="converter", evidence=EVIDENCE) for name in converters]
    assert len(found) >= 5
    assert sum(one.completeness == "complete" for one in found) >= 3
    for one in found:
        checks = [reading["check"] for reading in one.job.readings]
        steps = [reading["step"] for reading in one.job.readings]
        assert steps == sorted(steps)
        assert checks.index("source_before") < checks.index("dead")
        assert [link.state for link in one.links if link.check == "waited"] == ["met"]  # told by the dead readings
        gap = "source_after" not in checks
        assert ("void" in dead_states(one) or "missing" in dead_states(one)) == gap or checks.count("dead") < 3
        without = record.judge_rows(rows, one.job.job_id, plan="converter")
        assert without.completeness == "incomplete"


def test_the_demos_jobs_tell_what_was_left_out(results):
    found = record.judge_rows(results, "J-1430", plan="converter")
    assert found.conformity == "not conforming"  # 180 V after the wait
    assert found.groups[0][0] == "limit missed"
    assert dead_states(found) == ["limit missed", "met", "met"]
    assert any("could not be read" in note for note in found.notes)
    mixed = record.judge_rows(results, "J-1412", plan="converter")
    assert any("names the job and T-17: left out" in note for note in mixed.notes)
    assert any("fit no link of the plan" in note for note in mixed.notes)


def test_readings_instead_of_results_give_the_same_record(results):
    of_results = record.judge_rows(results, "J-1430", plan="converter")
    of_readings = record.judge_rows(
        DEPOT.readings, "J-1430", plan="converter", instruments=DEPOT.instruments, limits=DEPOT.limits,
        part_kinds=DEPOT.part_kinds,
    )  # fmt: skip
    assert of_readings.links == of_results.links


def test_a_column_check_names_what_a_row_is(clean_rows):
    rows, converters = clean_rows
    frame = rows.readings.accepted.to_arrow().to_pandas()
    frame = frame[frame["job_id"] == converters[0]].drop(columns=["line", "censoring", "resolution", "value"])
    frame = frame.rename(columns={"value_text": "value"}).drop(columns=["taken_at_has_time", "taken_at_has_offset"])
    frame["taken_at"] = frame["taken_at"].astype(str)
    frame["check"] = "written_by_hand"
    found = record.judge_rows(frame, converters[0], plan="converter", instruments=DEPOT.instruments)
    assert {reading["check"] for reading in found.job.readings} == {"written_by_hand"}
    assert not any("is taken from its quantity" in note for note in found.notes)


def test_rows_that_make_no_job_are_refused(results):
    with pytest.raises(ValueError, match="expected one that the readings name"):
        record.judge_rows(results, "J-9999", plan="converter")
    with pytest.raises(ValueError, match="sets check_tolerance"):
        record.judge_rows(results, "J-1430", plan=plan_with(dead={"check_tolerance": 0.2}))
    found = record.judge_rows(results, "J-1430", plan="no-such-plan")
    assert (found.completeness, found.conformity) == ("incomplete", "not conforming")
    assert "is not known" in found.notes[0]


# What several readings of a job show together ---------------------------------------------------------------------

SEEDS = range(1001, 1013)


def test_the_page_of_a_job_tells_what_its_readings_show_together(results, tmp_path):
    (leak, _) = [one for one in record.job_findings(results) if one.kind == "part_leaks"]
    judged = record.judge_rows(results, leak.job_id, plan="converter")
    assert judged.shown_together == (leak,)
    page = judged.write_report(tmp_path / "job.html").read_text(encoding="utf-8")
    assert "What several readings show together" in page
    assert leak.text[1:] in page
    assert leak.next_action in page


@pytest.fixture(scope="module")
def power_of_jobs():
    return power.measure(SEEDS)


@pytest.mark.parametrize("fault", power.FAULTS)
def test_power_and_false_naming_of_planted_faults(power_of_jobs, fault):
    assert power_of_jobs.planted[fault] == 2 * len(SEEDS)
    assert power_of_jobs.found[fault] >= 0.8 * power_of_jobs.planted[fault]
    assert power_of_jobs.clean_units[fault] >= 10 * len(SEEDS)
    assert power_of_jobs.named[fault] <= 0.01 * power_of_jobs.clean_units[fault]


def test_the_demos_findings_are_those_that_were_planted(results):
    found = record.job_findings(results)
    assert {(one.kind, one.object_id, one.part) for one in found} == {
        ("part_leaks", "T-02", "compressor"),
        ("slow_discharge", "T-24", "HV+ to HV-"),
        ("voltage_behind_leak", "T-06", "HV+ to chassis"),
    }
    leak = next(one for one in found if one.kind == "voltage_behind_leak").evidence
    assert leak["leak_ohm"] == pytest.approx(80e6, rel=0.02)
    assert leak["least_leak_ohm"] < leak["leak_ohm"]
    for one in found:
        assert one.object_id in repr(one)
        assert "Next: " in repr(one)
    with pytest.raises(ValueError, match="level is 2"):
        record.job_findings(results, level=2)


def test_the_notebook_runs_through(tmp_path):
    root = Path(__file__).resolve().parents[2]
    folder = tmp_path / "report"
    ran = subprocess.run(
        [
            sys.executable,
            root / "notebooks" / "execute.py",
            root / "notebooks" / "03_one_job_link_by_link.ipynb",
            folder,
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert "16 jobs, 4 complete and conforming" in (folder / "summary.txt").read_text(encoding="utf-8")
