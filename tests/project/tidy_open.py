"""Compares what clang-tidy found with what is known to be open: a finding that is not listed fails.

    python tests/project/tidy_open.py build/tidy/findings.txt [--write]

`tidy_open.txt` beside this file lists the open findings as `file check`, one a line. It may only shrink: take
off what is gone.
"""

import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
OPEN = Path(__file__).with_name("tidy_open.txt")
FINDING = re.compile(r"^(?P<file>\S+?):\d+:\d+: (?:error|warning): .*\[(?P<check>[\w.,-]+)\]$", re.MULTILINE)


def findings(text: str) -> set[str]:
    """Return `file check` of every finding in the project's own files."""
    found = set()
    for match in FINDING.finditer(text):
        file = match["file"].removeprefix(f"{ROOT}/")
        check = match["check"].removesuffix(",-warnings-as-errors").split(",")[0]
        if not file.startswith(("/", "build/")):
            found.add(f"{file} {check}")
    return found


def main() -> int:
    """Print what is new or gone; 1 where anything is."""
    found = findings(Path(sys.argv[1]).read_text(encoding="utf-8"))
    if "--write" in sys.argv:
        OPEN.write_text("".join(f"{line}\n" for line in sorted(found)), encoding="utf-8")
        return 0
    known = set(OPEN.read_text(encoding="utf-8").split("\n")) - {""}
    for line in sorted(found - known):
        print(f"new: {line}")
    for line in sorted(known - found):
        print(f"gone, take it off the list: {line}")
    print(f"{len(found & known)} findings still open")
    return int(bool(found - known))


if __name__ == "__main__":
    sys.exit(main())
