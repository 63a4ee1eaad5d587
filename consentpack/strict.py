"""Strict reading of TOML: unknown keys, missing keys and wrong values are problems with a line.

Nothing is ever ignored in silence: a misspelt key could be the one that names a harm.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from consentpack.days import Unclear, day_in, looks_like_day
from consentpack.errors import Problem, did_you_mean
from consentpack.limits import (
    DEEPEST_TABLES,
    FIRST_YEAR,
    LARGEST_COUNT,
    LAST_YEAR,
    LONGEST_NUMBER,
    MOST_SETTINGS,
)

_TOML_LINE = re.compile(r"\(at line (\d+)")
_TYPE_NAMES = {
    str: "words in quotes",
    int: "a whole number",
    float: "a number",
    bool: "true or false",
    date: "a date such as 2026-11-25 (no quotes)",
    list: "a list of words in brackets",
    dict: "a table",
}


@dataclass(frozen=True)
class Key:
    """One key of a table."""

    type: type
    meaning: str
    required: bool = True
    allowed: tuple[str, ...] = ()
    """For words, and for each word of a list: the words that may stand here."""
    refers_to: str = ""
    """For ids: the folder of content/ they are found in."""
    least: int = 1
    """For whole numbers: the lowest that may stand here."""
    days: bool = False
    """For lists: whether they hold days, as whole numbers, and not words."""
    hours: bool = False
    """For lists: whether they hold hours, as whole numbers in order, and not words."""
    numbers: bool = False
    """For lists: whether they hold two numbers, the lesser first, and not words."""
    most: int = LARGEST_COUNT
    """For whole numbers: the highest. For words: how many characters."""


@dataclass(frozen=True)
class TomlText:
    """Some TOML with the file it came from, for messages that name a line."""

    file: str
    text: str
    first_line: int = 1

    def line_of(self, key: str, word: str = "", *, table: str = "") -> int:
        """The line of a key or [table], or of a quoted word at or after it.

        `table` is the table the key stands in, where the same key stands in several.
        """
        lines = self.text.splitlines()
        name = rf"""(?:{re.escape(key)}|["']{re.escape(key)}["'])"""
        pattern = re.compile(rf"""\s*(?:{name}\s*=|\[+{name}\]+)""")
        first = 0
        if table:
            header = re.compile(rf"\s*\[+{re.escape(table)}\]+")
            first = next((i for i, line in enumerate(lines) if header.match(line)), 0)
        start = next((i for i in range(first, len(lines)) if pattern.match(lines[i])), first)
        if word:
            quoted = re.compile(rf"""["']{re.escape(word)}["']""")
            start = next((i for i in range(start, len(lines)) if quoted.search(lines[i])), start)
        return start + self.first_line

    def where(self, key: str, word: str = "", *, table: str = "") -> str:
        return f"{self.file}, line {self.line_of(key, word, table=table)}"


def load_toml(text: str, *, file: str, first_line: int = 1) -> tuple[dict[str, Any], list[Problem]]:
    """Some TOML, or {} and the reason with its line."""
    if problem := _unreadable(text, file, first_line):
        return {}, [problem]
    try:
        return _loaded(text), []
    except tomllib.TOMLDecodeError as error:
        found = _TOML_LINE.search(str(error))
        line = int(found.group(1)) if found else text.count("\n") + 1
        return {}, [_not_toml(text, line, error, f"{file}, line {first_line - 1 + line}")]
    except (RecursionError, ValueError, AttributeError, TypeError):  # what the parser does not foresee
        what = "this is not TOML, in a way that has no line to be named."
        return {}, [Problem(file, what, "Take out what was last changed, line by line.")]


def _loaded(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        quoted = with_days(text)
        if quoted == text:
            raise error from None
        return tomllib.loads(quoted)


_MOST_DAYS = 50
"""Days of another form in one file; each costs one more reading of it."""
_BARE_DAY = re.compile(r"""(\s*(?:[\w-]+|"[^"\n]*")\s*=\s*)([^"'#\n]+?)(\s*(?:#.*)?)""")


def with_days(text: str) -> str:
    """Some TOML with days that TOML does not know, such as 20.11.2026, in quotes, for `dated` to read.

    Only a line on which the reading stops is looked at, so that nothing inside a longer text is touched.
    """
    lines = text.splitlines()
    for _ in range(_MOST_DAYS):
        row = _stops_at("\n".join(lines))
        found = _BARE_DAY.fullmatch(lines[row]) if row is not None and row < len(lines) else None
        if row is None or not found or not looks_like_day(found.group(2)):
            break
        lines[row] = f'{found.group(1)}"{found.group(2)}"{found.group(3)}'
    return "\n".join(lines) + "\n" if lines != text.splitlines() else text


def _stops_at(text: str) -> int | None:
    """The line, counted from 0, on which some text stops being TOML; None where it does not."""
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = _TOML_LINE.search(str(error))
        return int(found.group(1)) - 1 if found else None
    return None


def dated(table: Mapping[str, Any], keys: Mapping[str, Key], order: str = "") -> dict[str, Any]:
    """A table with the days that were written as words read as days, where they are clear.

    `order` is the clinic's own order of dates, '' where it is not known. What is not clear stays as it is,
    and `check_table` says why.
    """
    return {name: _day(value, order) if _is_date(keys.get(name)) else value for name, value in table.items()}


def _is_date(key: Key | None) -> bool:
    return key is not None and key.type is date


def _unclear(words: str) -> str:
    try:
        day = day_in(words)
    except Unclear as either:
        return f"is '{words}', which {either}."
    return "" if day or not looks_like_day(words) else f"is '{words}', and there is no such day."


def _day(value: Any, order: str) -> Any:
    try:
        return (day_in(value, order) or value) if isinstance(value, str) else value
    except Unclear:
        return value


_QUOTES = re.compile("[“”„‟‘’‚‛«»‹›″′＂＇｀´`]")
_BRACKETS = re.compile(r"[\[\]{}]")
_DIGITS = re.compile(rf"\d{{{LONGEST_NUMBER + 1},}}")
_QUOTED = re.compile(r'"""[\s\S]*?"""|\'\'\'[\s\S]*?\'\'\'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|#.*')


def _not_toml(text: str, line: int, error: Exception, where: str) -> Problem:
    row = (text.splitlines() or [""])[min(line, text.count("\n") + 1) - 1 :][:1]
    straight = _straight(row[0]) if row and _QUOTES.search(row[0]) else ""
    outside = _QUOTES.search(_QUOTED.sub("", row[0])) if row else None
    if row and (found := outside or (_QUOTES.search(row[0]) if straight else None)):
        what = f"this line has typographic quotes ({found.group()}), which word processors put in."
        return Problem(where, what, f"Type straight ones: {straight or _WORDS}")
    what = f"this line is not TOML ({str(error).split(' (at ')[0]})."
    return Problem(where, what, 'Words stand in quotes, lists in brackets: key = "words", key = ["a", "b"].')


def _straight(row: str) -> str:
    """A line with straight quotes where that makes TOML of it; else ''."""
    for signs in ("“”„‟«»″＂", _QUOTES.pattern[1:-1]):
        mended = re.sub(f"[{signs}]", '"', row).strip()
        if mended != row.strip() and len(mended) <= _SHOWN_ROW and _stops_at(mended) is None:
            return mended
    return ""


_SHOWN_ROW = 100
_WORDS = 'key = "words".'


def _unreadable(text: str, file: str, first_line: int) -> Problem | None:
    """What would stop the parser itself: it counts on people writing the file."""
    if len(text) > MOST_SETTINGS:
        return Problem(file, f"the file has more than {MOST_SETTINGS} characters.", "Is it the right one?")
    bare = _QUOTED.sub(lambda found: "\n" * found.group().count("\n"), text)
    depth = deepest = 0
    for number, row in enumerate(bare.splitlines(), first_line):
        if _DIGITS.search(row):
            what = f"a number here has more than {LONGEST_NUMBER} digits."
            return Problem(f"{file}, line {number}", what, "Words that are all digits stand in quotes.")
        for sign in _BRACKETS.findall(row):
            depth += 1 if sign in "[{" else -1
            deepest = max(deepest, depth)
        if deepest > DEEPEST_TABLES:
            what = f"brackets stand inside each other more than {DEEPEST_TABLES} deep."
            return Problem(f"{file}, line {number}", what, "Lists here hold words, and nothing deeper.")
    return None


def check_table(
    table: Mapping[str, Any], keys: Mapping[str, Key], *, toml: TomlText, name: str = ""
) -> list[Problem]:
    """What is wrong with a table: unknown keys, wrong values, missing keys.

    `name` is the table's own name for messages, '' for the top level.
    """
    problems = []
    within = f" in [{name}]" if name else ""
    for key, value in table.items():
        if key not in keys:
            fix = did_you_mean(key, keys) or f"Keys here: {', '.join(keys)}."
            where = toml.where(key, table=name)
            problems.append(Problem(where, f"there is no key '{key}'{within}.", fix))
        elif wrong := wrong_value(keys[key], value):
            problems.append(Problem(toml.where(key, table=name), f"'{key}' {wrong}"))
    for key, spec in keys.items():
        if spec.required and key not in table:
            what = f"the key '{key}' is missing{within} ({spec.meaning})."
            problems.append(Problem(toml.file, what))
    return problems


def named_tables(
    text: str, keys: Mapping[str, Key], *, file: str
) -> tuple[dict[str, dict[str, Any]], list[Problem]]:
    """A file of tables with the same keys, each under its own name; wrong ones are left out."""
    data, problems = load_toml(text, file=file)
    toml = TomlText(file, text)
    found = {}
    for name, item in data.items():
        if not isinstance(item, dict):
            problems.append(Problem(f"{file}, [{name}]", "should be a table."))
        elif wrong := check_table(item, keys, toml=toml, name=name):
            problems += wrong
        else:
            found[name] = {key: tuple(v) if isinstance(v, list) else v for key, v in item.items()}
    return found, problems


def wrong_value(key: Key, value: Any) -> str:
    """What is wrong with a value, finishing a sentence that begins with its key; '' if nothing."""
    if key.type is date and isinstance(value, str) and (unclear := _unclear(value)):
        return unclear
    if not _has_type(value, key.type):
        return f"should be {_TYPE_NAMES[key.type]}; it is {said(value)}."
    if key.numbers:
        numbers = all(type(item) in (int, float) and math.isfinite(item) for item in value)
        in_order = numbers and len(value) == 2 and value[0] <= value[1]
        return "" if in_order else "should hold the least and the most, as in [18, 30]."
    if key.hours:
        hours = all(type(item) is int and item > 0 for item in value) and value == sorted(set(value))
        return "" if hours else "should hold hours in order, as in [1, 24]."
    if key.days:
        days = all(type(item) is int and item >= 0 for item in value)
        return "" if days else "should hold days, as in [0, 3]."
    if key.type is list and not all(isinstance(item, str) and item.strip() for item in value):
        return "should hold words in quotes only."
    if key.type is list and len(set(value)) != len(value):
        return "names the same thing twice."
    if key.type is str and not value.strip():
        return "is empty."
    if key.type is float and not (math.isfinite(value) and value > 0):
        return f"should be a number above 0; it is {value}."
    if key.type is int and value < key.least:
        return f"should be {key.least} or more; it is {said(value)}."
    if key.type is int and value > key.most:
        return f"should be {key.most} or less; it is {said(value)}."
    if key.type is date and not FIRST_YEAR <= value.year <= LAST_YEAR:
        return f"should be a day from {FIRST_YEAR} to {LAST_YEAR}; it is {value}."
    if wrong := _wrong_words(key, value):
        return wrong
    for word in (value if isinstance(value, list) else [value]) if key.allowed else ():
        if word not in key.allowed:
            return f"is '{word}'; it should be one of: {', '.join(key.allowed)}."
    return ""


_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
"""Signs that no document can hold (XML 1.0, production 2, and DEL)."""


def _wrong_words(key: Key, value: Any) -> str:
    for words in value if isinstance(value, list) else [value]:
        if isinstance(words, str) and _UNPRINTABLE.search(words):
            return "holds a control character, which cannot be printed."
        if isinstance(words, str) and len(words) > key.most:
            return f"has {len(words)} characters; {key.most} is the most."
    return ""


def said(value: Any) -> str:
    """A value as a message shows it: whole where it is short; never a page of digits."""
    try:
        words = repr(value)
    except (ValueError, RecursionError):  # a number of thousands of digits
        return "too long to be shown"
    return words if len(words) <= 80 else f"{words[:80]}…"


def _has_type(value: Any, wanted: type) -> bool:
    if wanted is float:
        return type(value) in (int, float)
    if wanted is date:
        return isinstance(value, date) and not isinstance(value, datetime)
    return type(value) is wanted  # bool is an int to Python, not to a reader
