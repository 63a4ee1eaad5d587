"""The library's tables about language: syllables, reading targets and house style."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.errors import Problem, did_you_mean
from consentpack.library.tables import csv_rows
from consentpack.model import HouseStyle, OneName, ReadingTarget, Spoken
from consentpack.strict import Key, load_toml, named_tables

WORD_KINDS = ("clinical", "drug", "british", "everyday")
SYLLABLE_COLUMNS = ("word", "syllables", "kind", "said")
EASY_WHEN_HIGH = (
    "szigriszt", "fernandez-huerta", "kandel-moles", "amstad", "gulpease", "douma", "martins",
)  # fmt: skip
"""Measures where a high value is easy. (A test holds this to the readability room's own table.)"""
HARD_WHEN_HIGH = (
    "flesch-kincaid", "smog", "fog", "coleman-liau", "ari", "dale-chall", "vienna-1", "pisarek", "lix",
)  # fmt: skip
MEASURES = (*HARD_WHEN_HIGH, *EASY_WHEN_HIGH)
TARGET_KEYS: Mapping[str, Key] = {
    "measure": Key(str, "id of the measure", allowed=MEASURES),
    "limit": Key(float, "the value that is still met"),
    "who": Key(str, "whose target it is"),
    "why": Key(str, "what is known of it, with marks"),
    "sources": Key(list, "where it comes from", refers_to="sources"),
    "language": Key(str, "the language of the measure, such as 'en'"),
    "default": Key(bool, "true for the target of a clinic that chose none", required=False),
}
_STYLE_TABLES = ("plain", "verbs", "abbreviations", "familiar")


def syllables(text: str, *, file: str) -> tuple[dict[str, Spoken], list[Problem]]:
    """syllables.csv: how many syllables a word has, with the word as it is said."""
    rows, problems = csv_rows(text, SYLLABLE_COLUMNS, file=file)
    found: dict[str, Spoken] = {}
    for number, row in enumerate(rows, 2):
        word, said = (row["word"] or "").strip(), (row["said"] or "").strip()
        wrong = _wrong_word(word, row, said, found)
        if wrong:
            problems.append(Problem(f"{file}, row {number}", wrong))
        else:
            found[word] = Spoken(word, int(row["syllables"]), row["kind"], said)
    return found, problems


def _wrong_word(word: str, row: Mapping[str, str], said: str, found: Mapping[str, Spoken]) -> str:
    if not word or word != word.lower() or " " in word:
        return f"'{word}' should be one word in small letters."
    if word in found:
        return f"'{word}' is here twice."
    if any(row[name] is None for name in SYLLABLE_COLUMNS):
        return f"'{word}' has too few cells; a row holds {', '.join(SYLLABLE_COLUMNS)}."
    if row["kind"] not in WORD_KINDS:
        return f"'kind' is '{row['kind']}'; use one of: {', '.join(WORD_KINDS)}."
    if row["syllables"] != str(len(said.split("-"))):
        return f"'{word}' is said '{said}', which does not have {row['syllables']} syllables."
    return ""


def targets(text: str, *, file: str) -> tuple[dict[str, ReadingTarget], list[Problem]]:
    """reading_targets.toml: published reading targets by name."""
    found, problems = named_tables(text, TARGET_KEYS, file=file)
    return {id: _target(id, item) for id, item in found.items()}, problems


def _target(id: str, item: dict[str, Any]) -> ReadingTarget:
    easy_when_high = item["measure"] in EASY_WHEN_HIGH
    return ReadingTarget(id, **{**item, "limit": float(item["limit"])}, high_is_hard=not easy_when_high)


def house_style(text: str, *, file: str) -> tuple[HouseStyle, list[Problem]]:
    """house_style.toml: plain words for hard ones, and one name for one thing."""
    data, problems = load_toml(text, file=file)
    known = (*_STYLE_TABLES, "one_name")
    problems += [
        Problem(file, f"there is no table '{name}'.", did_you_mean(name, known))
        for name in data
        if name not in known
    ]
    words = {name: _words(data.get(name, {}), name, file, problems) for name in _STYLE_TABLES}
    names = []
    listed = data.get("one_name", [])
    if not isinstance(listed, list):
        problems.append(Problem(file, "several names for one thing are [[one_name]]s, in double brackets."))
        listed = []
    for number, item in enumerate(listed, 1):
        if not _is_one_name(item):
            what = 'should have use = "…" and instead_of = ["…"].'
            problems.append(Problem(f"{file}, one_name {number}", what))
        else:
            names.append(OneName(item["use"], tuple(item["instead_of"])))
    return HouseStyle(**words, one_name=tuple(names)), problems


def _words(table: Any, name: str, file: str, problems: list[Problem]) -> dict[str, str]:
    if not isinstance(table, dict):
        problems.append(Problem(f"{file}, [{name}]", "should be a table of words."))
        return {}
    problems += [
        Problem(f"{file}, [{name}]", f"'{word}' should have words in quotes.")
        for word, plain in table.items()
        if not isinstance(plain, str)
    ]
    return {word: plain for word, plain in table.items() if isinstance(plain, str)}


def _is_one_name(item: Any) -> bool:
    return (
        isinstance(item, dict)
        and set(item) == {"use", "instead_of"}
        and isinstance(item["use"], str)
        and isinstance(item["instead_of"], list)
        and all(isinstance(each, str) for each in item["instead_of"])
    )
