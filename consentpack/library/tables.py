"""The library's tables: care settings, glossary, published rates and sources."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from consentpack.errors import Problem, did_you_mean
from consentpack.limits import LARGEST_COUNT, LONGEST_CELL, LONGEST_NUMBER
from consentpack.model import COUNTED, LOOKED_FOR, CareSetting, PublishedRate, Term
from consentpack.strict import load_toml

UNITS = ("minutes", "hours", "days", "weeks", "months")
RATE_COLUMNS = (
    "id", "technique", "outcome", "factor", "events", "n", "unit", "percent", "population",
    "follow_up", "source", "seen", "caveat",
)  # fmt: skip
FIT_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "looked_for": ("not-said", *LOOKED_FOR), "counted": ("it", *COUNTED),
}  # fmt: skip
"""What says whether a figure fits its sentence, beside watched_days: the words each may hold, and before
them what stands for nothing written. A table made before these columns lacks them, and is still read."""
_TERM_KEYS = ("clinical", "plain", "explain")
SEEN = ("abstract", "secondary", "memory")


def settings(text: str, *, file: str) -> tuple[dict[str, CareSetting], list[Problem]]:
    """settings.toml: numbers on which sources differ."""
    data, problems = load_toml(text, file=file)
    found = {}
    for name, item in data.items():
        made, wrong = _setting(name, item, file)
        problems += wrong
        if made:
            found[name] = made
    return found, problems


def _setting(name: str, item: Any, file: str) -> tuple[CareSetting | None, list[Problem]]:
    where = f"{file}, [{name}]"
    if not isinstance(item, dict):
        return None, [Problem(where, "should be a table with default, unit, lowest, highest, why.")]
    known = {"default", "unit", "lowest", "highest", "why", "sources"}
    problems = [
        Problem(where, f"there is no key '{key}'.", did_you_mean(key, known))
        for key in item
        if key not in known
    ]
    numbers = [n for key in ("lowest", "default", "highest") if type(n := item.get(key)) is int]
    if len(numbers) != 3 or numbers != sorted(numbers):
        what = "lowest, default and highest should be whole numbers in that order."
        problems.append(Problem(where, what))
    if len(numbers) == 3 and not 0 <= numbers[0] <= numbers[2] <= LARGEST_COUNT:
        problems.append(Problem(where, f"its numbers should be from 0 to {LARGEST_COUNT}."))
    listed = item.get("sources", [])
    if not isinstance(listed, list) or not all(_is_words(each) for each in listed):
        problems.append(Problem(where, "sources should be a list of words in brackets."))
    if not isinstance(why := item.get("why", ""), str):
        problems.append(Problem(where, "why should be words in quotes."))
    if item.get("unit") not in UNITS:
        problems.append(Problem(where, f"unit should be one of: {', '.join(UNITS)}."))
    if problems:
        return None, problems
    sources = tuple(item.get("sources", ()))
    lowest, default, highest = numbers
    made = CareSetting(name, default, item["unit"], lowest, highest, why, sources)
    return made, []


def csv_rows(text: str, columns: Iterable[str], *, file: str) -> tuple[list[dict[str, str]], list[Problem]]:
    """The rows of a CSV table that must have some columns, or none and why."""
    before = csv.field_size_limit(LONGEST_CELL)  # one for the whole process: an import sets another
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""))
        lacking = [name for name in columns if name not in (reader.fieldnames or ())]
        if lacking:
            return [], [Problem(f"{file}, row 1", f"columns are missing: {', '.join(lacking)}.")]
        return list(reader), []
    except csv.Error as error:
        what = f"this row cannot be read ({error})."
        return [], [Problem(f"{file}, row {reader.line_num}", what, "Look for a quote that is not closed.")]
    finally:
        csv.field_size_limit(before)


def glossary(text: str, *, file: str) -> tuple[list[Term], list[Problem]]:
    """glossary.toml: clinical terms and their plain words."""
    data, problems = load_toml(text, file=file)
    terms: list[Term] = []
    listed = data.get("term", [])
    if not isinstance(listed, list) or not all(isinstance(item, dict) for item in listed):
        return terms, [Problem(file, "entries are [[term]]s, in double brackets.")]
    for number, item in enumerate(listed, 1):
        problems += [
            Problem(f"{file}, term {number}", f"there is no key '{key}'.", did_you_mean(key, _TERM_KEYS))
            for key in item
            if key not in _TERM_KEYS
        ]
        lacking = [key for key in _TERM_KEYS if not _is_words(item.get(key))]
        problems += [Problem(f"{file}, term {number}", f"the key '{key}' is missing.") for key in lacking]
        if not lacking:
            terms.append(Term(item["clinical"], item["plain"], item["explain"]))
    problems += [
        Problem(file, f"there is no table '{key}'; entries are [[term]]s.") for key in data if key != "term"
    ]
    return terms, problems


def sources(text: str, *, file: str) -> tuple[dict[str, Mapping[str, Any]], list[Problem]]:
    """sources.json in CSL-JSON (the data schema of citationstyles.org)."""
    try:
        items = json.loads(text)
    except json.JSONDecodeError as error:
        return {}, [Problem(f"{file}, line {error.lineno}", f"this is not JSON ({error.msg}).")]
    except (RecursionError, ValueError):
        return {}, [
            Problem(file, "this is not JSON that can be read: set inside itself, or endless numbers.")
        ]
    if not isinstance(items, list):
        return {}, [Problem(file, "this should be a list of sources, in square brackets.")]
    found: dict[str, Mapping[str, Any]] = {}
    problems = []
    for number, item in enumerate(items, 1):
        if not isinstance(item, dict) or not all(_is_words(item.get(key)) for key in ("id", "title")):
            problems.append(Problem(f"{file}, item {number}", "a source needs an id and a title."))
        elif item["id"] in found:
            problems.append(Problem(f"{file}, item {number}", f"'{item['id']}' is here twice."))
        else:
            found[item["id"]] = item
    return found, problems


def _is_words(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip())


def published(text: str, *, file: str) -> tuple[list[PublishedRate], list[Problem]]:
    """published_rates.csv: printed figures, row numbers as a spreadsheet shows them."""
    rows, problems = csv_rows(text, RATE_COLUMNS, file=file)
    rates: list[PublishedRate] = []
    for number, row in enumerate(rows, 2):
        made, wrong = _rate(row, f"{file}, row {number}")
        problems += wrong
        if made and any(rate.id == made.id for rate in rates):
            problems.append(Problem(f"{file}, row {number}", f"'{made.id}' is here twice."))
        elif made:
            rates.append(made)
    return rates, problems


def _rate(row: dict[str, str], where: str) -> tuple[PublishedRate | None, list[Problem]]:
    problems = [
        Problem(where, f"the column '{name}' is empty.")
        for name in ("id", "technique", "outcome", "unit", "population", "source")
        if not (row[name] or "").strip()
    ]
    if row["seen"] not in SEEN:
        problems.append(Problem(where, f"'seen' is '{row['seen']}'; use {', '.join(SEEN)}."))
    events, n, watched = (_whole(row, name, where, problems) for name in ("events", "n", "watched_days"))
    fit = {name: _word(row, name, where, problems) for name in FIT_COLUMNS}
    percent = _percent(row, where, problems)
    if events is not None and n is not None and events > n:
        problems.append(Problem(where, f"{events} events of {n} cannot be."))
    if problems:
        return None, problems
    words = {
        name: (row[name] or "").strip()
        for name in ("id", "technique", "outcome", "factor", "unit", "population", "follow_up")
    }
    rest = {name: (row[name] or "").strip() for name in ("source", "seen", "caveat")}
    numbers = {"events": events, "n": n, "percent": percent, "watched_days": watched}
    return PublishedRate(**words, **rest, **numbers, **fit), []  # type: ignore[arg-type]


def _whole(row: Mapping[str, str], name: str, where: str, problems: list[Problem]) -> int | None:
    cell = (row.get(name) or "").strip()
    if cell.isdecimal() and len(cell) < LONGEST_NUMBER:
        return int(cell)
    if cell:
        problems.append(Problem(where, f"'{name}' is '{cell[:40]}'; use a whole number or nothing."))
    return None


def _word(row: Mapping[str, str], name: str, where: str, problems: list[Problem]) -> str:
    empty, *allowed = FIT_COLUMNS[name]
    cell = (row.get(name) or "").strip() or empty
    if cell not in allowed:
        problems.append(Problem(where, f"'{name}' is '{cell[:40]}'; use {', '.join(allowed)}."))
    return cell


def _percent(row: Mapping[str, str], where: str, problems: list[Problem]) -> float | None:
    cell = (row["percent"] or "").strip()
    if re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,9})?", cell) and float(cell) <= 100:
        return float(cell)
    if cell:
        what = f"'percent' is '{cell[:40]}'; use a number from 0 to 100, or nothing."
        problems.append(Problem(where, what))
    return None
