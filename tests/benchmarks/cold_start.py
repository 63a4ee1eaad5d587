"""How fast `consentpack --version` and `--help` answer, beside importing what a build needs.

    python tests/benchmarks/cold_start.py [RUNS]

Whole processes in turn, so that a slow moment of the machine hits all of them alike.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

COMMANDS = {
    "python -c pass": ["-c", "pass"],
    "consentpack --version": ["-m", "consentpack", "--version"],
    "consentpack --help": ["-m", "consentpack", "--help"],
    "import textstat, docx, sqlalchemy": ["-c", "import textstat, docx, sqlalchemy"],
}


def measure(runs: int) -> dict[str, float]:
    """Command -> median seconds of a whole process."""
    times: dict[str, list[float]] = {name: [] for name in COMMANDS}
    for _ in range(runs + 1):
        for name, arguments in COMMANDS.items():
            start = time.perf_counter()
            subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
            times[name].append(time.perf_counter() - start)
    return {name: statistics.median(found[1:]) for name, found in times.items()}


def main() -> None:
    found = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 11)
    heavy = found["import textstat, docx, sqlalchemy"]
    for name, seconds in found.items():
        print(f"{name:36} {1000 * seconds:7.1f} ms  {seconds / heavy:5.2f} of the imports")


if __name__ == "__main__":
    main()
