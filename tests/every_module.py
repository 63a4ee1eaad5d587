"""Whether the usual tests run something of every module: the `pytest` of the README leaves the slow ones out,
and must not leave a room of the house out with them.

    pytest --cov --cov-report=json:FILE && python tests/every_module.py FILE

Exit code 1 names each module of which no function was called, and each where under LEAST of the lines ran.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

LEAST = 60.0
"""Percent. Our own choice, below the lowest there is, so that a module whose tests become slow ones shows."""


def untouched(files: Mapping[str, Any]) -> list[str]:
    """One line for each module that the tests hardly run, from coverage's JSON report."""
    found = []
    for name, file in sorted(files.items()):
        functions = [f for key, f in file["functions"].items() if key]
        share = file["summary"]["percent_covered"]
        if functions and not any(f["executed_lines"] for f in functions):
            found.append(f"{name}: no function of it is called")
        elif share < LEAST:
            found.append(f"{name}: {share:.0f}% of its lines are run, not {LEAST:.0f}%")
    return found


def main() -> None:
    files = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))["files"]
    there = {str(path) for path in Path("consentpack").rglob("*.py")}
    missing = [f"{name}: not looked at" for name in sorted(there - set(files))]
    found = missing + untouched(files)
    lowest = sorted(files.items(), key=lambda each: each[1]["summary"]["percent_covered"])[:5]
    for name, file in lowest:
        print(f"{file['summary']['percent_covered']:5.1f}%  {name}")
    print("\n".join(found) or f"The usual tests run something of each of {len(files)} modules.")
    sys.exit(bool(found))


if __name__ == "__main__":
    main()
