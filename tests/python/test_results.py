"""Results: order of attention, states of vehicles, selections, explanations, frames."""

import pyarrow as pa
import pytest

import ohmward as ow

STATES = ("hold", "look again", "no finding", "not examined")


@pytest.fixture(scope="module")
def demo():
    return ow.assess(ow.demo(), screen=False)  # what screening marks has tests of its own


def bonding(object_id, value, **more):
    row = {"object_id": object_id, "part": "pack_case", "part_kind": "bonding_point", "quantity": "bonding_resistance",
           "value": value, "unit": "Ω", "taken_at": "2024-03-04", "instrument_id": "meter-05", "test_ampere": "5",
           "null_ohm": "0.00"}  # fmt: skip
    return row | more


def insulation(object_id, value, **more):
    row = {"object_id": object_id, "part": "heater", "part_kind": "heater", "quantity": "insulation_resistance",
           "value": value, "unit": "MΩ", "taken_at": "2024-03-04", "instrument_id": "meter-01",
           "test_voltage_volt": "500", "null_ohm": "", "test_ampere": ""}  # fmt: skip
    return row | more


def assessed(*rows):
    columns = list(dict.fromkeys(name for row in rows for name in row))
    table = pa.table({name: [row.get(name, "") for row in rows] for name in columns})
    depot = ow.demo()
    return ow.assess(
        table, instruments=depot.instruments, limits=depot.limits, part_kinds=depot.part_kinds, screen=False
    )


@pytest.fixture(scope="module")
def five():
    """One clear miss, one within the meter's uncertainty, one clear pass, one over-range, one that no limit fits."""
    return assessed(
        bonding("V-1", "0.0200"),
        insulation("V-2", "2.04"),
        insulation("V-3", "0.30"),
        insulation("V-4", "OL"),
        bonding("V-5", "0.3", quantity="winding_resistance", part="motor", part_kind="motor_winding"),
    )


def test_states_in_words(five):
    states = dict(zip(five.by_object()["object_id"], five.by_object()["state"], strict=True))
    assert states == {
        "V-3": "hold", "V-2": "look again", "V-4": "look again", "V-1": "no finding", "V-5": "not examined",
    }  # fmt: skip


def test_most_urgent_first(five):
    assert five.by_object()["object_id"][0] == "V-3"
    assert five.attention()["object_id"][0] == "V-3"
    assert set(five.attention()["object_id"]) == {"V-2", "V-3", "V-4"}


def test_every_line_of_attention_has_a_reason_and_a_next_action(demo):
    for row in demo.attention().rows():
        assert row["reason"], row
        assert row["next_action"], row
        assert row["as_written"] or row["value"], row


def test_order_of_attention(demo):
    """Not to be believed, then fails, then conditional fails, then what can hide a bad part, then the rest."""
    rank = {"fail": 1, "conditional_fail": 2}
    attention = demo.attention(each=True)
    hiding = {name for name, hides, _ in ow._core.core.finding_table if hides}
    findings = dict(zip(demo.frame()["reading_id"], demo.frame()["findings"], strict=True))
    ranks = []
    for row in attention.rows():
        own = set(findings[row["reading_id"]].split())
        ranks.append(rank.get(row["verdict"], 3 if own & hiding else 4))
    believed = [r for r, row in zip(ranks, attention.rows(), strict=True)
                if not set(findings[row["reading_id"]].split()) & NOT_BELIEVED]  # fmt: skip
    assert believed == sorted(believed)
    assert len(set(believed)) > 3


NOT_BELIEVED = {
    "open_contactor_suspected", "wrong_function_suspected", "copied_suspected", "source_check_missing",
    "null_below_zero", "unit_slip_suspected", "object_mistyped_suspected",
}  # fmt: skip


def test_history_adds_replaced_readings():
    results = assessed(insulation("V-1", "0.3", taken_at="2024-01-02"), insulation("V-1", "50", taken_at="2024-03-04"))
    assert len(results.attention()) == 0
    assert results.attention(history=True)["as_written"] == ["0.3 MΩ"]
    assert results.by_object()["state"] == ["no finding"]


def test_since_is_the_first_reading_of_the_point_that_did_not_pass():
    days = {"2024-01-02": "50", "2024-02-02": "0.9", "2024-03-02": "0.4"}
    row = next(assessed(*(insulation("V-1", value, taken_at=day) for day, value in days.items())).by_object().rows())
    assert (row["since"], row["last_read"], row["state"]) == ("2024-02-02", "2024-03-02", "hold")


def dead_check(day, **more):
    return bonding("V-1", "0.2", part="hv_bus", part_kind="hv_bus", quantity="dc_voltage", unit="V", taken_at=day,
                   instrument_id="meter-06", null_ohm="", test_ampere="", from_point="hv_plus", to_point="hv_minus",
                   job_id=f"J-{day}") | more  # fmt: skip


def test_only_the_last_dead_check_can_hold_a_vehicle():
    """Two jobs without a known source: the first is of work that is over, so the second is what holds."""
    results = assessed(dead_check("2024-02-02T09:00"), dead_check("2024-03-03T09:00", from_point="hv_minus"))
    assert results.where(finding="source_check_missing")["taken_at"] == ["2024-02-02 09:00", "2024-03-03 09:00"]
    row = next(results.by_object().rows())
    assert (row["state"], row["last_read"]) == ("hold", "2024-03-03")


def test_a_miss_weighs_more_on_a_vehicle_than_a_gap_in_the_proof():
    results = assessed(dead_check("2024-03-03T09:00"), insulation("V-1", "0.30"))
    assert next(results.by_object().rows())["verdict"] == "fail"


def test_checks_of_a_meter_are_of_no_vehicle(demo):
    assert "BENCH" in set(demo.frame()["object_id"])
    assert "BENCH" not in demo.by_object()["object_id"]


def test_order_of_vehicles(demo):
    states = demo.by_object()["state"]
    assert states == sorted(states, key=STATES.index)
    worst = [row["verdict"] for row in demo.by_object().rows() if row["state"] == "hold" and row["verdict"]]
    assert worst.index("conditional_fail") > len(worst) - 1 - worst[::-1].index("fail")


def test_nothing_is_called_safe(demo):
    words = " ".join(
        str(cell)
        for frame in (demo.by_object(), demo.attention(), demo.by_cause())
        for row in frame.rows()
        for cell in row.values()
    )
    assert "safe" not in words.lower()


def test_causes_cover_the_attention_list_once(demo):
    causes = demo.by_cause()
    assert sum(causes["readings"]) == len(demo.attention(each=True))
    assert sum(causes["share"]) == pytest.approx(1.0)
    reasons = demo.attention(each=True)["reason"]
    for row in causes.rows():
        assert row["readings"] <= reasons.count(row["cause"])


def test_summary_counts_every_reading(demo):
    summary = demo.summary()
    verdicts = ("pass", "conditional_pass", "conditional_fail", "fail", "undetermined", "without_verdict")
    assert sum(summary["readings"]) == len(demo)
    for row in summary.rows():
        assert sum(row[verdict] for verdict in verdicts) == row["readings"]


@pytest.mark.parametrize(("conditions", "expected"), [
    ({"verdict": "fail"}, ["V-3"]),
    ({"quantity": "bonding_resistance"}, ["V-1"]),
    ({"finding": "contact_not_shown"}, ["V-4"]),
    ({"object_id": "V-2"}, ["V-2"]),
    ({"object_id": "V-2", "verdict": "fail"}, []),
    ({"verdict": "none"}, ["V-5"]),
])  # fmt: skip
def test_where(five, conditions, expected):
    assert five.where(**conditions)["object_id"] == expected


@pytest.mark.parametrize(("conditions", "text"), [
    ({"verdict": "good"}, "expected one of"),
    ({"finding": "nice"}, "expected one of"),
    ({"quantity": "weight"}, "weight"),
    ({"colour": "red"}, "colour"),
])  # fmt: skip
def test_where_names_what_it_does_not_know(five, conditions, text):
    with pytest.raises(ValueError, match=text):
        five.where(**conditions)


def test_explanation_leads_from_text_to_next_action(five):
    steps = dict(five.explain(five.where(verdict="fail")["reading_id"][0]).steps)
    assert "0.30 MΩ as written" in steps["reading"]
    assert "maker-heater" in steps["limit"]
    assert steps["verdict"].startswith("fail")
    assert steps["next"]


def test_explanation_of_an_unknown_reading(five):
    with pytest.raises(KeyError, match="no reading 'R-99'"):
        five.explain("R-99")


def test_explanation_is_escaped():
    results = assessed(insulation("<script>alert(1)</script>", "0.3"))
    shown = results.explain(results.attention()["reading_id"][0])._repr_html_()
    assert "<script" not in shown
    assert "&lt;script&gt;" in shown


def test_frames_carry_the_metadata(five):
    for handed_on in (
        five.to_pandas().attrs,
        {k.decode(): v.decode() for k, v in five.to_arrow().schema.metadata.items() if k != b"pandas"},
    ):
        assert handed_on["ohmward_version"] == ow.__version__
        assert handed_on["input_sha256"] == five.readings.sha256
        assert "maker-heater: demo-depot service sheet 3" in handed_on["limits"]


def test_frames_agree(five):
    arrow, pandas, polars = five.to_arrow(), five.to_pandas(), five.to_polars()
    assert arrow.column_names == list(pandas.columns) == polars.columns
    for name in ("reading_id", "object_id", "verdict", "limit", "findings", "next_action"):
        assert arrow[name].to_pylist() == polars[name].to_list()
        assert [None if value != value else value for value in pandas[name]] == arrow[name].to_pylist()
    assert pandas["value"].tolist()[2] == polars["value"][2] == 0.3e6


def test_rows_of_a_frame_are_those_of_the_file_then_what_follows_from_several(demo):
    frame, accepted = demo.frame(), demo.readings.accepted
    assert list(frame["reading_id"][: len(accepted)]) == list(accepted["reading_id"])
    assert set(frame["as_written"][len(accepted) :]) == {"600 s over 60 s of the run"}


def test_a_tighter_sheet_only_moves_verdicts_out_of_the_middle():
    """Of plain values, not screened: a check of the meter, whose error stays what it is, may fail a tighter sheet."""
    depot = ow.demo()
    frame, other = (
        ow.assess(ow.Batch(depot.readings, meters, depot.limits, depot.part_kinds), screen=False).frame()
        for meters in (depot.instruments, depot.instruments.tighter(4))
    )
    pairs = list(zip(frame["censoring"], frame["verdict"], other["verdict"], strict=True))
    moved = [(before, after) for kind, before, after in pairs if kind == "exact" and before != after]
    assert moved
    assert {before for before, _ in moved}.isdisjoint({"pass", "fail"})


@pytest.mark.parametrize("factor", [1.0, 0.5, -2.0, float("nan")])
def test_tighter_wants_a_factor_above_one(factor):
    with pytest.raises(ValueError, match="factor is"):
        ow.demo().instruments.tighter(factor)
