"""The files of the project, read once: tracked ones and new ones that git does not ignore."""

import functools
import re
import subprocess
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@functools.cache
def files() -> tuple[Path, ...]:
    """All files, relative to the root."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    return tuple(sorted(Path(name) for name in set(listed.split("\0")) if name and (ROOT / name).is_file()))


def matching(*patterns: str) -> list[Path]:
    """Return the files that match one of the glob patterns, where ** stands for any folders."""
    whole = [re.compile(glob_expression(pattern)) for pattern in patterns]
    return [path for path in files() if any(expression.fullmatch(path.as_posix()) for expression in whole)]


def glob_expression(pattern: str) -> str:
    pieces = {"**/": "(?:.*/)?", "**": ".*", "*": "[^/]*"}
    return "".join(pieces.get(piece, re.escape(piece)) for piece in re.split(r"(\*\*/|\*\*|\*)", pattern))


@functools.cache
def text(path: Path) -> str:
    return (ROOT / path).read_text(encoding="utf-8")


def toml(path: str) -> dict:
    return tomllib.loads(text(Path(path)))


def without_comments(source: str) -> str:
    """C++ without comments and string contents; lines stay where they were."""
    token = re.compile(r'//[^\n]*|/\*.*?\*/|R"(\w*)\(.*?\)\1"|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])\'', re.DOTALL)

    def blank(match: re.Match) -> str:
        kept = '""' if match[0][0] in "\"R'" else " "
        return kept + "\n" * match[0].count("\n")

    include = re.compile(r'^\s*#\s*include\s*"[^"]*"', re.MULTILINE)
    includes = {source.count("\n", 0, match.start()): match[0].strip() for match in include.finditer(source)}
    lines = token.sub(blank, source).split("\n")
    for number, line in includes.items():
        lines[number] = line
    return "\n".join(lines)
