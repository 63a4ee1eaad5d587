"""Rules about the file as a whole: its language, title, locks, macros, marks of editing and ids."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

from consentpack.accessibility.file import WordFile, snippet
from consentpack.accessibility.finding import ECMA, PRACTICE, US_LISTS, Fault, rule, wcag
from consentpack.accessibility.looks import find, switched, value
from consentpack.readers.ooxml import W, kind

FILE = "the file"
_DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}docPr"
_TITLE = "{http://purl.org/dc/elements/1.1/}title"
_TAG = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
_FILE_NAME = re.compile(
    r"\.(docx?|dotx?|docm|rtf|odt|pdf)$|^(microsoft word - .*|document ?\d*|untitled.*)$", re.I
)
_EDITS = ("ins", "del", "moveFrom", "moveTo", "rPrChange", "pPrChange")
_CONTACT = re.compile(r"[^\s@]+@[^\s@]+\.\w+|\b(?:https?://|www\.)\S+|\+?\d(?:[ ()-]?\d){8,}")


@rule("language", "The file says its language.", wcag("3.1.1"), US_LISTS)
def language(file: WordFile) -> Iterator[Fault]:
    """A screen reader picks its voice by it."""
    found = file.looks.default_language()
    if not _TAG.fullmatch(found):
        what = f"“{found}” is no language." if found else "nothing says in which language the text is."
        yield Fault(
            FILE, what, "Review, Language, Set Proofing Language: choose one and press Set As Default."
        )


@rule("title", "The title in the file's properties is a title.", wcag("2.4.2"), US_LISTS)
def title(file: WordFile) -> Iterator[Fault]:
    found = title_of(file)
    fix = "File, Info, Properties, Title: type what the document is called."
    if not found:
        yield Fault(FILE, "it has no title in its properties.", fix)
    elif _FILE_NAME.search(found):
        yield Fault(FILE, f"its title “{found}” is the name of a file.", fix)


def title_of(file: WordFile) -> str:
    core = file.package.core
    found = core.find(_TITLE) if core is not None else None
    return " ".join((found.text or "").split()) if found is not None else ""


@rule("title-shown", "The title of the properties is the one at the head of the page.", wcag("2.4.2"))
def title_shown(file: WordFile) -> Iterator[Fault]:
    """So that who hears the title knows that this is the page they hold."""
    heads = [p for p in file.body if p.is_title or p.level == 1][:1]
    if _FILE_NAME.search(title_of(file)):
        return  # said already
    said, shown = _bare(title_of(file)), _bare(heads[0].text if heads else "")
    if said and shown and said not in shown and shown not in said:
        what = f"the page is headed otherwise than the title in the properties{snippet(title_of(file))}."
        yield Fault(heads[0].where, what, "Give both the same words.")


def _bare(text: str) -> str:
    return re.sub(r"[\W_]+", "", text).casefold()


@rule("locked", "Nothing locks out a screen reader.", US_LISTS, "from memory")
def locked(file: WordFile) -> Iterator[Fault]:
    found = find(file.settings, "documentProtection")
    if found is not None and value(found, "enforcement") not in ("", "0", "false", "off"):
        what = (
            f"it is protected ({value(found, 'edit') or 'restricted'}), which keeps some screen readers out."
        )
        yield Fault(FILE, what, "Review, Restrict Editing, Stop Protection.")


@rule("macros", "No macros and no ActiveX controls.", PRACTICE)
def macros(file: WordFile) -> Iterator[Fault]:
    """Programs inside a form are blocked at many desks, and their windows are often unreadable."""
    held = [name for name in file.package.held if re.search(r"vbaProject\.bin$|/activeX/[^/]+\.xml$", name)]
    if held:
        yield Fault(
            FILE, "it holds a program (macro or ActiveX control).", "Save it as .docx without macros."
        )


@rule("edit-marks", "Changes are accepted and comments taken out.", US_LISTS)
def edit_marks(file: WordFile) -> Iterator[Fault]:
    """A screen reader reads struck-out words too."""
    for paragraph in file.paragraphs:
        if paragraph.holds(*_EDITS):
            yield Fault(paragraph.where, "it holds a tracked change.", "Review, Accept, Accept All Changes.")
    comments = file.package.first("comments")
    number = len(comments.findall(f"{W}comment")) if comments is not None else 0
    if number:
        yield Fault(FILE, f"comments are left in it ({number}).", "Review, Delete, Delete All Comments.")


@rule(
    "unique-ids", "No two pictures or controls have the same id.", ECMA, "rule of WCAG 2.1 SC 4.1.1 for ids"
)
def unique_ids(file: WordFile) -> Iterator[Fault]:
    """What help is told by id is told of one of them only."""
    ids = Counter(each for _, _, holder in file.stories for each in _ids(holder))
    for (what, id), number in ids.items():
        if number > 1:
            fix = "Copy each again from Word, which renumbers them."
            yield Fault(FILE, f"{number} {what}s have the id {id}.", fix)


def _ids(holder: Any) -> Iterator[tuple[str, str]]:
    """Ids of what a text holds; the copy of a drawing for old programs does not count."""
    for each in holder.iter(_DRAWING, f"{W}sdtPr"):
        if not any(kind(above) == "Fallback" for above in each.iterancestors()):
            is_control = kind(each) == "sdtPr"
            id = value(each.find(f"{W}id")) if is_control else each.get("id", "")
            yield ("control" if is_control else "drawing"), id


@rule("split-words", "Words are not parted at the end of a line.", "UKAAF G003 (2019)")
def split_words(file: WordFile) -> Iterator[Fault]:
    if switched(file.settings, "autoHyphenation"):
        yield Fault(FILE, "words are hyphenated by themselves.", "Layout, Hyphenation, None.")


@rule("margins-only", "How to reach somebody stands in the text too, not in the margin alone.", US_LISTS)
def margins_only(file: WordFile) -> Iterator[Fault]:
    """Screen readers pass over headers and footers unless asked."""
    text = _bare(" ".join(p.text for p in file.body))
    for paragraph in file.told:
        if paragraph.part in ("header, ", "footer, "):
            for found in _CONTACT.findall(paragraph.text):
                if _bare(found) not in text:
                    what = f"“{found}” stands in the margin alone, where screen readers pass it over."
                    yield Fault(paragraph.where, what, "Say it in the text as well.")
