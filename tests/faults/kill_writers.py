"""Writers of a clinic folder are killed at random moments: is anything lost, half there or left lying?

    python tests/faults/kill_writers.py --kills 100 [--seed 1] [--code DIR]

Each try starts `build`, `library approve`, `library copy` or `backup` in a clinic whose pack holds a signed
scan and a form filled in by hand, kills it with SIGKILL after a random time, starts the program once more,
and looks. Prints one row: tried, lost, half-written, strays, tracebacks.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import Counter
from hashlib import sha256
from pathlib import Path

from write_approvals import HERE, demo, environment

from consentpack.errors import BackupError
from consentpack.pipeline.archive import open_archive

PACK = "packs/HS-P-101"
SCAN, FORM = "signed-scan.pdf", "consent.docx"
BUILD = ["build", "plans/p-101.toml", "--draft"]
COMMANDS = (
    BUILD,
    ["library", "approve", "risks/bruising", "--by", "Dr Invented", "--role", "invented"],
    ["library", "copy", "bruising"],
    ["backup"],
)


def command(words: list[str]) -> list[str]:
    return [sys.executable, "-m", "consentpack", *words]


def prepare(clinic: Path, code: Path) -> None:
    """A pack with a scan, and everything a first run makes."""
    for words in (["audit", "import", "audit.csv"], BUILD):
        subprocess.run(command(words), cwd=clinic, env=environment(code), capture_output=True, check=True)
    (clinic / PACK / SCAN).write_bytes(b"signed")


def seconds(clinic: Path, code: Path, words: list[str]) -> float:
    """About how long a command takes, to kill it inside that time."""
    begun = time.perf_counter()
    subprocess.run(command(words), cwd=clinic, env=environment(code), capture_output=True, check=False)
    return time.perf_counter() - begun


def files_of(pack: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in pack.iterdir() if p.is_file()} if pack.is_dir() else {}


def looked_at(clinic: Path, before: dict[str, bytes]) -> Counter[str]:
    """What is wrong with a clinic folder after a killed run and one start more.

    A pack is whole when it is the one of before, with what was filled in by hand, or a new one whose
    manifest agrees with every document. A form that a clinician filled in may have another name then.
    """
    found: Counter[str] = Counter()
    now = files_of(clinic / PACK)
    found["lost"] += any(before[kept] not in now.values() for kept in (SCAN, FORM))
    try:
        listed = json.loads(now["manifest.json"])["documents"]
        agrees = all(sha256(now[name]).hexdigest() == entry["sha256"] for name, entry in listed.items())
        found["half-written"] += not (now == before or agrees)
        for archive in (clinic / "backups").glob("*.zip"):
            with open_archive(archive) as opened:
                found["half-written"] += not opened.whole
        if (clinic / "approvals.toml").is_file():
            tomllib.loads((clinic / "approvals.toml").read_text(encoding="utf-8"))
    except (OSError, ValueError, KeyError, BackupError):
        found["half-written"] += 1
    strays = [p for p in clinic.rglob(".*") if p.name.endswith((".part", ".old", ".ready", ".done"))]
    found["strays"] += bool(strays)
    return found


def run(kills: int, seed: int, code: Path) -> str:
    chance, found = random.Random(seed), Counter[str]()
    with tempfile.TemporaryDirectory() as place:
        first = demo(Path(place, "first"), code)
        prepare(first, code)
        lasts = [
            seconds(shutil.copytree(first, Path(place, f"t{n}")), code, w) for n, w in enumerate(COMMANDS)
        ]
        for number in range(kills):
            clinic = shutil.copytree(first, Path(place, "clinic"))
            with (clinic / PACK / FORM).open("ab") as form:
                form.write(b"filled in by hand")
            before = files_of(clinic / PACK)
            which = number % len(COMMANDS) if number % 2 else 0  # half of them builds
            process = subprocess.Popen(
                command(COMMANDS[which]), cwd=clinic, env=environment(code),
                stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
            )  # fmt: skip
            # most at the end of a run, where it writes
            moment = lasts[which] * (chance.uniform(0.75, 1.05) if chance.random() < 0.8 else chance.random())
            try:
                _, said = process.communicate(timeout=moment)
            except subprocess.TimeoutExpired:
                process.kill()
                _, said = process.communicate()
            after = subprocess.run(
                command(["audit", "history"]),
                cwd=clinic,
                env=environment(code),
                capture_output=True,
                text=True,
            )
            found["tracebacks"] += "Traceback" in said + after.stderr
            found += looked_at(clinic, before)
            shutil.rmtree(clinic)
    return f"writers killed | tried {kills} | " + " | ".join(
        f"{name} {found[name]}" for name in ("lost", "half-written", "strays", "tracebacks")
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--code", type=Path, default=HERE)
    asked = parser.parse_args()
    print(run(asked.kills, asked.seed, asked.code.resolve()))
