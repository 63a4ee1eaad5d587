"""A module that is still to be written: every key and part of its kind, each with a word on what it is for.

What is to be filled in carries a mark. As long as one is left the module is half written: it is set aside,
named by the check, and stops nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping

from consentpack.errors import Problem
from consentpack.library.frontmatter import RawFile
from consentpack.library.schema import COMMON, SCHEMA
from consentpack.strict import Key

MARK = "TO FILL IN"
FOLDER_OF: Mapping[str, str] = {
    "technique": "techniques", "risk": "risks", "benefit": "benefits", "option": "options",
    "factor": "factors",
    "aftercare": "aftercare", "warning": "warnings", "document": "documents",
}  # fmt: skip
"""What one module of a folder is called."""
NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
"""How a module may be called: small letters and figures, with hyphens."""

PURPOSE: Mapping[str, str] = {
    "What it is": "what is done, or what this choice is, in two or three short sentences",
    "What happens on the day": "the steps of the day, in their order, as the patient meets them",
    "How it feels": "what one feels while it is done, and after",
    "What it may gain": "what it may bring, with how much and for whom it is known",
    "How sure we are": "how much is known, from which kind of study, and what is not known",
    "Recovery": "how the days after usually go, with their times",
    "Before you come": "what to arrange, to bring and to leave off before the visit",
    "Not good for": "for whom it does not fit",
    "What you may notice": "what the patient sees or feels of it, without a word of the trade",
    "How long it lasts": "how long it usually lasts, and what of it may stay",
    "What is done about it": "what can be done, by the patient and by the clinic",
    "In your diary": "one question that can be answered at home with yes or no",
    "What can go wrong": "what may go wrong with this choice, the serious first",
    "What we do not know": "what nobody knows of it",
    "What this changes": "what is other for this person: what is more likely, and what is not done",
    "What to do before": "what to do, to stop or to ask before the visit, and whom",
    "For the clinician": "notes for the clinician; no patient reads them",
    "What to expect": "how it usually goes, with its times",
    "When you can": "points that begin with what one wants to do, in bold, and say from when on one can",
    "Tonight: do": "what to do on the first evening",
    "Tonight: avoid": "what not to do on the first evening",
    "Tomorrow: do": "what to do on the next day",
    "Tomorrow: avoid": "what not to do on the next day",
    "First week: do": "what to do in the first week",
    "First week: avoid": "what not to do in the first week",
    "Later: do": "what to do after the first week",
    "Later: avoid": "what not to do after the first week",
    "Notes on the sheet": "what of the above stands on the one sheet too",
    "On the card": "what to look at, at each time",
    "Signs": "what one sees or feels, one sign in each point",
    "What to do": "whom to ring or where to go, and how fast",
    "On the sheet": "the signs in a line, for the one sheet",
}
"""Part of a module -> what it is for."""
_ANSWER = "When you can"


def skeleton(folder: str, id: str, choices: Mapping[str, Iterable[str]]) -> str:
    """The text of a module of a folder that has everything and says nothing yet.

    `choices`: key -> the words of the field that may stand there.
    """
    kind = SCHEMA[folder]
    lines = [
        "+++",
        f"# A line that begins with # is a note. Fill in what is marked {MARK}.",
        f"# {_sentence(COMMON['id'].meaning)}",
        f'id = "{id}"',
    ]
    for key, spec in {**COMMON, **kind.keys}.items():
        lines += _key(key, spec, (*spec.allowed, *choices.get(key, ()))) if key != "id" else ()
    lines += ["+++", ""]
    for section, required in kind.sections.items():
        start = f"- **{MARK}**: " if section == _ANSWER else f"{MARK}: "
        more = "" if required else " Take this part out where there is nothing to say."
        lines += [f"## {section}", "", f"{start}{PURPOSE[section]}.{more}", ""]
    if folder == "documents":
        lines += [f"{MARK}: what the document says, with headings (##) and parts (::: signatures).", ""]
    return "\n".join(lines)


def _key(name: str, spec: Key, allowed: Collection[str]) -> Iterator[str]:
    """A key with its meaning; one that may be left out stands there as a note."""
    where = (
        f" Ids of {'sources.json' if spec.refers_to == 'sources' else spec.refers_to}."
        if spec.refers_to
        else ""
    )
    choice = f" {'Any' if spec.type is list else 'One'} of: {', '.join(allowed)}." if allowed else ""
    yield f"# {_sentence(spec.meaning)}{choice}{where}"
    if spec.type is list:
        value = f'["{MARK}"]'
    elif spec.type is dict:
        value = f'{{ "{MARK}" = "…" }}'
    else:
        value = f'"{MARK}"'
    yield f"{name} = {value}" if spec.required else f"# May be left out: {name} = {value}"


def _sentence(meaning: str) -> str:
    return f"{meaning[:1].upper()}{meaning[1:]}."


def _begun(value: object) -> bool:
    """Whether the mark stands in a value, or in one inside it. A number may be too long to be written out."""
    if isinstance(value, dict):
        return any(map(_begun, value.values()))
    if isinstance(value, list):
        return any(map(_begun, value))
    return isinstance(value, str) and MARK in value


def unfinished(raw: RawFile) -> list[Problem]:
    """What of a module is still to be filled in, in one problem."""
    keys = [key for key, value in raw.front.items() if _begun(value)]
    parts, heading = [], "its text"
    for line in raw.body.splitlines():
        heading = line.removeprefix("## ") if line.startswith("## ") else heading
        if MARK in line and heading not in parts:
            parts.append(heading)
    if not keys and not parts:
        return []
    left = ", ".join([*keys, *(f"“{part}”" for part in parts)])
    what = f"it is not finished: {len(keys) + len(parts)} parts are still to be filled in ({left})."
    fix = f"Write your own words where {MARK} stands. Until then nothing uses it."
    return [Problem(raw.file, what, fix)]
