"""What there is to translate: every piece of text a patient may read, with where it stands.

Content is taken piece by piece, as it is printed, so that an edit of one paragraph touches that
paragraph alone. Phrases of the program are found by Babel in the code that writes for patients.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path

from babel.messages.extract import extract

from consentpack.assemble.document import BUILDERS
from consentpack.fill import placeholders
from consentpack.library import Library
from consentpack.library.schema import CLINICIAN_DIRECTIVES, PLACEHOLDERS
from consentpack.library.texts import patient_texts
from consentpack.model import Clinic

KEYWORDS = {"say": None, "para": None, "phrase": None, "N_": None, "phrases": (1, 2)}
"""Calls whose words are looked up, with which arguments they are (None: the first)."""
CODE = ("wording.py", "assemble")
"""Where the program writes for patients."""


@dataclass
class Message:
    """One text to translate."""

    id: str
    """The English text; for a text that depends on a number, the one for one."""
    plural: str = ""
    """The English text for many; '' where there is no number."""
    places: list[tuple[str, int]] = field(default_factory=list)
    """File and line of each use."""
    comments: list[str] = field(default_factory=list)
    """What a translator should know."""


def messages_of(library: Library, *, shipped: bool = True) -> list[Message]:
    """Every message once, in the order of the content; a clinic's own modules without ours.

    `shipped` says whose: what ships with the program, its phrases included, or what the clinic added.
    """
    found: dict[str, Message] = {}
    pieces = [*_content(library, shipped), *(_phrases() if shipped else ())]
    for id, plural, file, line, comments in pieces:
        message = found.setdefault(id, Message(id, plural))
        message.plural = message.plural or plural
        if (file, line) not in message.places:
            message.places.append((file, line))
        message.comments += [c for c in comments if c not in message.comments]
    for message in found.values():
        message.comments += _values_in(message.id, library)
    return list(found.values())


def words_of_clinic(clinic: Clinic) -> list[Message]:
    """The words of clinic.toml that patients read."""
    return [Message(clinic.hours, places=[("clinic.toml", 1)], comments=["Opening hours."])]


Piece = tuple[str, str, str, int, list[str]]


def _content(library: Library, shipped: bool) -> Iterator[Piece]:
    for folder in (
        "documents",
        "techniques",
        "risks",
        "benefits",
        "options",
        "factors",
        "aftercare",
        "warnings",
    ):
        for module in library.kind(folder).values():
            if module.file.startswith("content/") == shipped:
                for piece in patient_texts(module):
                    yield piece.text, "", module.file, piece.line, [piece.what]
    for tick in library.ticks.values():
        if tick.file.startswith("content/") == shipped:
            yield tick.words, "", tick.file, tick.line, []
    if shipped:
        yield from _tables(library)


def _tables(library: Library) -> Iterator[Piece]:
    """What patients read of the tables that are shipped with a field."""
    folder = f"content/fields/{library.shipped_field}" if library.shipped_field else "content"
    for text in library.field.sentences.values():
        yield text, "", f"{folder}/field.toml", 1, []
    for one, many in library.field.units.values():
        yield one, many, f"{folder}/field.toml", 1, []
    glossary = f"{folder}/glossary.toml"
    for term in library.terms:
        yield term.clinical, "", glossary, 1, ["A word of the trade. Title of a row."]
        yield term.explain, "", glossary, 1, [f"What “{term.clinical}” means."]
    for rate in library.published:
        if rate.readable:
            file = f"{folder}/published_rates.csv"
            yield rate.population, "", file, 1, ["Who was in a study. Stands after “It was in”."]
            yield rate.follow_up, "", file, 1, ["How long a study watched people."]


def _phrases() -> Iterator[Piece]:
    """The phrases of the program's own code."""
    root = Path(str(files("consentpack")))
    for path in sorted(_code_files(root)):
        name = path.relative_to(root.parent).as_posix()
        with path.open("rb") as stream:
            for line, text, comments, _ in extract("python", stream, KEYWORDS, ("Translators:",)):
                one, plural = (text[0], text[1]) if isinstance(text, tuple) else (text, "")
                yield str(one), str(plural), name, line, list(comments)


def _code_files(root: Path) -> Iterable[Path]:
    for name in CODE:
        path = root / name
        there = path.glob("*.py") if path.is_dir() else (path,)
        yield from (file for file in there if not _for_the_clinic(f"consentpack.{name}.{file.stem}"))


def _for_the_clinic(module: str) -> bool:
    """Whether a module writes for the clinic alone, or is part of one by its name: record, record_alerts."""
    return any(module == each or module.startswith(f"{each}_") for each in clinic_only())


def clinic_only() -> set[str]:
    """Modules of which every part is for the clinic alone; they write in the clinic's own language."""
    found: dict[str, set[str]] = {}
    for directive, build in BUILDERS.items():
        found.setdefault(build.__module__, set()).add(directive)
    return {module for module, directives in found.items() if directives <= set(CLINICIAN_DIRECTIVES)}


VALUES = {
    "number": "a whole number",
    "of": "the number 100, or 1,000 or 10,000",
    "total": "a number with what is counted: “100 treatments”, by the messages below; it stands in the "
    "form for naming, so put it where no other case is asked for",
    "low": "the lower end of a range, a whole number",
    "high": "the upper end of a range, a whole number",
    "time": "a number with its unit: “2 weeks”, in the form for naming",
    "figure": "a figure such as “about 12 in every 100 treatments”",
    "fewer": "“Fewer than 1 in every 100 treatments”",
    "rare": "the same figure out of 1,000 or 10,000",
    "marks": "a sentence: “12 of 100 marks are filled.”",
    "outcome": "the title of a risk or benefit",
    "who": "who was in a study: “people with a cough …”",
    "technique": "the title of a technique",
    "title": "a title",
    "heading": "the heading of a part of a paper",
    "signs": "warning signs in a few words, listed with “or”",
    "factors": "titles of the patient's circumstances, listed",
    "what": "a technique in plain words",
    "words": "the clinician's own words, in the patient's language",
    "first": "a date",
    "last": "a date",
    "page": "the number of this page",
    "pages": "how many pages there are",
    "version": "a number that counts the papers given to a patient: “2”",
    "day": "a date",
    "code": "letters and figures by which a paper is found again: “K7QF2-M9XAB-1”",
    "clinic": "the clinic's name",
    "condition": "what is treated, in the clinician's words",
    "site": "the place on the body",
    "phone": "a telephone number",
    "hours": "the clinic's opening hours",
    "yes": "the letter for yes",
    "no": "the letter for no",
}
"""What stands in the values of phrases."""


def _values_in(text: str, library: Library) -> list[str]:
    """What each placeholder of a text will be, for the translator."""
    named = []
    for found in dict.fromkeys(placeholders(text)) if "{{" in text else ():
        if found.name.startswith("care."):
            setting = library.settings[found.name.removeprefix("care.")]
            unit = setting.unit.removesuffix("s") if setting.value == 1 else setting.unit
            named.append(f"{{{{ {found} }}}}: “{setting.value} {unit}”, in the form for naming")
        elif found.name in PLACEHOLDERS:
            named.append(f"{{{{ {found} }}}}: {PLACEHOLDERS[found.name]}")
        else:
            named.append(f"{{{{ {found} }}}}: a figure inside a sentence")
    if "{{" not in text:
        named += [f"{{{name}}}: {VALUES[name]}" for name in VALUES if f"{{{name}}}" in text]
    return named
