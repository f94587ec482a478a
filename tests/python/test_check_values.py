"""The loader itself: it must refuse what it can not read and fail on a value out of tolerance."""

import math

import pytest

from check_values import read_check_values

HEADER = "# a comment\nid,resistance_ohm,expected,relative_tolerance,absolute_tolerance\n"


def write(folder, text):
    path = folder / "values.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_cells_and_comments(tmp_path):
    (case,) = read_check_values(write(tmp_path, HEADER + '"a, b",1e8,,0,0\n'))
    assert case.id == "a, b"
    assert case.number("resistance_ohm") == 1e8
    assert math.isnan(case.number("expected"))


def test_tolerances_are_held(tmp_path):
    (case,) = read_check_values(write(tmp_path, HEADER + "a,1,100,1e-2,0.5\n"))
    case.expect(101.5)
    for wrong in (101.6, math.nan, math.inf):
        with pytest.raises(AssertionError):
            case.expect(wrong)


def test_no_value_is_expected(tmp_path):
    (case,) = read_check_values(write(tmp_path, HEADER + "a,1,,0,0\n"))
    case.expect(math.nan)
    with pytest.raises(AssertionError):
        case.expect(0.0)


@pytest.mark.parametrize(("expected", "wrong"), [("inf", -math.inf), ("inf", 1e308), ("-inf", math.inf)])
def test_infinity_equals_only_itself(tmp_path, expected, wrong):
    (case,) = read_check_values(write(tmp_path, HEADER + f"a,1,{expected},1,1\n"))
    case.expect(float(expected))
    with pytest.raises(AssertionError):
        case.expect(wrong)


@pytest.mark.parametrize("text", [HEADER, HEADER + "a,1,2\n"])
def test_broken_files_are_refused(tmp_path, text):
    with pytest.raises(ValueError, match=r"values\.csv"):
        read_check_values(write(tmp_path, text))
