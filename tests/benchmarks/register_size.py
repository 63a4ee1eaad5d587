"""Import and figures for registers of growing size, beside pandas doing the same counts.

    python tests/benchmarks/register_size.py [ROWS ...]        (10000 100000 1000000)

All rows are invented. pandas reads the CSV file and counts; the register counts what it holds. Each
size runs in a process of its own, so that its peak of memory is its own.
"""

from __future__ import annotations

import csv
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

from consentpack import pipeline, shipped
from consentpack.library import Library, load_library
from consentpack.match import match
from consentpack.plans import load_plan
from consentpack.rates import answer_all
from consentpack.rates.survey import outcomes_of, survey
from consentpack.register import (
    Comparison,
    Reading,
    Register,
    Window,
    import_file,
    open_register,
    tally,
    tally_all,
)

TODAY = date(2026, 11, 25)
WINDOW = Window(date(2023, 11, 25), TODAY)
COMBINATIONS = (
    "blunt-cannula; local-infiltration",
    "blunt-cannula; tumescent-dilute",
    "needle-fan-one-entry; local-infiltration",
    "needle-fan-one-entry; nerve-block-face",
    "bevelled-blade-needle; local-infiltration",
    "blunt-cannula; filler-after-release; local-infiltration",
    "needle-several-entries; local-infiltration",
)
SITES = ("left cheek", "right cheek", "chin", "temple")
OUTCOMES = (
    "bruising", "swelling", "soreness", "bleeding", "blood-pocket", "infection", "lasting-lumps",
    "dark-marks", "raised-scar", "little-change", "shallower-scar", "faint",
)  # fmt: skip


def write_sheet(path: Path, rows: int) -> None:
    """An invented audit of so many treatments."""
    rng = random.Random(rows)
    with path.open("w", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(
            ("case", "session", "date", "techniques", "site", "skin_type", "last_seen", *OUTCOMES)
        )
        for number in range(rows):
            day = WINDOW.first + timedelta(days=rng.randrange(1090))
            seen = min(TODAY, day + timedelta(days=rng.randrange(400)))
            cells = rng.choices(("yes", "no", ""), (1, 8, 1), k=len(OUTCOMES))
            what, site = rng.choice(COMBINATIONS), rng.choice(SITES)
            skin = rng.choice(("I", "II", "III", "IV", "V", "VI"))
            writer.writerow((f"C{number}", 1, day, what, site, skin, seen, *cells))


def pandas_all(path: Path, library: Library) -> int:
    """The counts of every technique and outcome from the file, by pandas; how many there are."""
    import pandas as pd

    frame = pd.read_csv(
        path, parse_dates=["date", "last_seen"], keep_default_na=False, na_values={"last_seen": [""]}
    )
    watched = (frame["last_seen"] - frame["date"]).dt.days
    ago = (pd.Timestamp(TODAY) - frame["date"]).dt.days
    inside = frame["date"].between(pd.Timestamp(WINDOW.first), pd.Timestamp(TODAY))
    found = 0
    for technique in library.techniques.values():
        used = inside & frame["techniques"].str.contains(technique.id, regex=False)
        for outcome in outcomes_of(technique):
            if outcome not in frame:
                continue
            days = library.outcome(outcome).watch_days
            seen = frame[outcome] == "yes"
            looked = seen | ((frame[outcome] == "no") & (watched >= days))
            due = ago >= days
            counts = pd.DataFrame(
                {"events": seen, "watched": looked, "due": due, "due_watched": due & looked}
            )
            counts[used].groupby(used[used]).sum()
            found += 1
    return found


def register_all(register: Register, library: Library) -> int:
    days = {id: outcome.watch_days for id, outcome in library.outcomes.items()}
    with register.connect() as connection:
        return len(survey(library, tally_all(connection, WINDOW, days).each))


def one_plan(register: Register, library: Library, place: pipeline.Workplace) -> int:
    """The figures of the demo's first plan, as a build would count them."""
    plan = load_plan(place.folder / "plans/p-101.toml", library, place.clinic)
    plan = replace(plan, prepared=TODAY)

    with register.connect() as connection:  # one moment for all, as when a pack is made

        def source(comparison: Comparison, window: Window, watch: dict[str, int]):
            return tally(connection, comparison, window, watch)

        return len(answer_all(plan, library, place.clinic, match(plan, library), source))


def preview(folder: Path) -> float:
    """Seconds of what the desk shows after a choice: figures, words and grade of a form, nothing written. The
    smallest of three after a first one, which also reads the library's texts."""
    clinic = pipeline.copy_demo(folder / "clinic")
    (clinic / "register.sqlite").symlink_to(folder / "register.sqlite")
    place = pipeline.open_workplace(clinic)
    chosen = {
        "site": "left cheek", "usual": "blunt-cannula+local-infiltration", "skin_type": "III",
        "indication": "rolling", "asked_all": "yes", "sessions": "2", "treatment_date": "2026-12-25",
    }  # fmt: skip
    assert pipeline.look(place, chosen, today=TODAY).figures
    return min(timed(lambda: pipeline.look(place, chosen, today=TODAY)) for _ in range(3))


def timed(work: Callable[[], object]) -> float:
    """Seconds of processor, which others on the machine change little."""
    start = time.process_time()
    work()
    return time.process_time() - start


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def run(rows: int, part: str, folder: Path) -> dict[str, float]:
    """One part of one size in this process."""
    library = load_library(shipped.content())
    sheet, url = folder / "audit.csv", f"sqlite:///{folder / 'register.sqlite'}"
    if part == "pandas":
        return {"pandas_s": timed(lambda: pandas_all(sheet, library)), "pandas_mb": peak_mb()}
    register = open_register(url, create=part == "import")
    assert register is not None
    if part == "import":
        write_sheet(sheet, rows)
        reading = Reading(
            "year-first",
            frozenset(library.techniques),
            frozenset(library.outcomes),
            library.field.strata,
        )
        before = peak_mb()
        seconds = timed(
            lambda: import_file(
                register, sheet, columns={}, reading=reading, now=datetime(2026, 11, 25), by="bench"
            )
        )
        return {"import_s": seconds, "import_mb": peak_mb() - before}
    place = pipeline.open_workplace(shipped.demo_clinic())
    before = peak_mb()
    first = timed(lambda: one_plan(register, library, place))
    plan = min(timed(lambda: one_plan(register, library, place)) for _ in range(3))
    every = min(timed(lambda: register_all(register, library)) for _ in range(2))
    page = preview(folder)
    return {"plan_s": plan, "all_s": every, "first_s": first, "page_s": page, "rates_mb": peak_mb() - before}


def main() -> None:
    if len(sys.argv) == 4 and sys.argv[2] in ("import", "rates", "pandas"):
        print(json.dumps(run(int(sys.argv[1]), sys.argv[2], Path(sys.argv[3]))))
        return
    sizes = [int(word) for word in sys.argv[1:]] or [10_000, 100_000, 1_000_000]
    print("| treatments | import s | MB more | all rates s | pandas s | one plan s | preview s | MB more |")
    print("|---:|---:|---:|---:|---:|---:|---:|---:|")
    for rows in sizes:
        with tempfile.TemporaryDirectory() as folder:
            found: dict[str, float] = {}
            for part in ("import", "rates", "pandas"):
                command = [sys.executable, __file__, str(rows), part, folder]
                done = subprocess.run(command, check=True, capture_output=True, text=True)
                found |= json.loads(done.stdout)
        print(
            f"| {rows:,} | {found['import_s']:.2f} | {found['import_mb']:.0f} | {found['all_s']:.2f} | "
            f"{found['pandas_s']:.2f} | {found['plan_s']:.3f} | {found['page_s']:.2f} | "
            f"{found['rates_mb']:.0f} |"
        )


if __name__ == "__main__":
    main()
