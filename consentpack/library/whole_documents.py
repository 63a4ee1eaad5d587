"""What a document may not be without: a consent form without harms, choices or signatures is no consent
form, however well it is written. Found when the library is read, so that no pack can be made of it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import PurePosixPath

from consentpack.errors import Problem
from consentpack.model import DocumentSection
from consentpack.tree import Block

_ALWAYS = ""
NEEDED: Mapping[str, Mapping[str, str]] = {
    "form": {
        "decision": _ALWAYS,
        "gains-and-costs": _ALWAYS,
        "tell-us-if": _ALWAYS,
        "figures-panel": _ALWAYS,
        "harms-without-figure": _ALWAYS,
        "serious-harms": _ALWAYS,
        "choices-in-line": _ALWAYS,
        "agreement": _ALWAYS,
        "mark-one": _ALWAYS,
        "signatures": _ALWAYS,
    },
    "booklet": {
        "plan-summary": _ALWAYS,
        "what-happens": _ALWAYS,
        "anaesthetics": "plan:numbing",
        "benefits": _ALWAYS,
        "risk-table": _ALWAYS,
        "may-become-necessary": "plan:may-become-necessary",
        "newer": "plan:newer",
        "options": _ALWAYS,
        "factors": "plan:factors",
        "contacts": _ALWAYS,
    },
    "more": {
        "steps-in-full": _ALWAYS,
        "numbing-in-full": _ALWAYS,
        "gains-in-full": _ALWAYS,
        "figures-explained-in-full": _ALWAYS,
        "harms-in-full": _ALWAYS,
        "choices-in-full": _ALWAYS,
        "how-sure-in-full": _ALWAYS,
        "studies-in-full": _ALWAYS,
    },
    "aftercare": {
        "emergency-in-short": _ALWAYS,
        "numbers": _ALWAYS,
        "at-once-in-short": _ALWAYS,
        "same-day-in-short": _ALWAYS,
        "tonight-in-short": _ALWAYS,
        "timeline": _ALWAYS,
    },
    "homecare": {
        "emergency-signs": _ALWAYS,
        "at-once-signs": _ALWAYS,
        "same-day-signs": _ALWAYS,
        "contacts": _ALWAYS,
        "care-tonight": _ALWAYS,
        "care-first-week": _ALWAYS,
    },
    "record": {
        "record-plan": _ALWAYS,
        "record-figures": _ALWAYS,
        "record-modules": _ALWAYS,
        "record-signatures": _ALWAYS,
    },
    "talk-back": {"talk-back": _ALWAYS},
}
"""Document -> directive -> the condition under which alone it may be left out ('' for never).

What a patient must be told before consent (GMC, Decision making and consent, 2020, paragraph 10: the
options with doing nothing, what is done, benefits, harms; second hand). Of `more`, all that the booklet may
leave to it: it would be told nowhere. Signs to ring about, contacts and the record's parts: common practice,
no source."""


SIGNED = ("signatures", "agreement", "mark-one")
"""Parts by which a document is one that somebody signs, whatever it is called."""
SIGNED_NEEDS: Mapping[str, tuple[str, ...]] = {
    "harms": ("serious-harms", "risk-table"),
    "other choices": ("choices-in-line", "options"),
    "a place to sign": ("signatures",),
}
"""What such a document tells -> the parts of which one must be there: a clinic's own form, under another
name, is held to what ours is."""


def check_whole(
    file: str, lead: list[Block], parts: tuple[DocumentSection, ...], when: Mapping[str, str]
) -> list[Problem]:
    """The needed parts that a document lacks, or prints only in some packs.

    `when` maps the heading of a section -> the condition it is printed under.
    """
    there: dict[str, set[str]] = {}
    for condition, blocks in [
        (_ALWAYS, lead),
        *((when.get(part.heading, _ALWAYS), part.blocks) for part in parts),
    ]:
        for block in blocks:
            if block.kind == "directive":
                there.setdefault(block.items[0].text, set()).add(condition)
    if told_apart := _told_apart(file, there):
        return [told_apart]
    if not lead and not any(part.blocks for part in parts):
        what = "this document is empty."
        return [Problem(file, what, "Write its parts, or take the file away: ours is then used again.")]
    needed = NEEDED.get(PurePosixPath(file).stem, {})
    problems = [] if needed else _signed_whole(file, there)
    for directive, may_depend_on in needed.items():
        found = there.get(directive, set())
        if not found:
            what = f"'::: {directive}' is missing; no pack can be made without it."
            problems.append(Problem(file, what, "`consentpack library copy` brings the shipped one again."))
        elif not found & {_ALWAYS, may_depend_on}:
            what = f"'::: {directive}' is printed only under the condition '{min(found)}'."
            problems.append(Problem(file, what, "Take its section out of [when]."))
    return problems


def _signed_whole(file: str, there: Mapping[str, Collection[str]]) -> list[Problem]:
    """What a document that somebody signs does not tell, or tells only in some packs."""
    if not any(part in there for part in SIGNED):
        return []
    return [
        Problem(
            file,
            f"somebody signs this document, and it lacks {what}: no {_named(parts)} always stands in it.",
            f"Add '::: {parts[0]}', outside of [when]. Nobody can agree to what they were not told.",
        )
        for what, parts in SIGNED_NEEDS.items()
        if not any(_ALWAYS in there.get(part, ()) for part in parts)
    ]


def _named(parts: Collection[str]) -> str:
    return " and no ".join(f"'::: {part}'" for part in parts)


def _told_apart(file: str, directives: Collection[str]) -> Problem | None:
    """A document from before the papers were told apart, with what it is called now."""
    stem = PurePosixPath(file).stem
    if stem == "consent":
        what = "there is no document 'consent' any more: 'form' is signed, and 'booklet' is kept."
        fix = "Rename it to booklet.md, with its id, and take out what is signed: our form asks for that."
        return Problem(file, what, fix)
    if stem == "aftercare" and "emergency-signs" in directives:
        what = "this is the full text of the care at home, and 'aftercare' is one sheet now."
        return Problem(file, what, "Rename it to homecare.md, with its id.")
    return None
