"""Every figure from outside says where it comes from: ids resolve in datasets/sources.toml, and each is used."""

import csv
import re

import pytest
from project_files import matching, text, toml

SOURCES = toml("datasets/sources.toml")
SEEN = {"seen", "two sources", "computed", "from memory", "common practice, no source"}
ID = r"`{1,2}([a-z0-9][a-z0-9.-]*)`{1,2}"
NAMED = re.compile(rf"[Ss]ources?:?\s+({ID}(?:(?:,| and|;)\s+{ID})*)")


def named_in_text(path):
    """Ids in comments and docstrings: Source: `id`, or Sources: `id`, `id`."""
    unwrapped = re.sub(r"\n\s*(///?|#|\*)?[ \t]*", " ", text(path))
    for match in NAMED.finditer(unwrapped):
        yield from re.findall(ID, match[1])


def table_rows(path):
    lines = [line for line in text(path).lstrip("\ufeff").splitlines() if line.strip() and not line.startswith("#")]
    return list(csv.DictReader(lines))


def named_in_table(path):
    for row in table_rows(path):
        yield from (part.strip() for part in (row.get("source") or "").split(";") if part.strip())


def named_in_toml(value):
    if isinstance(value, dict):
        for key, inner in value.items():
            if key in ("source", "sources") and isinstance(inner, str | list):
                yield from [inner] if isinstance(inner, str) else inner
            else:
                yield from named_in_toml(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from named_in_toml(inner)


TEXTS = matching("cpp/**.hpp", "cpp/**.cpp", "cpp/**.h", "python/**.py", "python/**.cpp", "python/**.hpp")
TABLES = matching("datasets/tables/**.csv")
CHECK_VALUES = matching("tests/check_values/**.csv")
TOMLS = [path for path in matching("datasets/**.toml", "datasets/**.json") if path.name != "sources.toml"]


def users():
    for path in TEXTS:
        yield path, set(named_in_text(path))
    for path in (*TABLES, *CHECK_VALUES):
        yield path, set(named_in_table(path))
    for path in TOMLS:
        if path.suffix == ".toml":
            yield path, set(named_in_toml(toml(path.as_posix())))


USERS = [(path, ids) for path, ids in users() if ids]


def test_some_file_names_a_source():
    assert USERS


@pytest.mark.parametrize(("path", "ids"), USERS, ids=lambda value: str(value) if not isinstance(value, set) else "")
def test_ids_resolve(path, ids):
    assert ids <= set(SOURCES), f"{path}: not in datasets/sources.toml: {sorted(ids - set(SOURCES))}"


@pytest.mark.parametrize("source", SOURCES)
def test_entry_is_used(source):
    assert any(source in ids for _, ids in USERS), f"nothing uses the source {source}"


@pytest.mark.parametrize("source", SOURCES)
def test_entry_is_whole(source):
    entry = SOURCES[source]
    assert re.fullmatch(r"[a-z0-9][a-z0-9.-]*", source)
    assert entry["title"]
    assert entry["clause"]
    assert entry["seen"] in SEEN


@pytest.mark.parametrize("path", TABLES, ids=str)
def test_every_row_of_a_table_has_a_source(path):
    rows = table_rows(path)
    assert rows
    for row in rows:
        assert row.get("source"), f"{path}: {row}"
        assert row.get("seen", "seen") in SEEN, f"{path}: {row}"


@pytest.mark.parametrize("path", CHECK_VALUES, ids=str)
def test_check_values_are_whole(path):
    rows = table_rows(path)
    assert rows
    needed = {"id", "relative_tolerance", "absolute_tolerance", "source", "clause", "seen"}
    assert needed <= set(rows[0]), f"{path} lacks {sorted(needed - set(rows[0]))}"
    ids = [row["id"] for row in rows]
    assert len(ids) == len(set(ids)), f"{path}: an id twice"
    for row in rows:
        assert row["seen"] in SEEN, f"{path}: {row}"
        assert row["source"], f"{path}: {row}"
        assert float(row["relative_tolerance"]) >= 0
        assert float(row["absolute_tolerance"]) >= 0


@pytest.mark.parametrize("path", CHECK_VALUES, ids=str)
def test_check_values_are_run_by_both_languages(path):
    """A file that no test of a language reads checks nothing there; Python's turn comes with the room's binding."""
    readers = {test.parts[2] for test in matching("tests/cpp/*/**.cpp") if f'"{path.stem}"' in text(test)}
    assert readers, "no C++ test reads it"
    if any(matching(f"python/bindings/bind_{room}.cpp") for room in readers):
        assert any(f'"{path.stem}"' in text(test) for test in matching("tests/python/**.py")), "no Python test reads it"


def test_wrapped_and_listed_ids_are_found():
    assert re.findall(ID, NAMED.search("Sources: `a-1`, `b.2` and `c`.")[1]) == ["a-1", "b.2", "c"]
    assert re.findall(ID, NAMED.search("source ``halving-law``.")[1]) == ["halving-law"]
