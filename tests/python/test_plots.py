"""Plots: they draw into the axes given, show every reading, and take any text from a file as text."""

import matplotlib as mpl
import numpy as np
import pyarrow as pa
import pytest

import ohmward as ow

mpl.use("Agg")

from matplotlib import pyplot


@pytest.fixture(scope="module")
def demo():
    return ow.assess(ow.demo(), screen=False)  # what screening marks has tests of its own


@pytest.fixture(autouse=True)
def close():
    pyplot.close("all")
    yield
    pyplot.close("all")


PLOTS = {
    "attention": lambda results, ax: ow.plots.attention(results, ax=ax),
    "quantity_by_kind": lambda results, ax: ow.plots.quantity_by_kind(results, ax=ax),
    "object_over_time": lambda results, ax: ow.plots.object_over_time(results, "T-05", ax=ax),
    "bonding_session": lambda results, ax: ow.plots.bonding_session(results, "meter-04", "2023-11-10", ax=ax),
    "battery_by_month": lambda results, ax: ow.plots.battery_by_month(results, ax=ax),
}


def texts_of(ax):
    return [text.get_text() for text in ax.texts]


@pytest.mark.parametrize("name", PLOTS)
def test_draws_into_the_axes_given_and_returns_them(demo, name):
    figure, ax = pyplot.subplots()
    assert PLOTS[name](demo, ax) is ax
    assert pyplot.get_fignums() == [figure.number]
    figure.canvas.draw()


@pytest.mark.parametrize("name", PLOTS)
def test_makes_axes_where_none_are_given(demo, name):
    ax = PLOTS[name](demo, None)
    ax.figure.canvas.draw()
    assert ax.get_title(loc="left")


def results_of(*values, **columns):
    count = len(values)
    table = {"object_id": [f"V-{i}" for i in range(count)], "part": ["heater"] * count, "part_kind": ["heater"] * count,
             "quantity": ["insulation_resistance"] * count, "value": list(values), "unit": ["MΩ"] * count,
             "taken_at": ["2024-03-04"] * count, "instrument_id": ["meter-01"] * count,
             "test_voltage_volt": ["500"] * count}  # fmt: skip
    depot = ow.demo()
    table |= {name: [word] * count for name, word in columns.items()}
    return ow.assess(
        pa.table(table), instruments=depot.instruments, limits=depot.limits, part_kinds=depot.part_kinds, screen=False
    )


def test_strip_shows_each_reading_on_its_side_of_the_limit():
    """The heater's limit is 2 MΩ: 0.4 MΩ lies at a fifth of it, 2.04 MΩ just on the good side."""
    ax = ow.plots.attention(results_of("0.4", "2.04"))
    marks = [line.get_xdata()[0] for line in ax.lines if line.get_marker() not in ("None", None)]
    assert marks == pytest.approx([0.2, 1.02])


def test_strip_turns_an_upper_limit_round():
    """0.2 Ω against at most 0.1 Ω lies at half of the good side."""
    ax = ow.plots.attention(results_of("0.2", quantity="bonding_resistance", unit="Ω", part="pack_case",
                                       part_kind="bonding_point", instrument_id="meter-04"))  # fmt: skip
    assert [line.get_xdata()[0] for line in ax.lines if line.get_marker() not in ("None", None)] == pytest.approx([0.5])


def test_strip_interval_is_that_of_the_list(demo):
    ax = ow.plots.attention(demo, rows=60)
    limit = demo.limits["workshop-bonding"].upper
    drawn = [sorted(1e3 * limit / end for end in line.get_xdata()) for line in ax.lines if len(line.get_xdata()) == 2]
    shown = {" … ".join(f"{end:.0f}" for end in ends) for ends in drawn}
    listed = [row for row in demo.attention(each=True).head(60).rows() if row["limit"].endswith("(workshop-bonding)")]
    intervals = {row["interval"].split("\u00a0")[0] for row in listed if row["interval"]}
    assert intervals & shown, (intervals, shown)


def test_strip_draws_no_distance_where_no_limit_applies():
    demo = ow.assess(ow.demo())  # screening marks rows that no limit fits
    """A suspect reading that no limit fits is named, not measured against a limit of something else."""
    listed = demo.attention(each=True)
    number = next(i for i, limit in enumerate(listed["limit"]) if not limit)
    ax = ow.plots.attention(demo, rows=number + 1)
    assert [text.get_text().strip() for text in ax.texts if text.get_position() == (1.0, number)] == ["no limit"]
    assert not [line for line in ax.lines if number in line.get_ydata()]


def test_strip_arrow_for_over_range():
    ax = ow.plots.attention(results_of("OL", "0.4"))
    arrows = [text for text in ax.texts if getattr(text, "arrow_patch", None)]
    assert len(arrows) == 1
    assert arrows[0].xy[0] > arrows[0].xyann[0]  # to the good side, from the bound


def test_strip_carries_words_and_shapes(demo):
    ax = ow.plots.attention(demo, rows=40, rows_a_cause=4)
    shapes = {line.get_marker() for line in ax.lines} - {"None", None}
    assert len(shapes) >= 3
    reasons = set(demo.attention(each=True)["reason"])
    assert len([text for text in texts_of(ax) if any(reason[:30] in text for reason in reasons)]) >= 30
    assert {text.get_text() for text in ax.get_legend().get_texts()} >= {"fail", "conditional fail", "undetermined"}


def test_a_shared_cause_leaves_room_for_the_next(demo):
    reasons = demo.attention(each=True)["reason"]
    ax = ow.plots.attention(demo, rows=1000, rows_a_cause=2)
    assert len(ax.get_yticks()) == sum(min(reasons.count(reason), 2) for reason in set(reasons))


def test_strip_of_nothing():
    ax = ow.plots.attention(results_of("50"))
    assert len(ax.get_yticks()) == 0


def test_every_reading_of_the_quantity_is_drawn(demo):
    ax = ow.plots.quantity_by_kind(demo, "insulation_resistance")
    dots = sum(len(line.get_xdata()) for line in ax.lines if line.get_marker() in ("o", "<"))
    frame = demo.frame()
    value = np.array(frame["value"])
    mine = (np.array(frame["quantity"]) == "insulation_resistance") & ~np.isnan(value)
    censored = np.array(frame["censoring"])
    assert dots == (mine & (censored != "above")).sum()
    assert any(line.get_marker() == ">" for line in ax.lines)


def test_limit_lines_stand_in_their_band(demo):
    ax = ow.plots.quantity_by_kind(demo)
    bands = [label.get_text() for label in ax.get_yticklabels()]
    heater = bands.index("heater")
    limits = [line.get_xdata()[0] for line in ax.lines if list(line.get_ydata()) == [heater - 0.4, heater + 0.4]]
    assert limits == [demo.limits["maker-heater"].lower_value]


def test_unknown_vehicle_session_and_battery_are_named(demo):
    with pytest.raises(ValueError, match="T-99"):
        ow.plots.object_over_time(demo, "T-99")
    with pytest.raises(ValueError, match="meter-04"):
        ow.plots.bonding_session(demo, "meter-04", "1999-01-01")
    with pytest.raises(ValueError, match="T-99"):
        ow.plots.battery_by_month(demo, "T-99")


def test_over_time_joins_no_readings(demo):
    ax = ow.plots.object_over_time(demo, "T-05", part="motor_rear")
    drawn = [line for line in ax.lines if line.get_marker() in ("o", "^", "s")]
    rows = demo.where(object_id="T-05", part="motor_rear", quantity="insulation_resistance")
    assert len(drawn) == len(rows)
    assert all(len(line.get_xdata()) == 1 for line in drawn)


def test_dew_point_distance():
    """Air at 20 °C and 50 %: the dew point lies near 9.26 °C, so a part at 12 °C stands 2.74 K above it.

    Second route: the saturation pressure of Alduchov and Eskridge's form, within 0.05 K here.
    """
    ax = ow.plots.object_over_time(
        results_of("5", ambient_celsius="20", humidity_percent="50", part_celsius="12"), "V-0"
    )
    below = next(axes for axes in ax.figure.axes if axes is not ax)
    heights = [line.get_ydata()[0] for line in below.lines if line.get_marker() == "o"]
    gamma = np.log(0.5) + 17.625 * 20 / (243.04 + 20)
    assert heights == pytest.approx([12 - 243.04 * gamma / (17.625 - gamma)], abs=0.05)


def test_session_in_the_order_of_the_clock(demo):
    ax = ow.plots.bonding_session(demo, "meter-04", "2023-11-10")
    values = [line.get_ydata()[0] for line in ax.lines if line.get_marker() in ("o", "s")]
    rows = [
        row
        for row in demo.frame().rows()
        if row["taken_at"][:10] == "2023-11-10" and row["quantity"] == "bonding_resistance"
    ]
    assert sorted(values) == pytest.approx(
        sorted(row["value"] for row in rows if row["reading_id"] in readings_of_meter(demo))
    )
    assert any("floor of the session" in text for text in texts_of(ax))


def readings_of_meter(demo):
    return set(demo.where(instrument_id="meter-04", quantity="bonding_resistance")["reading_id"])


def test_pairs_are_joined(demo):
    ax = ow.plots.battery_by_month(demo, "T-03")
    joins = [
        line
        for line in ax.lines
        if len(line.get_xdata()) == 2 and line.get_marker() == "None" and line.get_linestyle() == "-"
    ]
    assert len(joins) > 10
    assert all(line.get_xdata()[0] == line.get_xdata()[1] for line in joins)


@pytest.mark.parametrize("text", ["$\\frac{1}{0}$", "$x", "a\nb\tc", "\x07bell", "<b>", "x" * 10_000])
def test_any_text_of_a_file_stays_a_text(text):
    results = results_of("0.4", object_id=text, part=text, part_kind="heater")
    for draw in (ow.plots.attention, ow.plots.quantity_by_kind):
        ax = draw(results)
        ax.figure.canvas.draw()
    ow.plots.object_over_time(results, results.frame()["object_id"][0]).figure.canvas.draw()
    assert max(len(words) for words in texts_of(ow.plots.attention(results))) < 200


def test_colours_repeat_what_shapes_say():
    from ohmward._marks import STATES, VERDICTS

    looks = [(mark.marker, mark.filled) for mark in VERDICTS.values()]
    assert len(set(looks)) == len(looks)
    assert len({mark.symbol for mark in STATES.values()}) == len(STATES)
