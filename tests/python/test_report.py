"""The page: whole, self-contained, and deaf to whatever a file contains."""

import datetime
import html
import re
import sys
from html.parser import HTMLParser

import pyarrow as pa
import pytest

import ohmward as ow

TODAY = datetime.date(2025, 1, 2)
COLUMNS = {
    "reading_id": "", "object_id": "V-1", "part": "heater", "part_kind": "heater", "quantity": "insulation_resistance",
    "value": "0.3", "unit": "MΩ", "taken_at": "2024-03-04", "instrument_id": "meter-01", "test_voltage_volt": "500",
    "from_point": "hv_plus", "to_point": "housing", "job_id": "J-1", "note": "",
}  # fmt: skip
HOSTILE = (
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "' onmouseover='alert(1)",
    "</style></td></table><iframe src=//example.org>", "<!--",
    "]]>", "&lt;b&gt;", "javascript:alert(1)", "=HYPERLINK(\"//example.org\")", "$\\frac{1}{0}$", "$x", "{x}", "%s",
    "\u202eevil\u202c", "a\u2028b", "zero\u200bwidth", "\ufeffmark", "漢字 🚚",
)  # fmt: skip


class Page(HTMLParser):
    """Elements, attributes and text of a page."""

    VOID = frozenset({"meta", "img", "br"})

    def __init__(self, text):
        super().__init__()
        self.elements, self.attributes, self.words, self.opened = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append(tag)
        self.attributes += [(tag, *pair) for pair in attrs]
        if tag not in self.VOID:
            self.opened.append(tag)

    def handle_endtag(self, tag):
        assert self.opened.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self):
        return " ".join(self.words)


def assessed(**changed):
    """Results of one row a text: a changed column holds one text, or several."""
    count = max([1, *(len(texts) for texts in changed.values() if isinstance(texts, tuple))])
    cells = {name: changed.get(name, value) for name, value in COLUMNS.items()}
    table = pa.table({name: list(cell) if isinstance(cell, tuple) else [cell] * count for name, cell in cells.items()})
    depot = ow.demo()
    return ow.assess(table, instruments=depot.instruments, limits=depot.limits, part_kinds=depot.part_kinds)


def page_of(results, path, **more):
    return Page(results.write_report(path, today=TODAY, **more).read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def demo():
    return ow.assess(ow.demo())


@pytest.fixture(scope="module")
def demo_page(demo, tmp_path_factory):
    return page_of(demo, tmp_path_factory.mktemp("report") / "report.html")


ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "h1", "h2", "h3", "p", "strong", "em", "ul", "ol", "li",
    "section", "table", "thead", "tbody", "tr", "th", "td", "span", "figure", "img", "figcaption",
}  # fmt: skip


def assert_harmless(page):
    assert set(page.elements) <= ALLOWED
    assert page.opened == []
    for _tag, name, value in page.attributes:
        assert not name.startswith("on")
        assert name not in ("href", "action", "formaction", "srcset")
        if name == "src":
            assert value.startswith("data:image/png;base64,")
    style = page.words[page.words.index(next(words for words in page.words if "@page" in words))]
    assert "url(" not in style
    assert "@import" not in style


def test_the_page_is_whole_and_self_contained(demo_page):
    assert_harmless(demo_page)
    assert "img" in demo_page.elements
    policy = [value for _, name, value in demo_page.attributes if name == "content" and "default-src" in value]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'; img-src data:"]


def test_first_screen_counts_every_vehicle(demo, demo_page):
    states = demo.by_object()["state"]
    lead = ", ".join(f"{states.count(state)} {state}" for state in ("hold", "look again", "no finding", "not examined"))
    assert lead in demo_page.text
    assert demo_page.text.index(lead) < demo_page.text.index("What stands behind")


def test_vehicles_with_a_plain_miss_are_on_the_first_screen(demo, demo_page):
    first = demo_page.text[: demo_page.text.index("Hold too")]
    plain = [row["object_id"] for row in demo.by_object().rows() if row["state"] == "hold" and row["verdict"] == "fail"]
    assert plain
    assert all(name in first for name in plain)
    assert f"Must not go out before someone has looked: {len(plain)}" in first


def test_every_reading_of_the_attention_list_is_on_the_page(demo, demo_page):
    listed = demo_page.text[demo_page.text.index("The whole attention list") :]
    assert all(reading_id in listed for reading_id in demo.attention(each=True)["reading_id"])


def test_every_vehicle_has_one_row_with_room_for_a_name(demo, demo_page):
    fills = [value for tag, name, value in demo_page.attributes if (tag, name, value) == ("td", "class", "fill")]
    assert len(fills) == len(demo.by_object())


def test_rejected_rows_are_shown_as_typed(demo, demo_page):
    rejected = demo_page.text[demo_page.text.index("Rejected rows") :]
    for row in demo.readings.rejected:
        assert row.text in rejected
        assert str(row.line) in rejected


def test_meters_and_limits_carry_dates_and_editions(demo_page):
    meters = demo_page.text[demo_page.text.index("Meters used") : demo_page.text.index("Limits used")]
    limits = demo_page.text[demo_page.text.index("Limits used") : demo_page.text.index("Cautions")]
    assert "2023-01-05 to 2025-01-05" in meters
    assert "maker-heater" in limits
    assert "service sheet 3" in limits
    assert "ieee-43-form-wound" not in limits  # shipped, but no reading was compared with it


def test_counts_add_up(demo):
    from ohmward._evidence import counts

    number = counts(demo)
    assert number["accepted"] + number["rejected"] == number["rows in the file"]
    kinds = [number[name] for name in list(number)[-4:]]
    assert sum(kinds) == number["not decided"] > 0
    decided = sum(number[name] for name in ("pass", "conditional pass", "conditional fail", "fail"))
    assert decided + number["not decided"] == number["judged"]
    replaced, without = (value for name, value in number.items() if name.startswith(("replaced", "without")))
    together = next(value for name, value in number.items() if name.startswith("judged together"))
    assert number["judged"] + replaced + without == number["accepted"] + together


def test_origin(demo, demo_page):
    assert demo.readings.sha256 in demo_page.text
    assert ow.__version__ in demo_page.text
    assert TODAY.isoformat() in demo_page.text


@pytest.mark.parametrize(
    "column", [name for name in COLUMNS if name not in ("quantity", "test_voltage_volt", "part_kind")]
)
def test_a_file_can_not_make_the_page_do_anything(column, tmp_path):
    assert_harmless(page_of(assessed(**{column: HOSTILE}), tmp_path / "report.html"))


def test_hostile_names_are_shown_as_typed(tmp_path):
    shown = page_of(assessed(object_id=HOSTILE), tmp_path / "report.html").text
    assert [text for text in HOSTILE if text.isprintable() and text not in shown] == []


def test_hidden_characters_are_spelt_out(tmp_path):
    text = page_of(assessed(object_id="\u202eevil\u202c"), tmp_path / "report.html").text
    assert "\u202e" not in text
    assert "\\u202eevil\\u202c" in text


def test_hostile_limits_and_meters(tmp_path):
    (tmp_path / "limits.toml").write_text(
        '[[limit]]\nid = "<b>mine"\n'
        'quantity = "insulation_resistance"\nlower = 1\nunit = "MΩ"\nauthority = "workshop"\n'
        'source = "<script>alert(1)</script>"\nedition = "<i>1"\n', encoding="utf-8"
    )  # fmt: skip
    table = pa.table({name: [value] for name, value in COLUMNS.items()})
    results = ow.assess(table, limits=ow.read_limits(tmp_path / "limits.toml", with_shipped=False))
    page = page_of(results, tmp_path / "report.html")
    assert_harmless(page)
    assert "<script>alert(1)</script>" in page.text


def test_long_cells_are_cut_and_say_so(tmp_path):
    assert "(5,000 characters)" in page_of(assessed(object_id="9" * 5_000), tmp_path / "report.html").text


def test_everything_passes(tmp_path):
    text = page_of(assessed(value="50"), tmp_path / "report.html").text
    assert "1 no finding" in text
    assert "Every latest reading passes, and none hides anything" in text
    assert "Must not go out" not in text


def test_no_reading_at_all(tmp_path):
    text = page_of(assessed(value=""), tmp_path / "report.html").text
    assert "0 hold" in text
    assert "1 row could not be read" in text


def test_changes_since_the_last_report(tmp_path):
    low, high = assessed(), assessed(value="50")
    assert "new" in last_cells(low, high, tmp_path)
    assert "same" in last_cells(low, low, tmp_path)
    assert "resolved" in last_cells(high, low, tmp_path)


def last_cells(now, before, folder):
    text = now.write_report(folder / "report.html", today=TODAY, previous=before).read_text(encoding="utf-8")
    return re.findall(r'<td class="fixed">([^<]*)</td></tr>', text)


def test_same_input_same_page(demo, tmp_path):
    first, second = (demo.write_report(tmp_path / name, today=TODAY).read_bytes() for name in ("a.html", "b.html"))
    assert first == second


def test_without_matplotlib_the_page_lacks_only_the_picture(monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    monkeypatch.setattr("ohmward._report.find_spec", lambda _: None)
    page = page_of(assessed(), tmp_path / "report.html")
    assert "img" not in page.elements
    assert "The whole attention list" in page.text


def test_nothing_is_called_safe(demo_page):
    assert not re.search(r"\bsafe\b", html.unescape(demo_page.text), re.IGNORECASE)
