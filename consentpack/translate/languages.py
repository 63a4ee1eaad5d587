"""What a check must know of a language: its letters, its words for not, its units, its usual length.

One file for each, `language.toml` beside the language's catalogue. A language without one is checked all
the same, only not by these words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from consentpack.errors import Problem, TranslationError, unread
from consentpack.strict import Key, TomlText, check_table, load_toml

FILE = "language.toml"
KEYS: Mapping[str, Key] = {
    "letters": Key(str, "the script its words are written in, as Unicode names it: LATIN, ARABIC, CJK"),
    "shortest": Key(float, "least length of a translation, as a share of the original's letters"),
    "longest": Key(float, "greatest length of a translation, as a share of the original's letters"),
    "stem": Key(int, "how many first letters of a word stay the same when it is bent"),
    "negations": Key(list, "words, or beginnings of words with *, that say no"),
    "units": Key(dict, "English unit -> words, or beginnings of words with *, for it", False),
    "kept": Key(list, "English words that stay as they are, such as names of substances", False),
}
UNITS = ("minutes", "hours", "days", "weeks", "months", "years", "visits")


@dataclass(frozen=True)
class Language:
    """One language, as checks see it."""

    tag: str
    letters: str = ""
    shortest: float = 0.3
    longest: float = 3.0
    stem: int = 4
    negations: tuple[str, ...] = ()
    units: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    kept: tuple[str, ...] = ()


def load_language(tag: str, folder: Path) -> Language:
    """The language file in a folder of a language. Raises TranslationError with everything wrong in it."""
    path = folder / FILE
    if not path.is_file():
        return Language(tag)
    try:
        toml = TomlText(str(path), path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise TranslationError(unread(str(path), error)) from None
    data, problems = load_toml(toml.text, file=toml.file)
    problems = problems or [*check_table(data, KEYS, toml=toml), *_units(data, toml)]
    if problems:
        raise TranslationError(problems)
    return Language(
        tag,
        letters=data["letters"],
        shortest=float(data["shortest"]),
        longest=float(data["longest"]),
        stem=data["stem"],
        negations=tuple(data["negations"]),
        units={unit: tuple(words) for unit, words in data.get("units", {}).items()},
        kept=tuple(data.get("kept", ())),
    )


def _units(data: Mapping[str, Any], toml: TomlText) -> list[Problem]:
    units = data.get("units")
    fix = f"Units: {', '.join(UNITS)}."
    unknown = [unit for unit in units if unit not in UNITS] if isinstance(units, dict) else []
    return [Problem(toml.where(unit, table="units"), f"'{unit}' is no unit here.", fix) for unit in unknown]
