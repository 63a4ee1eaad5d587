"""A plan as answers to questions, each a text: what a page asks, from a plan file and to one.

A list is a text with a line for each of its items. What a page does not ask (`translated`,
`done`) stays in the file as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from consentpack.library import Library
from consentpack.model import Factor
from consentpack.normal import place as place_of
from consentpack.normal import plain
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.plan_list import PlanRow, words_of
from consentpack.plans import keys_of
from consentpack.register import open_register, used_together

Answers = Mapping[str, str]
_WORDS = (
    "reference", "language", "site", "region", "condition", "indication", "reason", "clinician",
    "clinician_role", "experience", "consent_taken_by", "interpreter_language", "follow_up",
)  # fmt: skip
_DAYS = ("prepared", "information_given", "treatment_date", "consent_day")
_LISTS = ("planned", "may_become_necessary", "reader_needs")
_CARRIED = ("condition", "indication", "clinician", "clinician_role", "sessions", "follow_up", "experience")
"""What a new plan takes over from one like it. What is true of one patient alone is asked anew."""
MOST_USUAL = 6
"""Combinations that are offered first."""


@dataclass(frozen=True)
class Usual:
    """A combination of techniques that the clinic often uses."""

    planned: tuple[str, ...]
    """The leading one first."""
    treatments: int
    """In the audit."""
    like: str = ""
    """The newest plan of it, by what it is called; '' for none."""


def answers_in(data: Mapping[str, Any], library: Library) -> dict[str, str]:
    """The answers that stand in a plan file, checked or not."""
    data = {library.field.renamed.get(key, key): value for key, value in data.items()}
    found = {key: _text(data.get(key)) for key in _asked_of(library)}
    found |= {key: "\n".join(words_of(data, key)) for key in _LISTS}
    for answer, key in (("yes", "factors"), ("no", "asked")):
        found |= {f"factor.{id}": answer for id in words_of(data, key)}
    reasons = data.get("reasons")
    for id, given in reasons.items() if isinstance(reasons, dict) else ():
        if isinstance(given, dict):
            found |= {f"reason.{id}.{part}": _text(given.get(part)) for part in ("by", "why")}
    return {key: value for key, value in found.items() if value}


def values_in(answers: Answers, library: Library) -> dict[str, Any]:
    """The values of a plan file that some answers mean; None for a key that has no answer.

    What is no number or day stays as it was typed, and the check of the plan says so.
    """
    answers = {key: value if key in _LISTS else plain(value) for key, value in answers.items()}
    found: dict[str, Any] = {key: answers.get(key) or None for key in _asked_of(library)}
    found["sessions"] = _number(answers.get("sessions", ""))
    found |= {key: _day(answers.get(key, "")) for key in _DAYS}
    found["region"] = found["region"] or _region(found["site"] or "", library)
    found |= {key: _lines(answers.get(key, "")) or None for key in _LISTS}
    found["planned"] = _planned(answers, library) or None
    ids = [key.removeprefix("factor.") for key in answers if key.startswith("factor.")]
    for answer, key in (("yes", "factors"), ("no", "asked")):
        found[key] = [id for id in ids if answers[f"factor.{id}"] == answer] or None
    found["reasons"] = _reasons(answers) or None
    return found


def _asked_of(library: Library) -> tuple[str, ...]:
    return (*_WORDS, *_DAYS, "sessions", *library.field.strata)


def _text(value: Any) -> str:
    return (
        value.isoformat() if isinstance(value, date) else str(value) if isinstance(value, str | int) else ""
    )


def _number(typed: str) -> int | str | None:
    return int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 10 else typed or None


def _day(typed: str) -> date | str | None:
    try:
        return date.fromisoformat(typed)
    except ValueError:
        return typed or None


def _lines(typed: str) -> list[str]:
    return list(dict.fromkeys(filter(None, map(str.strip, typed.splitlines()))))


def _region(site: str, library: Library) -> str | None:
    """The region in whose words a place stands."""
    known = place_of(site)
    return next((id for id, region in library.regions.items() if known in map(place_of, region.words)), None)


def _reasons(answers: Answers) -> dict[str, dict[str, str]]:
    """Only what is whole: a reason without its name, or a name alone, would be no reason."""
    found: dict[str, dict[str, str]] = {}
    for key, value in answers.items():
        if key.startswith("reason.") and value:
            id, _, part = key.removeprefix("reason.").rpartition(".")
            found.setdefault(id, {})[part] = value
    return {id: {"by": r["by"], "why": r["why"]} for id, r in found.items() if set(r) >= {"by", "why"}}


def _planned(answers: Answers, library: Library) -> list[str]:
    """The techniques that were chosen, the leading one first; a usual combination keeps its own order."""
    usual = _lines(answers.get("usual", "").replace("+", "\n"))
    more = [id for id in _lines(answers.get("planned", "")) if id not in usual]
    found = [*usual, *more] if usual else more
    if (leading := answers.get("leading", "")) in found:
        found = [leading, *(id for id in found if id != leading)]
    return found


def in_order(ids: Iterable[str], library: Library) -> tuple[str, ...]:
    """Techniques as a plan lists them: in the order of their kinds, what numbs last."""
    kinds = list(library.field.kinds)
    known = [library.techniques[id] for id in ids if id in library.techniques]
    ranked = sorted(known, key=lambda t: (not library.treats(t), kinds.index(t.kind), t.id))
    return tuple(technique.id for technique in ranked)


def usual(place: Workplace, rows: Iterable[PlanRow]) -> tuple[Usual, ...]:
    """The clinic's usual combinations: those most frequent in its audit, then in its plans."""
    library, counted = place.library, dict(_in_audit(place))
    newest: dict[frozenset[str], PlanRow] = {}
    for row in sorted(rows, key=lambda row: (_text(row.data.get("prepared")), row.named)):
        if row.techniques and all(id in library.techniques for id in row.techniques):
            newest[frozenset(row.techniques)] = row
    found = []
    for ids in dict.fromkeys((*counted, *newest)):
        like = newest.get(ids)
        planned = like.techniques if like else in_order(ids, library)
        if len(planned) == len(ids) and library.treats(library.techniques[planned[0]]):
            found.append(Usual(planned, counted.get(ids, 0), like.named if like else ""))
    return tuple(sorted(found, key=lambda each: -each.treatments)[:MOST_USUAL])


def _in_audit(place: Workplace) -> Iterator[tuple[frozenset[str], int]]:
    where = place.clinic.register_url
    register = open_register(where) if where else None
    if register is not None:
        with register.connect() as connection:
            yield from used_together(connection).items()


def begun(place: Workplace, *, today: date, like: PlanRow | None = None, planned: str = "") -> dict[str, str]:
    """The answers a new plan begins with: the clinic's own, and what a plan like it says of the treatment."""
    found = {"prepared": today.isoformat(), "information_given": today.isoformat(), "sessions": "1"}
    if like is not None:
        there = answers_in(like.data, place.library)
        found |= {key: there[key] for key in (*_CARRIED, "planned", "may_become_necessary") if key in there}
    elif planned:
        found["planned"] = "\n".join(in_order(planned.split("+"), place.library))
    return found


@dataclass(frozen=True)
class Changed:
    """One answer that is another than it was."""

    name: str
    before: str
    now: str


def between(before: Answers, now: Answers, library: Library) -> list[Changed]:
    """What is another in the second of two sets of answers."""
    return [
        Changed(named(key, library), before.get(key, ""), now.get(key, ""))
        for key in dict.fromkeys((*before, *now))
        if before.get(key, "") != now.get(key, "")
    ]


def merged(was: Answers, mine: Answers, now: Answers) -> dict[str, str]:
    """My answers, with those of somebody else where I have changed nothing."""
    keys = dict.fromkeys((*was, *mine, *now))
    found = {k: (now if mine.get(k, "") == was.get(k, "") else mine).get(k, "") for k in keys}
    return {key: value for key, value in found.items() if value}


def named(key: str, library: Library) -> str:
    """What a question is called."""
    if key.startswith("factor."):
        id = key.removeprefix("factor.")
        return library.factors[id].title if id in library.factors else id
    keys = keys_of(library)
    return keys[key].meaning if key in keys else key


def questions(library: Library) -> tuple[Factor, ...]:
    """The circumstances that are asked about; what follows from another answer is no question."""
    return tuple(factor for factor in library.factors.values() if not factor.implied_by)
