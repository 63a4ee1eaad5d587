"""What is asked of a clinic that starts, and what is wrong with an answer. Words in, words out: a terminal
asks, and so may a page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from consentpack import shipped
from consentpack.catalogues import SOURCE_LANGUAGE, available, parse_tag
from consentpack.clinic import DATE_ORDERS, KEYS, wrong_number
from consentpack.errors import TranslationError, did_you_mean
from consentpack.library import Library
from consentpack.library.roots import USUAL, fields_there
from consentpack.signs import root
from consentpack.strict import wrong_value


@dataclass(frozen=True)
class Question:
    """One thing that is asked."""

    name: str
    asked: str
    """The question, a sentence."""
    usual: str = ""
    """What is taken when nothing is said; '' with `needed` for what only the clinic can say."""
    needed: bool = True


QUESTIONS = (
    Question("name", "What is the clinic called, as patients know it?"),
    Question("address", "What is its address? Put commas between the lines."),
    Question("phone", "Which number do patients ring in opening hours?"),
    Question("out_of_hours", "Which number do they ring at night and at weekends?"),
    Question("hours", "When is the clinic open?", "Monday to Friday, 9 to 5"),
    Question("field", "In which field of medicine does the clinic work?", USUAL),
    Question("rules", "Which law or body about consent does the clinic work under?"),
    Question("emergency", "Which number calls the ambulance?"),
    Question("languages", "Which languages? The clinic's own English first, then its patients'.", "en-GB"),
    Question("logo", "A logo, as a PNG or JPEG file?", "", needed=False),
    Question("sheet", "A spreadsheet with the treatments you have done (.csv or .xlsx)?", "", needed=False),
    Question("audit", "Does the clinic keep an audit of its treatments (yes or no)?"),
    Question("dates", "How are dates typed there: day-first, month-first or year-first?", "day-first"),
)
"""In the order in which they are asked: what is usual for a later one may follow from an earlier."""

EMERGENCY = {"uk": "999", "australia": "000", "us": "911"}
"""Beginning of a rule's name -> the number of the ambulance there; 112 in the European Union. From memory:
the clinic is shown it and says whether it is right."""
_EUROPE = "112"
_KEY_OF = {"name": "name", "phone": "phone", "out_of_hours": "phone_out_of_hours", "hours": "hours",
           "emergency": "emergency_number"}  # fmt: skip
YES, NO = ("yes", "y", "true"), ("no", "n", "false")


def usual(name: str, before: Mapping[str, str]) -> str:
    """What is taken for a question when nothing is said, after the answers before it; '' for nothing."""
    country = before.get("rules", "").partition("-")[0]
    if name == "emergency":
        return EMERGENCY.get(country, _EUROPE) if country else ""
    if name == "audit":
        return "yes" if before.get("sheet") else "no"
    if name == "dates" and country == "us":
        return "month-first"
    return next(question.usual for question in QUESTIONS if question.name == name)


def is_asked(name: str, before: Mapping[str, str]) -> bool:
    """Whether a question makes sense after the answers before it."""
    return name != "dates" or is_yes(before.get("audit", ""))


def is_yes(words: str) -> bool:
    return words.strip().lower() in YES


def field_of(answers: Mapping[str, str]) -> str:
    """The shipped field of the answers, as clinic.toml names it: '' for the usual one."""
    chosen = answers.get("field", USUAL)
    return "" if chosen == USUAL else chosen


def choices(name: str, library: Library) -> list[tuple[str, str]]:
    """What there is to choose from for a question, each with a word on it; nothing where it is free."""
    if name == "field":
        return list(fields_there(shipped.content()).items())
    return [(rule.id, rule.where) for rule in library.rules.values()] if name == "rules" else []


def in_lines(words: str, sign: str = ",") -> list[str]:
    """An answer of several parts."""
    return [part.strip() for part in words.split(sign) if part.strip()]


def wrong(name: str, words: str, library: Library, before: Mapping[str, str]) -> str:
    """What is wrong with an answer after those before it, a sentence; '' if nothing. As clinic.toml is
    checked, and at once."""
    question = next(each for each in QUESTIONS if each.name == name)
    if not words.strip():
        return "This cannot be left out." if question.needed else ""
    if name in _KEY_OF:
        return _wrong_words(name, words)
    if name == "address":
        said = wrong_value(KEYS["clinic"]["address"], in_lines(words))
        return f"The address {said}" if said else ""
    if name == "rules":
        near = did_you_mean(words, library.rules) or f"There are: {', '.join(library.rules)}."
        return "" if words in library.rules else f"There is no rule '{words}' about consent. {near}"
    if name == "field":
        there = fields_there(shipped.content())
        near = did_you_mean(words, there) or f"There are: {', '.join(there)}."
        return "" if words in there else f"There is no field '{words}' here. {near}"
    if name == "languages":
        return _wrong_languages(in_lines(words), field_of(before))
    if name == "dates":
        return "" if words in DATE_ORDERS else f"Say one of: {', '.join(DATE_ORDERS)}."
    if name == "audit":
        return "" if words.strip().lower() in (*YES, *NO) else "Say yes or no."
    return _wrong_file(name, Path(words))


def _wrong_words(name: str, words: str) -> str:
    said = wrong_value(KEYS["clinic"][_KEY_OF[name]], words) or wrong_number(_KEY_OF[name], words)
    return f"This {said}" if said else ""


def _wrong_languages(tags: Iterable[str], field: str) -> str:
    first, *others = tags
    if root(first) != SOURCE_LANGUAGE:
        return (
            "The first is the clinic's own, and the record is written in English: say en-GB, en-US or en-AU."
        )
    there = available(shipped.locales_for(field)[:1])
    for tag in (first, *others):
        try:
            parse_tag(tag, where=tag)
        except TranslationError as error:
            return f"{error.problems[0].what[:1].upper()}{error.problems[0].what[1:]} {error.problems[0].fix}"
        if root(tag) != SOURCE_LANGUAGE and root(tag) not in {root(each) for each in there}:
            return f"There is no translation for '{tag}' yet. There are: {', '.join(there)}."
    return ""


def _wrong_file(name: str, path: Path) -> str:
    endings = {"logo": (".png", ".jpg", ".jpeg"), "sheet": (".csv", ".xlsx", ".xlsm")}[name]
    if not path.is_file():
        return f"There is no file '{path}'."
    return "" if path.suffix.lower() in endings else f"'{path.name}' should end in {' or '.join(endings)}."
