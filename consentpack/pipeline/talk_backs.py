"""Marks of the talk-back: entered for the papers that were given or made last, taken back, and counted."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from consentpack.errors import LedgerError, PlanError, Problem, RegisterError, did_you_mean
from consentpack.ledger import entries_with, read_code, standings
from consentpack.manifest import MANIFEST
from consentpack.model import WatchRules
from consentpack.pipeline.ledgers import folder_name, given_folder, reading_ledger
from consentpack.pipeline.place import Workplace, plan_of
from consentpack.pipeline.registers import existing_register, writable_register
from consentpack.plans import reference_in
from consentpack.rates.counting import window_of
from consentpack.rates.explaining import (
    GROUPS,
    Changed,
    Drift,
    Understood,
    changes,
    counted,
    drifts,
)
from consentpack.rates.watching import ByChance, by_chance
from consentpack.register import Talk, TalkMark, add_talk, talks, talks_of, undo
from consentpack.talk_back import MARKS, QUESTIONS, from_json

_SEE = "`consentpack talk-back mark --help` shows how."


@dataclass(frozen=True)
class Marking:
    """How a talk is entered."""

    marks: Mapping[str, str]
    """Question -> mark, as they were typed."""
    clinician: str
    day: date
    now: datetime
    by: str


@dataclass(frozen=True)
class Entered:
    """A talk that was entered."""

    reference: str
    number: int
    """Of the history."""
    questions: tuple[str, ...]
    papers: str
    """For which papers, in words."""


def mark_talk(place: Workplace, named: str, marking: Marking) -> Entered:
    """Enter the marks of one talk about the pack of a plan or a code. Raises RegisterError, PlanError or
    LedgerError, with nothing entered."""
    papers = _papers(place, named)
    language, asked = _asked(papers)
    marks = list(_marks(marking.marks, asked, papers.said))
    talk = Talk(papers.reference, marking.day, marking.clinician, language)
    number = add_talk(writable_register(place), talk, marks, now=marking.now, by=marking.by)
    return Entered(papers.reference, number, tuple(each.question for each in marks), papers.said)


def _marks(
    typed: Mapping[str, str], asked: Mapping[str, tuple[str, str, str]], papers: str
) -> Iterator[TalkMark]:
    problems = []
    for question, word in typed.items():
        if question not in QUESTIONS:
            fix = did_you_mean(question, QUESTIONS) or f"Questions: {', '.join(QUESTIONS)}."
            problems.append(Problem(question, "there is no such question.", fix))
        elif word not in MARKS:
            fix = did_you_mean(word, MARKS) or f"Marks: {', '.join(MARKS)}."
            problems.append(Problem(question, f"'{word}' is no mark.", fix))
        elif question not in asked:
            there = ", ".join(asked) or "none"
            problems.append(Problem(question, f"{papers} has no such question. It has: {there}."))
    if not typed:
        problems.append(Problem("talk-back", "there is no mark to enter.", _SEE))
    if problems:
        raise RegisterError(problems)
    for question in (each for each in QUESTIONS if each in typed):
        module, digest, answer = asked[question]
        yield TalkMark(question, module, digest, answer, MARKS[typed[question]])


@dataclass(frozen=True)
class AskedAbout:
    """One question of a pack: what it is about, and where its answer stands."""

    question: str
    module: str
    answer: str
    paper: str
    """Kind of document."""
    heading: str


@dataclass(frozen=True)
class Asking:
    """What may be asked about the papers of one patient."""

    reference: str
    papers: str
    """Which papers these are, in words."""
    questions: tuple[AskedAbout, ...]


def asked_about(place: Workplace, named: str) -> Asking:
    """The questions of a plan's or a code's papers, of which marks can be entered. Raises PlanError."""
    papers = _papers(place, named)
    kept = _manifest_of(papers).get("talk_back") or {"questions": []}
    fields = ("question", "module", "answer", "paper", "heading")
    questions = tuple(AskedAbout(*(str(each[name]) for name in fields)) for each in kept["questions"])
    return Asking(papers.reference, papers.said.rstrip(","), questions)


# --- which papers ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Papers:
    """The pack that was talked about."""

    reference: str
    folder: Path
    said: str


def _papers(place: Workplace, named: str) -> _Papers:
    """The pack of a code; else the newest given under the plan's reference; else the one made last."""
    if found := _of_code(place.folder, named):
        return found
    reference = reference_in(plan_of(place, Path(named)))
    if not reference:
        raise PlanError(Problem(named, "its plan has no reference.", "Mend the plan first."))
    if version := _newest(place.folder, reference):
        folder = given_folder(place.folder, reference, version)
        return _Papers(reference, folder, f"version {version}, which was given,")
    return _Papers(reference, place.folder / "packs" / folder_name(reference), "the pack made last")


def _of_code(folder: Path, named: str) -> _Papers | None:
    """The pack that was given under a code; None for what is none, or was never given."""
    code = read_code(named)
    if code is None:
        return None
    try:
        with reading_ledger(folder) as connection:
            given = next((each for each in entries_with(connection, code[0]) if each.kind == "given"), None)
    except LedgerError:
        return None  # nothing was ever given here
    if given is None:
        return None
    where = given_folder(folder, given.reference, given.version)
    return _Papers(given.reference, where, f"version {given.version}, which was given,")


def _newest(folder: Path, reference: str) -> int:
    """The newest version that was given under a reference; 0 where none was."""
    try:
        with reading_ledger(folder) as connection:
            return max((each.given.version for each in standings(connection, reference=reference)), default=0)
    except LedgerError:
        return 0  # nothing was ever given here


def _asked(papers: _Papers) -> tuple[str, dict[str, tuple[str, str, str]]]:
    """The language of a pack, and its questions, as its manifest holds them."""
    return from_json(_manifest_of(papers))


def _manifest_of(papers: _Papers) -> Mapping[str, Any]:
    """The manifest of a pack, of which the questions can be read. Raises PlanError."""
    path = papers.folder / MANIFEST
    try:
        found: Mapping[str, Any] = json.loads(path.read_bytes())
        from_json(found)
        return found
    except FileNotFoundError:
        what = "there is no pack of this plan, so nobody can have been asked about it."
        raise PlanError(Problem(str(papers.folder), what, "Make it with `consentpack build`.")) from None
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        raise PlanError(Problem(str(path), "this cannot be read.", "Make the pack again.")) from None


# --- taking back ----------------------------------------------------------------------------------


def take_back_talks(place: Workplace, reference: str, *, now: datetime, by: str) -> list[int]:
    """Take back every marking of a patient; their numbers in the history. Raises RegisterError for none."""
    register = existing_register(place)
    with register.connect() as connection:
        found = talks_of(connection, reference)
    if not found:
        raise RegisterError(Problem(reference, "no talk is entered under this reference."))
    for number in found:
        undo(register, now=now, by=by, number=number)
    return found


# --- counting -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Report:
    """How what we explain is understood."""

    groups: Mapping[str, Sequence[Understood]]
    """How it is grouped -> the marks of each group, of the months that figures are counted over."""
    texts: Sequence[Understood]
    """Texts that too few could say, the least first."""
    changed: Sequence[Changed]
    watched: Sequence[Drift]
    without: Sequence[str]
    """Texts that have no baseline to watch them by."""
    rules: WatchRules | None
    """None where clinic.toml does not say by which rules to watch."""

    @property
    def false_signals(self) -> ByChance | None:
        if self.rules is None:
            return None
        return by_chance((each.found for each in self.watched), self.rules.run_length)


def talk_report(place: Workplace, today: date) -> Report:
    """What was marked up to a day. Figures are of the clinic's window; what is watched or compared is all."""
    with existing_register(place).connect() as connection:
        told = [each for each in talks(connection) if each.day <= today]
    window = window_of(today, place.clinic.window_months)
    lately = [each for each in told if each.day >= window.first]
    groups = {name: counted(lately, group) for name, group in GROUPS.items()}
    texts = sorted((each for each in groups["module"] if each.below_goal), key=lambda each: each.share)
    rules = place.clinic.watch
    watched, without = drifts(told, rules) if rules else ([], [])
    return Report(groups, texts, changes(told), watched, without, rules)


def talk_report_if_any(place: Workplace, today: date) -> Report | None:
    """The report for who asked about texts; None without a register that can be read."""
    try:
        return talk_report(place, today)
    except RegisterError:
        return None


def report_json(found: Report) -> dict[str, Any]:
    """The report as values that `json` can write."""
    return {
        "groups": {name: [_understood(each) for each in some] for name, some in found.groups.items()},
        "texts_to_look_at": [_understood(each) for each in found.texts],
        "changed": [
            {
                "module": each.module,
                "question": each.question,
                "since": each.since.isoformat(),
                "before": _understood(each.before),
                "after": _understood(each.after),
                "after_beside_before": each.verdict,
            }
            for each in found.changed
        ],
        "over_time": [
            {
                "module": each.module,
                "question": each.question,
                "watched_since_baseline": each.found.since,
                "signals": [
                    vars(s) | {"day": s.day.isoformat(), "since": s.since.isoformat()}
                    for s in each.found.chart.signals
                ],
            }
            for each in found.watched
        ],
        "without_baseline": list(found.without),
    }


def _understood(each: Understood) -> dict[str, Any]:
    interval = each.interval
    return {
        "group": list(each.group),
        "asked": each.n,
        "said": each.said,
        "said_after_explaining_again": each.again,
        "not_yet": each.not_yet,
        "interval_95": [round(interval.low, 6), round(interval.high, 6)],
        "quotable": not each.why_not,
        "why_not": each.why_not or None,
        "sentence": each.sentence,
    }
