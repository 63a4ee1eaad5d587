"""A new clinic folder, from a few answers. It is made whole and tried elsewhere first, and then put in its
place with nothing written over."""

from __future__ import annotations

import shutil
import tempfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import ConsentpackError, OutputError, Problem
from consentpack.files import make_parent, write_file
from consentpack.library import Library
from consentpack.model import Technique
from consentpack.pipeline.column_map import Proposal, propose_columns, save_columns
from consentpack.pipeline.packs import judge_plan
from consentpack.pipeline.place import Workplace, open_library, open_workplace, shipped_library
from consentpack.pipeline.start_answers import QUESTIONS, field_of, in_lines, is_asked, usual, wrong
from consentpack.pipeline.start_files import FIRST_PLAN, first_plan, settings
from consentpack.register import open_register

FOLDERS = ("plans", "content", "locales")
_IGNORED = "ignore"


@dataclass(frozen=True)
class Started:
    """A clinic folder that was made."""

    folder: Path
    files: tuple[Path, ...]
    columns: Mapping[str, str]
    """Header of the spreadsheet -> what it was taken for."""
    unclear: tuple[str, ...]
    """Headers of which it could not be told what they hold: nothing is read from them."""
    identities: tuple[str, ...]
    """Headers that look as if they say who a patient is: the file is refused until they are out of it, or are
    said to be never read."""
    sheet: str = ""
    """The file of the spreadsheet in the folder; '' without one."""
    others: tuple[str, ...] = ()
    """Sheets of its workbook that look like an audit too, and were not looked at."""


def whole_answers(given: Mapping[str, str], library: Library) -> tuple[dict[str, str], list[Problem]]:
    """The answers with what is usual where none was given, and everything that is wrong with them."""
    answers: dict[str, str] = {}
    problems = []
    for question in QUESTIONS:
        if not is_asked(question.name, answers):
            continue
        words = given.get(question.name, "").strip() or usual(question.name, answers)
        answers[question.name] = words
        if said := wrong(question.name, words, library, answers):
            problems.append(Problem(f"--{question.name.replace('_', '-')}", said, question.asked))
    return answers, problems


def start(folder: Path, given: Mapping[str, str], *, today: date) -> Started:
    """Make a clinic folder. `given` holds words by the name of their question; the rest is as usual.

    Raises OutputError, with nothing written, where an answer is wrong or something is there already.
    """
    answers, problems = whole_answers(given, open_library(None))
    if problems or (problems := _in_the_way(folder, answers)):
        raise OutputError(problems)
    library = shipped_library(field_of(answers))
    make_parent(folder.resolve().parent)
    with tempfile.TemporaryDirectory(prefix=".start-", dir=folder.resolve().parent) as stage:
        made = Path(stage) / "clinic"
        _write(made, answers, library)
        place = open_workplace(made)
        if place.clinic.register_url:
            _empty_register(place)
        found = _map(place, answers)
        _plan(place, answers, today)
        files = _put(made, folder, answers)
    if found is None:
        return Started(folder, files, {}, (), ())
    unclear = tuple(header for header, meaning in found.columns.items() if meaning == _IGNORED)
    sheet = Path(answers["sheet"]).name
    return Started(folder, files, found.columns, unclear, found.identities, sheet, found.place.others)


def _in_the_way(folder: Path, answers: Mapping[str, str]) -> list[Problem]:
    """What would be written over."""
    if folder.exists() and not folder.is_dir():
        return [Problem(str(folder), "this is a file, and a clinic is a folder.", "Give another name.")]
    fix = "Nothing is written over. Give another folder, or move that away."
    return [
        Problem(str(folder / name), "there is something here already.", fix)
        for name in (SETTINGS_FILE, f"plans/{FIRST_PLAN}", *_copied(answers))
        if (folder / name).exists() and not _is_itself(folder, name, answers)
    ]


def _copied(answers: Mapping[str, str]) -> list[str]:
    return [Path(answers[key]).name for key in ("logo", "sheet") if answers.get(key)]


def _is_itself(folder: Path, name: str, answers: Mapping[str, str]) -> bool:
    """Whether a logo or a spreadsheet lies in the folder already: it stays where it is."""
    named = [Path(answers[key]) for key in ("logo", "sheet") if answers.get(key)]
    return any(path.name == name and path.resolve() == (folder / name).resolve() for path in named)


def _write(made: Path, answers: Mapping[str, str], library: Library) -> None:
    for name in FOLDERS:
        make_parent(made / name)
    for key in ("logo", "sheet"):
        if answers.get(key):
            write_file(made / Path(answers[key]).name, Path(answers[key]).read_bytes())
    write_file(made / SETTINGS_FILE, settings(answers, library))


def _map(place: Workplace, answers: Mapping[str, str]) -> Proposal | None:
    """What the spreadsheet seems to hold, its column map kept as it is proposed; None without one."""
    if not answers.get("sheet"):
        return None
    proposed = propose_columns(place, place.folder / Path(answers["sheet"]).name)
    path = save_columns(place, proposed.columns, {})
    note = (
        "# What each column of your spreadsheet was taken for: look at it. What is ignored is not read. A\n"
        "# header stands before the =, what it holds behind it: a date, techniques, a place, or an outcome.\n"
    )
    text = path.read_text(encoding="utf-8")
    write_file(path, text.replace("[audit.columns]\n", f"{note}[audit.columns]\n", 1))
    return proposed


def _plan(place: Workplace, answers: Mapping[str, str], today: date) -> None:
    """A first plan that makes a pack: of the first established technique against which nothing stands."""
    path = place.folder / "plans" / FIRST_PLAN
    wait = place.clinic.consent.wait_days
    refused: ConsentpackError | None = None
    for technique in _usual_first(place.library):
        text = first_plan(
            place.library, technique, today=today, wait=wait, languages=in_lines(answers["languages"])
        )
        write_file(path, text)
        try:
            open_place = open_workplace(place.folder)
            if not judge_plan(open_place, path, today=today).problems:
                return
        except ConsentpackError as error:
            refused = error
    raise refused or OutputError(Problem(str(path), "no technique makes a first plan."))


def _empty_register(place: Workplace) -> None:
    """What is imported comes later, and a pack can be made before."""
    register = open_register(place.clinic.register_url, create=True)
    if register:
        register.engine.dispose()  # it is moved to its place


_TRIED = 5
"""Techniques that are tried: each costs the time of a pack."""


def _usual_first(library: Library) -> list[Technique]:
    """Established techniques, those of which most is told in figures first: a first pack should show some."""
    treating = [library.techniques[id] for id in library.treating]
    established = [t for t in treating if t.standing == "established"]
    told = Counter(rate.technique for rate in library.published if rate.readable)
    return sorted(established, key=lambda each: (not each.anaesthetics, -told[each.id], each.id))[:_TRIED]


def _put(made: Path, folder: Path, answers: Mapping[str, str]) -> tuple[Path, ...]:
    """Move what was made to its place; what lies there already stays."""
    for locks in made.glob(".*"):
        locks.unlink() if locks.is_file() else shutil.rmtree(locks)
    make_parent(folder)
    for name in FOLDERS:
        make_parent(folder / name)
    files = [path.relative_to(made) for path in sorted(made.rglob("*")) if path.is_file()]
    moved = [name for name in files if not _is_itself(folder, str(name), answers)]
    # the settings last: a folder is no clinic before all else is in it
    for each in sorted(moved, key=lambda path: path.name == SETTINGS_FILE):
        if (folder / each).exists():
            raise OutputError(Problem(str(folder / each), "there is something here already."))
        shutil.move(made / each, folder / each)
    return tuple(folder / name for name in files)
