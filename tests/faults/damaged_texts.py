"""Damages plans, settings, modules, translations, approvals, manifests and old forms, and looks how
commands take it.

    python tests/faults/damaged_texts.py --count 6000 --seed 1 --code DIR

DIR holds the consentpack to be tried; without it, the one beside this file. Prints what it did not like,
then one row of a table: tried, lost, half-written, silent, tracebacks, over a limit. `silent` counts
what was taken although a needed thing was destroyed, where that is certain. An exit code of 70 (a fault
of the program, told politely) counts as a traceback. Not run by pytest; everything in the folders it
makes is invented.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
SECONDS, MEMORY = 20, 3_000_000_000
"""Processor time and address space of one command."""


@dataclass(frozen=True)
class Case:
    """One damaged file and the command that meets it."""

    kind: str
    file: str
    """Below the clinic folder."""
    data: bytes
    how: str
    command: tuple[str, ...]
    must_fail: bool = False
    """Whether a needed thing is certainly gone."""


@dataclass(frozen=True)
class Outcome:
    """How a command ended."""

    code: int
    said: str
    half_written: bool = False

    @property
    def over(self) -> bool:
        return self.code in (-signal.SIGXCPU, -signal.SIGKILL, -signal.SIGALRM)

    @property
    def traceback(self) -> bool:
        return (
            "Traceback (most recent call last)" in self.said
            or self.code in (70, 99)
            or (self.code < 0 and not self.over)
        )


def make_clinic(folder: Path) -> None:
    """The invented clinic with audit, one pack, approvals, own content, a translation and old forms."""
    from datetime import date, datetime

    from damage import write_forms

    from consentpack import pipeline, shipped

    pipeline.copy_demo(folder)
    for part in ("risks/bruising", "techniques/blunt-cannula", "aftercare/sun", "documents/consent"):
        own = folder / "content" / f"{part}.md"
        own.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(shipped.content() / f"{part}.md", own)
    for name in ("glossary.toml", "settings.toml", "sources.json", "published_rates.csv"):
        shutil.copy(shipped.content() / name, folder / "content" / name)
    po = folder / "locales/pl/LC_MESSAGES/own.po"
    po.parent.mkdir(parents=True, exist_ok=True)
    shipped_po = sorted((shipped.locales() / "pl/LC_MESSAGES").glob("*.po"))[0].read_text(encoding="utf-8")
    po.write_text("\n\n".join(shipped_po.split("\n\n")[:400]) + "\n", encoding="utf-8")
    place = pipeline.open_workplace(folder)
    pipeline.import_audit(place, folder / "audit.csv", now=datetime(2026, 11, 25, 9), by="tests")
    pipeline.approve(
        place, ["bruising", "sun"], by="Dr Example", role="Tester", day=date(2026, 11, 25), until=None
    )
    pipeline.build(place, folder / "plans/p-101.toml", allow_draft=True)
    write_forms(folder)


def run(folder: Path, case: Case) -> Outcome:
    """The command in a process of its own, with limits; the clinic folder is put back afterwards."""
    path = folder / case.file
    kept = path.read_bytes()
    times = (path.stat().st_atime_ns, path.stat().st_mtime_ns)
    before = tree_of(folder, case.file)
    path.write_bytes(case.data)
    log = folder.parent / f"log-{os.getpid()}"
    try:
        code = _forked(folder, case.command, log)
        half = code != 0 and tree_of(folder, case.file) != before
        return Outcome(code, log.read_text(encoding="utf-8", errors="replace"), half)
    finally:
        path.write_bytes(kept)
        os.utime(path, ns=times)


def tree_of(folder: Path, but: str) -> dict[str, int]:
    """Files below packs/ and the folder's own, with their sizes: what a failed command must leave alone."""
    found = [
        p for p in (*folder.glob("*"), *folder.glob("packs/**/*"), *folder.glob("packs/.*")) if p.is_file()
    ]
    names = {str(p.relative_to(folder)): p.stat().st_size for p in found}
    return {name: size for name, size in names.items() if name != but and not name.endswith(("-wal", "-shm"))}


def _forked(folder: Path, command: tuple[str, ...], log: Path) -> int:
    child = os.fork()
    if child:
        _, status = os.waitpid(child, 0)
        return os.waitstatus_to_exitcode(status)
    code = 99
    try:
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        signal.alarm(15 * SECONDS)  # the computer may be busy with other things
        out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.chdir(folder)
        code = _called(command)
    finally:
        with contextlib.suppress(BaseException):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code & 0xFF)


def _called(command: tuple[str, ...]) -> int:
    from consentpack.cli import main

    sys.stdout, sys.stderr = open(1, "w", encoding="utf-8"), open(2, "w", encoding="utf-8")  # noqa: SIM115
    try:
        main(list(command), prog_name="consentpack")
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
        return 99
    return 0


def work(
    number: int,
    workers: int,
    count: int,
    seed: int,
    until: float,
    report: Callable[[dict[str, object]], None],
) -> None:
    """Every `workers`th case, in a clinic folder of its own."""
    from damage import case_of

    with tempfile.TemporaryDirectory() as holder:
        folder = Path(holder) / "clinic"
        make_clinic(folder)
        for index in range(number, count, workers):
            if time.monotonic() > until:
                return
            case = case_of(random.Random(f"{seed} {index}"), folder)
            ended = run(folder, case)
            silent = case.must_fail and ended.code == 0
            report(
                {
                    "index": index,
                    "kind": case.kind,
                    "how": case.how,
                    "code": ended.code,
                    "silent": silent,
                    "half": ended.half_written,
                    "over": ended.over,
                    "traceback": ended.traceback,
                    "last": _last_line(ended.said) if ended.traceback or silent else "",
                }
            )


def _last_line(said: str) -> str:
    places = re.findall(r'File "[^"]*/(consentpack/[^"]+)", line (\d+)', said)
    last = (said.strip().splitlines() or [""])[-1][:160]
    return f"{last} ({':'.join(places[-1])})" if places else last


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--count", type=int, default=300)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--code", type=Path, default=Path(__file__).parents[2])
    options.add_argument("--workers", type=int, default=2)
    options.add_argument("--minutes", type=float, default=600, help="Stop after these minutes.")
    options.add_argument("--lines", type=Path, help="Keep a JSON line of each case here.")
    given = options.parse_args()
    sys.path.insert(0, str(given.code.resolve()))
    found = _all_cases(given)
    if given.lines:
        given.lines.write_text("".join(json.dumps(each) + "\n" for each in found), encoding="utf-8")
    for (kind, last), number in Counter((e["kind"], e["last"]) for e in found if e["last"]).most_common():
        print(f"{number:6} {kind}: {last}")
    for kind, number in Counter((e["kind"], e["how"]) for e in found if e["over"] or e["half"]).most_common():
        print(f"{number:6} {kind}: over a limit, or half-written")
    sums = [sum(bool(each[name]) for each in found) for name in ("half", "silent", "traceback", "over")]
    print(f"| damaged texts | {len(found)} | – | {' | '.join(map(str, sums))} |")


def _all_cases(given: argparse.Namespace) -> list[dict[str, object]]:
    """The workers' reports, gathered from one file each."""
    until = time.monotonic() + given.minutes * 60
    with tempfile.TemporaryDirectory() as holder:
        children = []
        for number in range(given.workers):
            child = os.fork()
            if not child:
                try:
                    with Path(holder, str(number)).open("w", encoding="utf-8") as lines:
                        work(
                            number, given.workers, given.count, given.seed, until, lambda e: _write(e, lines)
                        )
                except BaseException:
                    traceback.print_exc()
                os._exit(0)
            children.append(child)
        for child in children:
            os.waitpid(child, 0)
        lines = [row for path in sorted(Path(holder).iterdir()) for row in path.read_text().splitlines()]
        return [json.loads(row) for row in lines]


def _write(entry: dict[str, object], lines: object) -> None:
    lines.write(json.dumps(entry) + "\n")  # type: ignore[attr-defined]
    lines.flush()  # type: ignore[attr-defined]


if __name__ == "__main__":
    main()
