"""Rooms include only what the table in rooms.toml allows, and their CMake targets say the same."""

import re
from pathlib import Path

import pytest
from project_files import matching, text, toml, without_comments

TABLE = toml("tests/project/rooms.toml")
ROOMS = TABLE["rooms"]
INCLUDE = re.compile(r'#\s*include\s*["<]ohmward/(\w+)/')


def reached(room, seen=frozenset()):
    """Rooms that a room reaches through others, itself included."""
    assert room not in seen, f"{room} points back to itself"
    return {room}.union(*(reached(used, seen | {room}) for used in ROOMS[room]))


def allowed(room):
    return {room, *ROOMS[room]} | (reached(room) & set(TABLE["ground"]))


def room_of(path):
    """Room of cpp/include/ohmward/<room>/... and cpp/src/<room>/..."""
    parts = path.parts
    return parts[3] if parts[1] == "include" else parts[2]


SOURCES = matching("cpp/include/ohmward/**", "cpp/src/*/**.hpp", "cpp/src/*/**.cpp")


def test_there_are_sources():
    assert len(SOURCES) > 5


@pytest.mark.parametrize("room", ROOMS)
def test_nothing_points_back(room):
    order = list(ROOMS)
    assert all(order.index(used) < order.index(room) for used in ROOMS[room])
    assert reached(room)


def test_every_folder_is_a_room():
    assert {room_of(path) for path in SOURCES if path.parts[2] != "c"} <= set(ROOMS)


@pytest.mark.parametrize("path", [path for path in SOURCES if path.parts[2] != "c"], ids=str)
def test_includes(path):
    room = room_of(path)
    included = set(INCLUDE.findall(text(path)))
    assert included <= allowed(room), f"{room} may not include {sorted(included - allowed(room))}"


@pytest.mark.parametrize("part", TABLE["c"])
def test_parts_of_the_c_interface(part):
    sources = matching(f"cpp/src/c/{part}/**")
    assert sources
    included = {room for path in sources for room in INCLUDE.findall(text(path))}
    allowed_here = set(TABLE["c"][part])
    assert included <= allowed_here, f"may not include {sorted(included - allowed_here)}"
    assert not any(re.search(r'#\s*include\s*"c/hosted/', text(path)) for path in sources if part == "embedded")


@pytest.mark.parametrize("path", matching("cpp/src/*/CMakeLists.txt"), ids=str)
def test_cmake_needs(path):
    """NEEDS of a room cover what its files include, and no more than the table allows."""
    for room, arguments in re.findall(r"ohmward_room\(\s*(\w+)([^)]*)\)", text(path)):
        match = re.search(r"\bNEEDS\b((?:\s+[a-z]\w*)+)", arguments)
        needs = set(match[1].split()) if match else set()
        assert needs <= allowed(room), f"{room} NEEDS {sorted(needs - allowed(room))}, which the table does not allow"
        linked = {room}.union(*(reached(need) for need in needs))
        included = {name for source in SOURCES if room_of(source) == room for name in INCLUDE.findall(text(source))}
        assert included <= linked, f"{room} includes {sorted(included - linked)} without naming it in NEEDS"


def test_cmake_lists_hold_the_same_rooms():
    for path in ("cpp/CMakeLists.txt", "python/CMakeLists.txt"):
        listed = re.search(r"foreach\(room ([^)]*)\)", text(Path(path)))[1].split()
        assert listed == list(ROOMS), path


INSTALLED = matching("cpp/include/**")


@pytest.mark.parametrize("path", INSTALLED, ids=str)
def test_installed_headers_stand_alone(path):
    """Eigen and Boost are of the sources only; a header never prints."""
    code = without_comments(text(path))
    assert not re.search(r"#\s*include\s*<(Eigen|boost|iostream|cstdio|pybind11)\b", code)
    assert code.lstrip().startswith(("#pragma once", "#ifndef")), "no include guard"


BARE = TABLE["bare"]["rooms"]
BARE_HEADERS = matching(*(f"cpp/include/ohmward/{room}/**" for room in BARE))
BARE_FILES = BARE_HEADERS + matching(*(f"cpp/src/{room}/**.{suffix}" for room in BARE for suffix in ("hpp", "cpp")))
# Not equal on every machine, or output.
LIBRARY_MATHS = re.compile(
    r"\bstd::(exp|exp2|expm1|log|log2|log10|log1p|pow|sin|cos|tan|sinh|cosh|tanh|asin|acos|atan|atan2|erf|erfc|tgamma"
    r"|lgamma|cbrt|hypot|cout|cerr|clog|printf|puts)\b|\b(printf|fprintf|puts)\s*\("
)
HEAP_OR_THROW = re.compile(
    r"\bthrow\b|(?<!operator )\bnew\b|\bmalloc\s*\(|\bstd::(basic_string|string|vector|map|set|list|deque|function"
    r"|unordered_map|unordered_set|make_unique|make_shared|unique_ptr|shared_ptr)\b"
)


@pytest.mark.parametrize("path", BARE_FILES, ids=str)
def test_bare_rooms_use_own_functions(path):
    found = LIBRARY_MATHS.search(without_comments(text(path)))
    assert not found, found[0]


@pytest.mark.parametrize("path", BARE_HEADERS, ids=str)
def test_bare_headers_need_no_heap_and_throw_nothing(path):
    found = HEAP_OR_THROW.search(without_comments(text(path)))
    assert not found, found[0]


def test_the_searches_find_what_they_look_for():
    bad = 'double f() { /* std::exp */ const char* s = "throw"; return std::exp(1.0); }\n// new\nvoid g() { throw 1; }'
    code = without_comments(bad)
    assert LIBRARY_MATHS.findall(code)
    assert LIBRARY_MATHS.search(code).start() > code.index("return")
    assert HEAP_OR_THROW.search(code)[0] == "throw"
    assert code[: HEAP_OR_THROW.search(code).start()].count("\n") == 2
    assert not HEAP_OR_THROW.search(without_comments('int a; // new vector\nconst char* b = "std::vector";'))
