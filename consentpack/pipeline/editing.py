"""Changing a text of the library: looked over before it is written, and never over what somebody else wrote.

What is changed is a file of the clinic's own, as `library copy` makes one; what comes with the program stays.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from consentpack import shipped
from consentpack.check import module_document
from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import ContentError, Problem, did_you_mean
from consentpack.files import make_parent, write_file
from consentpack.length import measure
from consentpack.library import KINDS, Library
from consentpack.library.frontmatter import digest_of, read_text
from consentpack.limits import MOST_SETTINGS
from consentpack.locks import locked
from consentpack.model import DocumentPlan, Remark
from consentpack.pipeline.place import Workplace, library_of, scorer_of
from consentpack.pipeline.reading import ReadFile, read_document
from consentpack.readability import target_for


@dataclass(frozen=True)
class Editable:
    """A text of the library as it lies in its file."""

    folder: str
    id: str
    text: str
    own: bool
    """Whether it is the clinic's own file; else that of the program, copied when it is changed."""
    problems: tuple[Problem, ...] = ()
    """Why it is set aside; empty where it is used."""

    @property
    def key(self) -> str:
        return f"{self.folder}/{self.id}"


def text_to_edit(place: Workplace, folder: str, id: str) -> Editable:
    """The file of a module, also of one that is set aside. Raises ContentError where there is none."""
    _refuse_unknown(place, folder, id)
    own = _own_path(place, folder, id)
    path = own if own.is_file() else shipped.content() / folder / own.name
    text, problems = read_text(path, file=f"{folder}/{own.name}")
    if problems:
        raise ContentError(problems)
    return Editable(folder, id, text, path == own, place.library.set_aside.get(f"{folder}/{id}", ()))


def _refuse_unknown(place: Workplace, folder: str, id: str) -> None:
    """Only names that the library holds: what is typed into an address must not lead to another file."""
    known = {*place.library.kind(folder), *place.library.not_in_use(folder)} if folder in KINDS else set()
    if id not in known:
        raise ContentError(Problem(f"{folder}/{id}", "there is no such module.", did_you_mean(id, known)))


def _own_path(place: Workplace, folder: str, id: str) -> Path:
    return place.folder / "content" / folder / f"{id}.md"


# --- looking it over --------------------------------------------------------------------------------


@dataclass(frozen=True)
class LookedOver:
    """What would be if a text were written."""

    problems: tuple[Problem, ...]
    """Its mistakes. With one it would be set aside, with all that names it."""
    stops: bool = False
    """Whether no pack at all could be made; then it is never written."""
    also_aside: tuple[str, ...] = ()
    """'folder/id' of what would be set aside with it."""
    read: ReadFile | None = None
    """How a patient would read it; None with mistakes, and for what no patient reads."""


def look_over(place: Workplace, folder: str, id: str, text: str) -> LookedOver:
    """Read a text as if it had been written, in a copy of the clinic's own content. Writes nothing there."""
    _refuse_unknown(place, folder, id)
    if len(text) > MOST_SETTINGS:
        what = f"it has more than {MOST_SETTINGS:,} characters."
        return LookedOver(
            (Problem(f"{folder}/{id}", what, "A text of the library has some thousands."),), True
        )
    module = place.library.kind(folder).get(id)
    if module and module.digest == digest_of(text):  # it stands there just so, and was read already
        return LookedOver((), read=_read(place, folder, id, place.library))
    with _tried(place, folder, id, text) as there:
        try:
            library = library_of(there, whole=False)
        except ContentError as error:
            return LookedOver(error.problems, stops=True)
    key = f"{folder}/{id}"
    if problems := library.set_aside.get(key, ()):
        newly = set(library.set_aside) - set(place.library.set_aside) - {key}
        return LookedOver(problems, also_aside=tuple(sorted(newly)))
    return LookedOver((), read=_read(place, folder, id, library))


@contextmanager
def _tried(place: Workplace, folder: str, id: str, text: str) -> Iterator[Path]:
    """The settings and content of a clinic once more, under the folder's own name, with one text changed."""
    with tempfile.TemporaryDirectory(prefix="consentpack-") as temporary:
        there = Path(temporary) / place.folder.name
        own = place.folder / "content"
        there.mkdir(parents=True)
        shutil.copy2(place.folder / SETTINGS_FILE, there / SETTINGS_FILE)
        if own.is_dir():
            shutil.copytree(own, there / "content")
        path = there / "content" / folder / f"{id}.md"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)  # a copy keeps the mode of a file that nobody may change
        path.write_text(text, encoding="utf-8")
        yield there


def _read(place: Workplace, folder: str, id: str, library: Library) -> ReadFile | None:
    module = library.kind(folder)[id]
    if isinstance(module, DocumentPlan) and module.audience == "clinician":
        return None
    document = module_document(folder, module, library)
    target = target_for("", document.language, place.clinic.reading, library.targets)
    score = scorer_of(library).score(document, target)
    return read_document(document, score, library, measure(document))


# --- writing it -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Written:
    """What came of writing a text."""

    path: Path
    meanwhile: str | None = None
    """What somebody else wrote there since it was opened; nothing was written then."""


def save_text(
    place: Workplace, folder: str, id: str, text: str, *, opened: str, with_mistakes: bool = False
) -> Written:
    """Write a text into the clinic's own content, unless it was changed since it was `opened` as it was.

    Raises ContentError with its mistakes, and nothing written; `with_mistakes`: it is written all the same
    and set aside, as a file is that somebody saves half-way, but never where no pack could be made then.
    """
    looked = look_over(place, folder, id, text)
    if looked.problems and (looked.stops or not with_mistakes):
        raise ContentError(looked.problems)
    path = _own_path(place, folder, id)
    with locked(place.folder):
        now = text_to_edit(place, folder, id).text
        if digest_of(now) != digest_of(opened):
            return Written(path, meanwhile=now)
        make_parent(path.parent)
        write_file(path, text)
    return Written(path)


def taken(text: str, remark: Remark) -> str:
    """A text with an editor's suggestion in it; as it was where its sentence does not stand there just so."""
    if not remark.instead or text.count(remark.text) != 1:
        return text
    return text.replace(remark.text, remark.instead)
