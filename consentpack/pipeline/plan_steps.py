"""What has been done for one plan and what comes next, as steps in order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from consentpack.ledger import AFTER_GIVEN, KINDS, Entry
from consentpack.pipeline.given_list import STATES
from consentpack.pipeline.plan_list import PlanRow

ANSWERS = {kind: KINDS[kind] for kind in AFTER_GIVEN}
"""What may be said of a given pack -> what that means."""
PLAN_STATES = ("not built", "draft", "built", *STATES)
"""Every way in which a plan may stand, in the order in which they come."""
StepState = Literal["done", "next", "later", "closed"]


@dataclass(frozen=True)
class Step:
    """One step on the way of a plan."""

    id: str
    title: str
    state: StepState
    said: str
    """How it stands, in a sentence."""


def steps_of(row: PlanRow) -> tuple[Step, ...]:
    """The steps of a plan. The first that is not done is the next one, unless nothing is open any more."""
    found: list[Step] = []
    closed = bool(row.given) and not row.given[-1].is_open
    waits = False
    for id, title, done, said in _told(row):
        state: StepState = "done" if done else "closed" if closed else "later" if waits else "next"
        waits = waits or not done
        found.append(Step(id, title, state, said))
    return tuple(found)


def _told(row: PlanRow) -> Iterator[tuple[str, str, bool, str]]:
    last = row.given[-1] if row.given else None
    current = last is not None and not row.changed
    yield "build", "Make the working pack", current or _is_built(row), _built(row)
    yield "give", "Give it to the patient", current, _given(row)
    for id, title, kinds, none in _ANSWERED:
        entered = last.later if last else ()
        said = "; ".join(_entered(entered, kinds))
        yield id, title, any(each.kind == kinds[0] for each in entered), f"{said}." if said else none


_ANSWERED = (
    ("answer", "The patient’s answer", ("signed", "refused", "more-time", "withdrawn"), "No answer yet."),
    ("confirm", "Confirm on the day", ("confirmed",), "Not confirmed yet."),
    ("treat", "Treat", ("treated", "differently"), "Not treated yet."),
)
"""Step, its name, the entries that speak of it (with the first it is done), and what is said before one."""


def _is_built(row: PlanRow) -> bool:
    return row.working is not None and row.working.made_from == row.digest


def _built(row: PlanRow) -> str:
    if row.working is None:
        return "Nothing was made yet."
    if not _is_built(row):
        return "The plan was changed since it was made: make it again."
    return f"Made, as a draft: {'; '.join(row.working.draft)}." if row.working.draft else "Made."


def _given(row: PlanRow) -> str:
    if not row.given:
        return "Nothing was given yet."
    given = row.given[-1].given
    said = f"Version {given.version} was given on {given.day} by {given.by} ({given.more.get('to', '')})."
    return f"{said} The plan was changed since: give it again." if row.changed else said


def _entered(entered: Iterable[Entry], kinds: tuple[str, ...]) -> Iterator[str]:
    for each in entered:
        if each.kind in kinds:
            techniques = ", ".join(each.more.get("techniques", ()))
            yield f"{ANSWERS[each.kind]}{f' ({techniques})' if techniques else ''}, {each.day}, {each.by}"
