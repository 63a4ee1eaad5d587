"""The table of docs/why/faults.md, from the numbers in results.toml beside this file.

    python tests/faults/table.py            writes the page's table
    python tests/faults/table.py --check    says whether it is out of date, exit code 1

Each [[row]] of results.toml is one script run on the code before and on the code now.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs/why/faults.md"
COLUMNS = ("tried", "lost", "half_written", "silent", "tracebacks", "over")
_BEGIN, _END = "<!-- table: built by tests/faults/table.py -->", "<!-- end of table -->"
_HEAD = (
    "| what was done to it | how to repeat it | code | tried | lost | half-written | silent | tracebacks "
    "| over a limit |\n|---|---|---|---:|---:|---:|---:|---:|---:|"
)


def table(results: Mapping[str, Any]) -> str:
    """The table as Markdown; a number that a script does not count is a dash."""
    lines = [_HEAD]
    for row in results.get("row", []):
        for code in ("before", "now"):
            if found := row.get(code):
                counts = " | ".join(_number(found.get(name)) for name in COLUMNS)
                lines.append(f"| {row['what']} | `{row['command']}` | {code} | {counts} |")
    return "\n".join(lines)


def _number(value: int | None) -> str:
    return "–" if value is None else f"{value:,}"


def built(page: str, results: Mapping[str, Any]) -> str:
    """The page with its table as the results have it."""
    before, _, rest = page.partition(_BEGIN)
    _, _, after = rest.partition(_END)
    return f"{before}{_BEGIN}\n\n{table(results)}\n\n{_END}{after}"


def main() -> int:
    results = tomllib.loads((HERE / "results.toml").read_text(encoding="utf-8"))
    page = PAGE.read_text(encoding="utf-8")
    made = built(page, results)
    if "--check" in sys.argv:
        return int(made != page)
    PAGE.write_text(made, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
