"""Reading files and frames of workshop readings."""

import csv
import io
import os
import subprocess
import sys

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from check_values import check_values
from ohmward import readings as ow

HEADER = ["object_id", "part", "quantity", "value", "unit", "taken_at", "instrument_id"]
ROW = ["SW-14", "motor_rear", "insulation_resistance", "2.3", "GΩ", "2025-03-04", "meter-02"]


def write(path, text, encoding="utf-8"):
    path.write_bytes(text.encode(encoding))
    return path


def csv_text(*rows, header=HEADER, delimiter=","):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter).writerows([header, *rows])
    return out.getvalue()


def changed(**cells):
    return [cells.get(name, cell) for name, cell in zip(HEADER, ROW, strict=True)]


def frame_of(*rows, header=HEADER):
    return {name: [row[i] for row in rows] for i, name in enumerate(header)}


@pytest.mark.parametrize("case", check_values("value_text"), ids=str)
def test_value_text(case):
    read = ow.parse_value(
        case.text("text"), unit=case.text("unit"), quantity=case.text("quantity"), decimal=case.text("decimal")
    )
    case.expect(read.value)
    case.expect(read.resolution, "resolution")
    assert read.censoring.name == case.text("censoring")
    assert read.status == case.number("status"), read.reason


def test_parse_value_refuses_unknown_quantity():
    with pytest.raises(ValueError, match=r"quantity is volume, expected one of insulation_resistance"):
        ow.parse_value("1", quantity="volume")


def test_reads_a_file(tmp_path):
    path = write(tmp_path / "r.csv", csv_text(ROW, changed(value="1,234"), changed(value="OL", unit="")))
    readings = ow.read_readings(path)
    assert (len(readings), len(readings.accepted), len(readings.rejected)) == (3, 2, 1)
    assert readings.accepted["value"][0] == 2.3e9
    assert readings.accepted["object_id"].tolist() == ["SW-14", "SW-14"]
    assert readings.accepted["reading_id"].tolist() == ["R-00002", "R-00004"]
    assert readings.accepted["value_text"].tolist() == ["2.3", "OL"]
    assert readings.accepted["unit"].tolist() == ["GΩ", None]
    assert readings.accepted["taken_at"][0] == np.datetime64("2025-03-04")
    assert not readings.accepted["taken_at_has_time"].any()
    rejected = readings.rejected[0]
    assert (rejected.line, rejected.column, rejected.text) == (3, "value", "1,234")
    assert "thousands" in rejected.why
    assert readings.file == str(path)


def test_views_are_read_only_and_outlive_the_readings(tmp_path):
    value = ow.read_readings(write(tmp_path / "r.csv", csv_text(ROW))).accepted["value"]
    assert value.tolist() == [2.3e9]
    with pytest.raises(ValueError, match="read-only"):
        value[0] = 1


def test_what_was_found_is_told(tmp_path):
    text = csv_text(changed(value="2,3"), delimiter=";")
    readings = ow.read_readings(write(tmp_path / "r.csv", text, "utf-8-sig"))
    assert (readings.separator, readings.decimal) == (";", "comma")
    assert "decimal comma (1 cells), byte order mark" in repr(readings)


def test_frames_and_files_give_the_same_table(tmp_path):
    rows = [ROW, changed(value=">4"), changed(value="nonsense"), changed(instrument_id="")]
    from_file = ow.read_readings(write(tmp_path / "r.csv", csv_text(*rows)))
    data = frame_of(*rows)
    for frame in (pd.DataFrame(data), pl.DataFrame(data), pl.LazyFrame(data), pa.table(data)):
        readings = ow.read_readings(frame)
        assert readings.to_arrow().equals(from_file.to_arrow())
        assert readings.rejected == from_file.rejected


@pytest.mark.parametrize("make", [pd.DataFrame, pl.DataFrame, pa.table])
def test_numbers_and_dates_of_a_frame(make):
    data = frame_of(ROW, ROW, ROW)
    data["value"] = [2.3, 2.0, 4700000000000.0]
    data["taken_at"] = pd.to_datetime(["2025-03-04", "2025-03-05", "2025-03-06"]).to_pydatetime().tolist()
    data["test_voltage_volt"] = [500, 500, 1000]
    data["part_celsius"] = [21.5, None, -3.0]
    data["object_id"] = [14, 15, 16]
    readings = ow.read_readings(make(data))
    assert not readings.rejected
    assert readings.accepted["value"].tolist() == [2.3e9, 2e9, 4.7e21]
    assert readings.accepted["value_text"].tolist()[:2] == ["2.3", "2"]
    assert readings.accepted["object_id"].tolist() == ["14", "15", "16"]
    assert not readings.accepted["taken_at_has_time"].any()
    np.testing.assert_equal(readings.accepted["part_celsius"], [21.5, np.nan, -3.0])
    assert readings.accepted["test_voltage_volt"].tolist() == [500, 500, 1000]


def test_times_with_a_zone_are_utc():
    data = frame_of(ROW)
    data["taken_at"] = pd.to_datetime(["2025-03-04T08:15+01:00"])
    readings = ow.read_readings(pd.DataFrame(data))
    assert readings.accepted["taken_at"].tolist() == [np.datetime64("2025-03-04T07:15").item()]
    assert readings.accepted["taken_at_has_offset"].all()


def test_infinite_and_missing_numbers_are_rejected():
    data = frame_of(ROW, ROW, ROW)
    data["value"] = [np.inf, -np.inf, np.nan]
    for frame in (pd.DataFrame(data), pl.DataFrame(data)):
        assert len(ow.read_readings(frame).rejected) == 3


def test_masked_cells_are_missing():
    data = pd.DataFrame(frame_of(ROW, ROW))
    data["value"] = pd.array([2.3, None], dtype="Float64")
    readings = ow.read_readings(data)
    assert readings.accepted["value"].tolist() == [2.3e9]
    assert readings.rejected[0].why == "no value written down"


def test_odd_frames_are_refused_by_name():
    data = pd.DataFrame(frame_of(ROW, ROW))
    mixed = data.assign(value=pd.Series([{"a": 1}, 2], dtype=object))
    with pytest.raises(ow.UnreadableInput, match="column 'value'"):
        ow.read_readings(mixed)
    with pytest.raises(ow.UnreadableInput, match="column 'value'.*list"):
        ow.read_readings(pa.table({**frame_of(ROW), "value": [[1.0]]}))
    doubled = pd.concat([data, data[["value"]]], axis=1)
    with pytest.raises(ow.UnreadableInput, match="column 'value': stands twice"):
        ow.read_readings(doubled)
    with pytest.raises(TypeError, match="path or a data frame"):
        ow.read_readings(42)


def test_an_empty_frame_has_no_rows():
    assert len(ow.read_readings(pa.table({name: pa.array([], pa.string()) for name in HEADER}))) == 0


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "line 1: empty"),
        (b"object_id,part\n", "column 'quantity': missing"),
        (csv_text(header=[*HEADER, "value"]).encode(), "column 'value': stands twice"),
        (csv_text(changed(part="Tür", unit="Mohm")).encode("cp1252"), "line 2: byte 0xFC"),
        (csv_text(ROW).encode("utf-16"), "byte 0xFF"),
    ],
)
def test_unreadable_files_name_the_file(tmp_path, content, message):
    path = tmp_path / "odd.csv"
    path.write_bytes(content)
    with pytest.raises(ow.UnreadableInput, match=rf"odd\.csv.*{message}"):
        ow.read_readings(path)


def test_a_named_encoding_is_used(tmp_path):
    path = write(tmp_path / "r.csv", csv_text(changed(part="Tür", unit="Mohm")), "cp1252")
    assert ow.read_readings(path, encoding="cp1252").accepted["part"].tolist() == ["Tür"]
    with pytest.raises(ow.UnreadableInput, match="r.csv, line 2: byte"):
        ow.read_readings(path, encoding="ascii")
    with pytest.raises(ValueError, match="encoding is 'klingon'"):
        ow.read_readings(path, encoding="klingon")
    with pytest.raises(FileNotFoundError):
        ow.read_readings(tmp_path / "none.csv")


COLUMN_MAP = """
[columns]
object_id = {from = "Fahrzeug"}
taken_at = {from = "Datum", format = "%d.%m.%Y"}
instrument_id = {constant = "meter-01"}
test_voltage_volt = {constant = 500}

[[wide]]
from = "Motor"
part = "motor_rear"
quantity = "insulation_resistance"
unit = "MΩ"

[[wide]]
from = "Batterie A"
part = "battery_a"
quantity = "resting_voltage"
unit = "V"

[words]
over_range = ["Anschlag"]

[parts]
motor_rear = "motor_winding"

[objects]
"SW-14" = "sweeper_400v"
"""


def test_a_wide_file_through_a_column_map(tmp_path):
    columns = write(tmp_path / "columns.toml", COLUMN_MAP)
    path = write(
        tmp_path / "r.csv", "Fahrzeug;Datum;Motor;Batterie A\nSW-14;04.03.2025;Anschlag;12,61\nSW-15;gestern;3;12,5\n"
    )
    readings = ow.read_readings(path, columns=columns, parts={"battery_a": "battery_12v"})
    assert (len(readings), len(readings.accepted)) == (4, 2)
    frame = readings.to_pandas()
    assert frame["part_kind"].tolist() == ["motor_winding", "battery_12v"]
    assert frame["object_kind"].tolist() == ["sweeper_400v"] * 2
    assert frame["censoring"].tolist() == ["overload", "exact"]
    assert frame["test_voltage_volt"].tolist() == [500, 500]
    assert frame["reading_id"].tolist() == ["R-00002-1", "R-00002-2"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[colums]\na = 1\n", r"columns.toml, line 1: colums is an unknown key"),
        (
            '[columns]\npart = {from = "x"}\nvolume = {from = "y"}\n',
            r"columns.toml, line 3: columns.volume is an unknown key",
        ),
        ('[columns]\npart = {form = "x"}\n', r"columns.toml, line 2: columns.part.form is an unknown key"),
        ("[columns]\npart = {from = 3}\n", r"columns.toml, line 2: columns.part.from is 3, expected a text"),
        ('[columns]\npart = "x"\n', r"columns.toml, line 2: columns.part is 'x', expected a table"),
        ('[[wide]]\nfrom = "x"\npart = "y"\n', r"columns.toml, line 1: wide has no quantity"),
        ('[[wide]]\nfrom = "x"\npart = "y"\nquantity = "z"\n', r"columns.toml: wide.x.quantity is z, expected one of"),
        ('[words]\nover_range = "OL"\n', r"columns.toml, line 2: words.over_range is 'OL', expected a list"),
        ("[columns\n", r"columns.toml: .*line 1"),
        ('[columns]\ntaken_at = {format = "%q"}\n', r"columns.toml: columns.taken_at.format is %q"),
    ],
)
def test_senseless_column_maps_name_key_and_file(tmp_path, text, message):
    columns = write(tmp_path / "columns.toml", text)
    with pytest.raises(ValueError, match=message):
        ow.read_readings(write(tmp_path / "r.csv", csv_text(ROW)), columns=columns)


def test_to_frames(tmp_path):
    text = csv_text([*ROW, "x", "3"], [*ROW, "", "4"], header=[*HEADER, "bay", "line"])
    readings = ow.read_readings(write(tmp_path / "r.csv", text))
    table = readings.to_arrow()
    assert table.column_names == list(readings.accepted.columns)
    assert table["bay"].to_pylist() == ["x", None]
    assert table["line (file)"].to_pylist() == ["3", "4"]
    assert table["quantity"].to_pylist() == ["insulation_resistance"] * 2
    assert readings.to_pandas()["value"].tolist() == [2.3e9] * 2
    assert readings.to_polars()["object_id"].to_list() == ["SW-14"] * 2
    with pytest.raises(KeyError, match="no column 'nothing'"):
        readings.accepted["nothing"]


def test_html_runs_no_script(tmp_path):
    script = "<script>alert(1)</script>"
    readings = ow.read_readings(write(tmp_path / "r.csv", csv_text(changed(value=script))))
    assert "<script>" not in readings._repr_html_()
    assert "&lt;script&gt;" in readings._repr_html_()


def test_timed_series(tmp_path):
    rows = [[*ROW, "run-1", "60"], [*ROW, "run-1", "15"], [*ROW, "", "30"]]
    readings = ow.read_readings(
        write(tmp_path / "r.csv", csv_text(*rows, header=[*HEADER, "run_id", "elapsed_second"]))
    )
    (series,) = readings.timed_series()
    assert (series.object_id, series.run_id, series.rows.tolist()) == ("SW-14", "run-1", [1, 0])


def test_a_cell_of_a_million_characters_is_a_rejected_row(tmp_path):
    readings = ow.read_readings(write(tmp_path / "r.csv", csv_text(changed(part="x" * 1_000_000), ROW)))
    assert (len(readings.accepted), len(readings.rejected)) == (1, 1)


cells = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12),
    st.sampled_from(
        ["2.3", "2,3", "OL", ">4G", "MΩ", "insulation_resistance", "2025-03-04", "-0.01", "Ω", "1e999", ""]
    ),
)


@given(st.lists(st.lists(cells, min_size=1, max_size=9), max_size=8), st.sampled_from(",;"))
@settings(max_examples=200, deadline=None)
def test_every_row_is_accepted_or_rejected(tmp_path_factory, rows, delimiter):
    text = csv_text(*rows, delimiter=delimiter)
    path = write(tmp_path_factory.getbasetemp() / "property.csv", text)
    readings = ow.read_readings(path)
    counted = sum(1 for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter) if row) - 1
    assert len(readings) == counted
    assert len(readings.accepted) + len(readings.rejected) == counted


@given(st.binary(max_size=200), st.booleans())
@settings(max_examples=300, deadline=None)
def test_arbitrary_bytes_are_read_or_refused(tmp_path_factory, content, with_header):
    path = tmp_path_factory.getbasetemp() / "bytes.csv"
    path.write_bytes(csv_text().encode() * with_header + content)
    try:
        readings = ow.read_readings(path)
    except ow.UnreadableInput as error:
        assert "bytes.csv" in str(error)
    else:
        assert len(readings.accepted) + len(readings.rejected) == len(readings)


@given(st.floats(allow_nan=False, allow_infinity=False))
@settings(max_examples=300, deadline=None)
def test_a_written_double_comes_back(number):
    assert ow.parse_value(f"{number!r} V", quantity="dc_voltage").value == number


@given(st.from_regex(r"-?[0-9]{1,12}[.,][0-9]{4,6}", fullmatch=True))
@settings(max_examples=300, deadline=None)
def test_decimal_comma_equals_decimal_point(text):
    assert ow.parse_value(text, unit="V", quantity="dc_voltage").value == float(text.replace(",", "."))


def test_importing_loads_no_frame_library():
    code = """
import sys, ohmward.readings
print([name for name in ("pandas", "polars", "pyarrow", "narwhals") if name in sys.modules])
"""
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=os.environ)
    assert found.stdout.strip() == "[]"
