"""tick_boxes.toml: what a patient ticks in the form, and what signing says."""

from __future__ import annotations

from collections.abc import Mapping

from consentpack.errors import Problem, did_you_mean
from consentpack.model import Tick
from consentpack.strict import Key, TomlText, check_table, load_toml, said

TICKS: Mapping[str, Mapping[str, str]] = {
    "had": {
        "read": "had the papers, and time to think",
        "questions": "asked, and understood the answers",
        "risks": "been told what may go wrong",
        "options": "been told of other choices, and of none",
    },
    "signing": {
        "who": "who does it",
        "change-mind": "that one may change one's mind",
        "only-if": "that no more is done than was agreed",
        "numbing": "where something numbs: that one could ask how",
    },
    "yes": {
        "agree-extra": "where something may become necessary: the extra steps",
        "students": "a student in the room",
        "gp-letter": "a letter to the patient's own doctor",
        "photo-notes": "photographs for the notes",
        "photo-teaching": "photographs to teach",
        "photo-publication": "photographs that are published",
        "photo-publicity": "photographs that advertise",
        "tissue-kept": "where something is taken off: what is left of it kept",
    },
    "no": {
        "gp-no-letter": "no letter to the patient's own doctor",
        "photo-none": "no photographs",
        "no-copy": "no copy of the form",
        "tissue-refused": "where something is taken off: that it is not tested",
    },
}
"""Table -> tag of a line -> what it must say. The tags are the program's: by them it knows when
a line belongs in a form, and published lists are held against them. None can be left out, and none added."""


def tick_boxes(text: str, *, file: str) -> tuple[dict[str, Tick], list[Problem]]:
    """The lines that a file words, by tag; a clinic's own may word some of them."""
    data, problems = load_toml(text, file=file)
    toml = TomlText(file, text)
    found: dict[str, Tick] = {}
    for name, lines in data.items():
        if name not in TICKS:
            near = did_you_mean(name, TICKS) or f"Tables here: {', '.join(TICKS)}."
            problems.append(Problem(toml.where(name), f"there is no table [{name}].", near))
        elif not isinstance(lines, dict):
            what = f"'{name}' should be a table; it is {said(lines)}."
            problems.append(Problem(toml.where(name), what, f"Write [{name}] on a line of its own."))
        else:
            keys = {tag: Key(str, meaning, required=False) for tag, meaning in TICKS[name].items()}
            wrong = check_table(lines, keys, toml=toml, name=name) + _with_signs(name, lines, toml)
            problems += wrong
            for tag, words in () if wrong else lines.items():
                found[tag] = Tick(tag, words, file, toml.line_of(tag, table=name))
    return found, problems


def _with_signs(table: str, lines: Mapping[str, object], toml: TomlText) -> list[Problem]:
    """A line is printed as it stands: brackets of a value would be printed, or stop the pack."""
    return [
        Problem(toml.where(tag, table=table), f"'{tag}' holds a bracket {{ or }}.", "Write plain words.")
        for tag, words in lines.items()
        if isinstance(words, str) and ("{" in words or "}" in words)
    ]


def lacking(found: Mapping[str, Tick], *, file: str) -> list[Problem]:
    """Lines that nobody has worded."""
    return [
        Problem(file, f"the line '{tag}' is missing in [{table}] ({meaning}).")
        for table, tags in TICKS.items()
        for tag, meaning in tags.items()
        if tag not in found
    ]
