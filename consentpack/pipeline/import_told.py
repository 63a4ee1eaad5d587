"""What an import did or would do, in sentences for a page: nothing of it may pass in silence."""

from __future__ import annotations

from collections.abc import Iterator

from consentpack.register import ImportResult

_SHOWN = 20
"""Cells of one kind that are told one by one."""


def imported_words(result: ImportResult, *, by_case: bool = True) -> dict[str, list[str]]:
    """Sentences by what they are about: 'aside', 'left_out', 'repairs', 'register', 'doubts'.

    With `by_case` each outcome is named that is something else in the file.
    """
    return {
        "aside": [group.told() for group in result.aside_groups] + _more(result.more_set_aside, "reasons"),
        "left_out": [each.told() for each in result.left_out],
        "repairs": [each.told() for each in result.repairs] + _more(result.more_repairs, "cells"),
        "register": [*_register(result), *_differs(result, by_case=by_case), *_unwatched(result)],
        "doubts": _doubts(result),
    }


def _doubts(result: ImportResult) -> list[str]:
    shown = result.doubts[:_SHOWN]
    said = [f"Row {each.row}, {each.column}: {each.what}. It goes in." for each in shown]
    return said + _more(len(result.doubts) - len(shown) + result.more_doubts, "cells that look wrong")


def _more(number: int, what: str) -> list[str]:
    return [f"And {number} more {what}."] if number > 0 else []


def _register(result: ImportResult) -> Iterator[str]:
    if result.kept_older:
        yield (
            f"{result.kept_older} of the rows set aside are in the register as an earlier import left them: "
            "mend the rows, so that the figures change."
        )
    if result.not_in_file:
        yield f"{result.not_in_file} treatments of the register are not in this file. They stay."
    if result.blanked:
        yield f"{result.blanked} outcomes of an earlier file are blank in this one: not recorded any more."
    if result.unread:
        yield f"The file has no column for: {', '.join(result.unread)}. What is known of them stays."
    if result.ignored_columns:
        yield f"Columns that are never read: {', '.join(result.ignored_columns)}."


def _differs(result: ImportResult, *, by_case: bool) -> Iterator[str]:
    for each in result.differs[:_SHOWN] if by_case else ():
        held, there = _held(each.held, each.held_day), _held(each.in_file, each.day_in_file)
        yield (
            f"Row {each.row}, case {each.case}, session {each.session}, {each.outcome}: {held} by "
            f"{each.kind}, {there} in the file."
        )
    if result.differs:
        stays = "What was entered by hand or from a diary stays."
        did = "The file's were taken." if result.overwritten else stays
        yield f"{len(result.differs)} outcomes are something else in the file. {did}"


def _held(grade: int, day: int | None) -> str:
    said = {0: "no", 1: "yes"}.get(grade, f"grade {grade}")
    return said if day is None else f"{said}, first noticed {day} days after,"


def _unwatched(result: ImportResult) -> Iterator[str]:
    if not result.without_last_seen:
        return
    if not result.last_seen_read:
        yield (
            "No column says on which day each patient was last seen. If there is one, choose it. Without it "
            "figures say 'at some time' and not for how long you watched, and no gain can be counted."
        )
        return
    yield (
        f"{result.without_last_seen} rows say what was seen, and not on which day the patient was last seen. "
        "They do not count as followed up."
    )
