"""What is written otherwise in files of an older program, and how it is written now.

A text is changed line by line, so that notes and order stay. It is then read, and unless it says exactly what
it said before, under its new names, it stays as it was and somebody is told what to change.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.normal import place
from consentpack.strict import load_toml, with_days

_FRONT = "+++"
_AFTER = {"region": "site", "indication": "condition"}
"""Key that older plans lack -> the key below whose line it is put; others stand below the last of these."""


@dataclass(frozen=True)
class Mended:
    """A file's text as it is now."""

    text: str
    changes: tuple[str, ...] = ()
    """What is otherwise, in sentences."""
    left: tuple[Problem, ...] = ()
    """What only somebody of the clinic can do."""
    lacks: tuple[str, ...] = ()
    """Keys that a plan must say and does not."""


def mended_settings(text: str, file: str, renamed: Mapping[str, str]) -> Mended:
    """Settings whose groups are called as they are now."""
    data = _read(text)
    old = [name for name in renamed if name in _table(data, "groups")]
    groups = {renamed.get(name, name): value for name, value in _table(data, "groups").items()}
    new, changes = text, []
    for name in old:
        new = re.sub(
            rf"(?m)^([ \t]*\[[ \t]*groups[ \t]*\.[ \t]*){name}([ \t]*\])", rf"\1{renamed[name]}\2", new
        )
        changes.append(f"[groups.{name}] is called [groups.{renamed[name]}] now.")
    if not old:
        return Mended(text)
    return _sure(text, new, file, {**data, "groups": groups}, changes)


def mended_module(text: str, file: str, renamed: Mapping[str, str]) -> Mended:
    """A module whose keys are called as they are now."""
    parts = text.split(_FRONT, 2)
    if len(parts) < 3 or parts[0].strip():
        return Mended(text)
    data = _read(parts[1])
    old = [name for name in renamed if name in data]
    if not old:
        return Mended(text)
    wanted = {renamed.get(name, name): value for name, value in data.items()}
    changes = [_called(name, renamed[name]) for name in old]
    head = _sure(parts[1], _with_names(parts[1], renamed, old), file, wanted, changes)
    return Mended(_FRONT.join((parts[0], head.text, parts[2])), head.changes, head.left)


def mended_plan(text: str, file: str, library: Library, said: Mapping[str, str]) -> Mended:
    """A plan whose keys are called as they are now, with what it must say and did not.

    `said` is what a clinician says of it, by key.
    """
    renamed, data = library.field.renamed, _read(text)
    if not data:
        return Mended(text, (), tuple(load_toml(text, file=file)[1]))
    tables = {tag: words for tag, words in _table(data, "translated").items() if isinstance(words, dict)}
    old = [name for name in renamed if name in data or any(name in words for words in tables.values())]
    wanted = {renamed.get(name, name): value for name, value in data.items()}
    if tables:
        own = {tag: {renamed.get(n, n): w for n, w in words.items()} for tag, words in tables.items()}
        wanted["translated"] = {**_table(data, "translated"), **own}
    changes = [_called(name, renamed[name]) for name in old]
    new, lacks = _with_names(text, renamed, old), dict[str, Problem]()
    for key in library.field.plan_keys:
        if key in wanted:
            continue
        value, why = _missing(key, wanted, library, said)
        if not value:
            lacks[key] = Problem(file, why, f"Say it with --say {Path(file).stem}:{key}=VALUE.")
            continue
        wanted[key], new = value, _with_line(new, key, value)
        changes.append(f'{key} = "{value}" was put in: {why}.')
    found = _sure(text, new, file, wanted, changes)
    return Mended(found.text, found.changes, (*found.left, *lacks.values()), tuple(lacks))


def values_of_key(library: Library, key: str) -> dict[str, str]:
    """What a key may hold that every plan must say -> what that means."""
    if key not in library.field.plan_keys:
        return {}
    if key == "region":
        return {region.id: region.title for region in library.regions.values()}
    if key == "indication":
        return dict(library.field.indications)
    stratum = library.field.strata.get(key)
    return dict.fromkeys(stratum.values, stratum.title) if stratum else {}


def _missing(key: str, plan: Mapping[str, Any], library: Library, said: Mapping[str, str]) -> tuple[str, str]:
    """What a plan is to say, and why; '' and what is lacking where only a clinician knows it."""
    if key in said:
        return said[key], "you said so"
    site = place(str(plan.get("site", "")))
    lies_in = [region.id for region in library.regions.values() if site in map(place, region.words)]
    if key == "region" and len(lies_in) == 1:
        return lies_in[0], f"'{site}' lies there"
    about = f" The plan says: '{plan['condition']}'." if key == "indication" and "condition" in plan else ""
    return "", f"it does not say '{key}', and nothing in it tells.{about}"


def _called(old: str, new: str) -> str:
    return f"'{old}' is called '{new}' now."


def _with_names(text: str, renamed: Mapping[str, str], old: list[str]) -> str:
    for name in old:
        text = re.sub(rf"(?m)^([ \t]*){name}([ \t]*=)", rf"\1{renamed[name]}\2", text)
    return text


def _with_line(text: str, key: str, value: str) -> str:
    """A line more, below the one that it follows from. Before the first table: in one it would be its own."""
    head = re.search(r"(?m)^[ \t]*\[", text)
    end = head.start() if head else len(text)
    above = _AFTER.get(key, "condition")
    at = re.search(rf"(?m)^{above}[ \t]*=.*\n", text[:end])
    place_of_it = at.end() if at else 0
    return f'{text[:place_of_it]}{key} = "{value}"\n{text[place_of_it:]}'


def _sure(text: str, new: str, file: str, wanted: Mapping[str, Any], changes: list[str]) -> Mended:
    """The new text where it says exactly what is wanted; else the old one, and what to change by hand."""
    if _read(new) == wanted:
        return Mended(new, tuple(changes))
    first = next(
        (i for i, (a, b) in enumerate(zip(text.splitlines(), new.splitlines(), strict=False), 1) if a != b), 1
    )
    where = f"{file}, line {first}" if first > 1 else file
    return Mended(text, (), tuple(Problem(where, what, "Change it there by hand.") for what in changes))


def _read(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(with_days(text))
    except ValueError:
        return {}  # what is wrong with it is told by who reads it


def _table(data: Mapping[str, Any], name: str) -> dict[str, Any]:
    found = data.get(name)
    return found if isinstance(found, dict) else {}
