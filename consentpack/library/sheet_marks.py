"""Marks '[sheet …]': which points of aftercare topics and warnings the short sheet prints too.

A mark may hold one word. In `When you can` it names a note that stands below the table, as "once it has
closed"; in `Notes on the sheet` it is the name of the note; elsewhere it can only be 'always'.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from consentpack.errors import Problem, did_you_mean
from consentpack.fill import NotAPlaceholder, placeholders
from consentpack.library.draft import Draft
from consentpack.library.labels import ALWAYS, ANSWERS, NOTES
from consentpack.tree import Block, Inline

CARE = "care."
"""How the placeholder of a care setting begins."""
_FOLDERS = ("aftercare", "warnings")


def check_sheet_marks(folder: str, file: str, blocks: Sequence[Block]) -> list[Problem]:
    """Marks that stand where no sheet looks for them, or that lack what a table needs of them."""
    problems = []
    for section, item in _points(blocks):
        if (wrong := _wrong(folder, section, item)) is not None:
            what, fix = wrong
            problems.append(Problem(f"{file}, line {item.line}", what, fix))
    return problems


def _wrong(folder: str, section: str, item: Inline) -> tuple[str, str] | None:
    """What is wrong with one point, and what to do."""
    if item.sheet is None:
        if section == NOTES:
            return "a note of the sheet has no name.", "Write: - [sheet closed] Once it has closed."
        return None
    if folder not in _FOLDERS:
        return "a mark '[sheet …]' stands here, and no sheet is made of this.", "Take the mark out."
    if section == NOTES and not item.sheet:
        return "a note of the sheet has no name.", "Write: - [sheet closed] Once it has closed."
    if section == ANSWERS and not settings_of(item):
        fix = "Name a care setting, as {{ care.makeup_wait }}, or take the mark out."
        return "a row of the table needs a time.", fix
    if section not in (ANSWERS, NOTES) and item.sheet not in ("", ALWAYS):
        return f"the mark '[sheet {item.sheet}]' names nothing.", f"Write [sheet] or [sheet {ALWAYS}]."
    return None


def settings_of(item: Inline) -> list[str]:
    """The care settings whose times a text prints."""
    try:
        found = placeholders(item.text)
    except NotAPlaceholder:  # told with the other placeholders
        return []
    return [each.name.removeprefix(CARE) for each in found if each.name.startswith(CARE)]


def check_notes(draft: Draft) -> None:
    """Every note that a row names is told by some topic."""
    topics = draft.modules["aftercare"]
    known = {
        item.sheet for topic in topics.values() for b in topic.sections.get(NOTES, ()) for item in b.items
    }
    for topic in topics.values():
        for block in topic.sections.get(ANSWERS, ()):
            for item in block.items:
                if item.sheet and item.sheet not in known:
                    what = f"no topic has a note '{item.sheet}' under '## {NOTES}'."
                    fix = did_you_mean(item.sheet, [name for name in known if name])
                    where = f"{topic.file}, line {item.line}"
                    draft.found("aftercare", topic.id, [Problem(where, what, fix)])


def _points(blocks: Sequence[Block]) -> Iterator[tuple[str, Inline]]:
    """Each text with the heading it stands under."""
    section = ""
    for block in blocks:
        if block.kind == "heading":
            section = block.items[0].text
        yield from ((section, item) for item in block.items if block.kind != "heading")
