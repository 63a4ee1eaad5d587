"""Several writers at once: entries, outcomes and imports, each its own process. To be run by hand.

    python tests/faults/write_at_once.py 4 250 --seed 1
    python tests/faults/write_at_once.py 4 250 --seed 1 --postgres postgresql+psycopg://me@/empty

lost: a write that was said to be kept and is not there. refused: a writer was told that it must wait.
Writers call the command line inside one process each, so that starting Python is not what is measured.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from driving import Clinic, options, table

_WRITER = """
import contextlib, io, json, random, sys
from click.testing import CliRunner
from consentpack.cli import main
who, writes, seed = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
chance, kept, refused, traces, added = random.Random(f"{seed}{who}"), {}, 0, 0, []
head = "case,session,date,techniques,site,bruising,infection\\n"
for number in range(writes):
    kind = chance.choice(("add", "outcome", "outcome", "import")) if added else "add"
    if kind == "add":
        case, grade = f"{who}-{number}", None
        command = ["add", "--case", case, "--session", "1", "--date", "2026-03-02", "--technique",
                   "blunt-cannula", "--site", "chin"]
    elif kind == "outcome":
        case, grade = chance.choice(added), chance.randrange(4)
        command = ["outcome", case, "1", f"bruising={grade}", "--seen-on", "2026-10-05"]
    else:
        case, grade = f"{who}-i{number}", 0
        with open(f"{case}.csv", "w") as sheet:
            sheet.write(head + f"{case},1,2026-03-02,blunt-cannula,chin,no,no\\n")
        command = ["import", f"{case}.csv"]
    result = CliRunner().invoke(main, ["audit", *command])
    if result.exit_code == 0:
        kept[case] = grade
        if kind == "add":
            added.append(case)
    elif isinstance(result.exception, SystemExit):
        refused += 1
    else:
        traces += 1
print(json.dumps([kept, refused, traces]))
"""


def main() -> None:
    asked = options(__doc__ or "", writers=4, writes=250)
    with tempfile.TemporaryDirectory() as folder:
        clinic = Clinic.make(Path(folder), asked.code.resolve(), asked.postgres)
        begun = [writer(clinic, f"w{n}", asked.writes, asked.seed) for n in range(asked.writers)]
        said = [process.communicate(timeout=3600)[0] for process in begun]
        found = [json.loads(each) for each in said]
        held = clinic.held()
    kept = {case: grade for one, _, _ in found for case, grade in one.items()}
    lost = sum((c, 1) not in held or held[c, 1].get("bruising") != grade for c, grade in kept.items())
    table(
        {
            "what": f"{asked.writers} writers × {asked.writes} writes, {clinic.url.split(':')[0]}",
            "seed": asked.seed,
            "tried": asked.writers * asked.writes,
            "lost": lost,
            "half-written": len(held) - len(kept),
            "refused": sum(refused for _, refused, _ in found),
            "tracebacks": sum(traces for _, _, traces in found),
        }
    )


def writer(clinic: Clinic, who: str, writes: int, seed: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", _WRITER, who, str(writes), str(seed)],
        cwd=clinic.folder,
        env={**os.environ, "PYTHONPATH": str(clinic.code)},
        stdout=subprocess.PIPE,
        text=True,
    )


if __name__ == "__main__":
    main()
