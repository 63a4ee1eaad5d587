"""Many writers approve at once: how many approvals are lost?

    python tests/faults/write_approvals.py --writers 8 --each 25 [--code DIR]

`--code` is a checkout whose `consentpack` is tried. Prints one row: tried, lost, half-written, tracebacks.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
WRITER = """
import sys, contextlib, io
from consentpack.cli import main
who, each, folder = sys.argv[1], int(sys.argv[2]), sys.argv[3]
for number in range(each):
    try:
        main(["library", "approve", "risks/bruising", "--by", f"{who} {number}", "--role", "invented",
              "--clinic", folder])
    except SystemExit as end:
        if end.code:
            raise
"""


def environment(code: Path) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(code), "PYTHONDONTWRITEBYTECODE": "1"}


def demo(folder: Path, code: Path) -> Path:
    """The invented clinic of a checkout, without packs."""
    shutil.copytree(code / "examples/hazel-street", folder)
    return folder


def run(writers: int, each: int, code: Path) -> str:
    with tempfile.TemporaryDirectory() as place:
        clinic = demo(Path(place, "clinic"), code)
        started = [
            subprocess.Popen(
                [sys.executable, "-c", WRITER, f"Writer {number}", str(each), str(clinic)],
                env=environment(code), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
            )
            for number in range(writers)
        ]  # fmt: skip
        said = [process.communicate()[1] for process in started]
        failed = sum(process.returncode != 0 for process in started)
        try:
            kept = tomllib.loads((clinic / "approvals.toml").read_text(encoding="utf-8"))["approval"]
            lost, half = writers * each - len({a["by"] for a in kept}), 0
        except (OSError, ValueError, KeyError):
            lost, half = writers * each, 1
    tracebacks = sum("Traceback" in text for text in said)
    return (
        f"approvals at once | tried {writers * each} | lost {lost} | half-written {half} | "
        f"failed {failed} | tracebacks {tracebacks}"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--writers", type=int, default=8)
    parser.add_argument("--each", type=int, default=25)
    parser.add_argument("--code", type=Path, default=HERE)
    asked = parser.parse_args()
    print(run(asked.writers, asked.each, asked.code.resolve()))
