"""Kill imports and entries by hand at random moments, and look at what is left. To be run by hand.

    python tests/faults/kill_register.py 60 --seed 1
    python tests/faults/kill_register.py 60 --seed 1 --code ../older-checkout

lost: something that was there before, or that a command said it had kept, is not there.
half-written: something between before and after. Each kill comes while the command writes, or near it.
"""

from __future__ import annotations

import random
import tempfile
import time
from pathlib import Path

from driving import Clinic, options, table

ROWS = 3_000
KINDS = ("import", "add", "outcome")


def main() -> None:
    asked = options(__doc__ or "", kills=60)
    chance = random.Random(asked.seed)
    counts = dict.fromkeys(("tried", "killed", "lost", "half-written", "tracebacks"), 0)
    with tempfile.TemporaryDirectory() as folder:
        clinic = Clinic.make(Path(folder), asked.code.resolve(), asked.postgres)
        code, said = clinic.run("import", clinic.sheet("base", 0, 200, "yes").name)
        assert code == 0, said
        takes = {kind: seconds(clinic, kind, asked.kills + n) for n, kind in enumerate(KINDS)}
        for number in range(asked.kills):
            kind = chance.choice(KINDS)
            one_kill(clinic, kind, number, takes[kind] * chance.uniform(0.3, 1.05), counts)
    table({"what": "imports and entries by hand, SIGKILL", "seed": asked.seed, **counts})


def seconds(clinic: Clinic, kind: str, number: int) -> float:
    """How long a command takes that nobody kills, starting Python included."""
    begun = time.monotonic()
    code, said = clinic.run(*command(clinic, kind, number))
    assert code == 0, said
    return time.monotonic() - begun


def one_kill(clinic: Clinic, kind: str, number: int, after: float, counts: dict[str, int]) -> None:
    before = clinic.held()
    arguments = command(clinic, kind, number)
    process = clinic.start(*arguments)
    time.sleep(after)
    counts["tried"] += 1
    done = process.poll() is not None
    counts["killed"] += not done
    process.kill()
    _, said = process.communicate()
    counts["tracebacks"] += "Traceback" in said
    try:
        held = clinic.held()
    except Exception:  # a register that cannot be read is the worst of all
        counts["lost"] += len(before)
        return
    changed = {key for key in held if held[key] != before.get(key)}
    counts["lost"] += bool(before.keys() - held.keys())
    whole = {"import": ROWS, "add": 1, "outcome": 1}[kind]
    counts["half-written"] += len(changed) not in (0, whole)
    counts["lost"] += done and process.returncode == 0 and not changed


def command(clinic: Clinic, kind: str, number: int) -> tuple[object, ...]:
    if kind == "import":
        return "import", clinic.sheet(f"k{number}", 0, ROWS, "no").name
    if kind == "add":
        return ("add", "--case", f"h{number}", "--session", 1, "--date", "2026-03-02",
                "--technique", "blunt-cannula", "--site", "chin")  # fmt: skip
    return "outcome", f"base-{number % 200:05}", 1, f"bruising={2 + number % 3}", "--seen-on", "2026-10-05"


if __name__ == "__main__":
    main()
