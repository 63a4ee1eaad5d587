"""length_targets.toml: how long each kind of document may be, and how many words other languages need."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.errors import Problem
from consentpack.model import LIMITS, LengthTarget
from consentpack.strict import Key, TomlText, check_table, load_toml

LANGUAGES = "languages"
LENGTH_KEYS: Mapping[str, Key] = {
    **{
        name: Key(int, f"at most so many {meaning}; 0 for no limit", False, least=0)
        for name, meaning in LIMITS.items()
    },
    "before_annex": Key(bool, "true: only what is before the annex counts", required=False),
    "why": Key(str, "where the numbers come from, with marks"),
    "sources": Key(list, "what they rest on", required=False, refers_to="sources"),
}


def length_targets(
    text: str, *, file: str
) -> tuple[dict[str, LengthTarget], dict[str, float], list[Problem]]:
    """Kind of document -> its target; language -> how many words say what one English word says."""
    data, problems = load_toml(text, file=file)
    toml = TomlText(file, text)
    longer, wrong = _languages(data.pop(LANGUAGES, {}), toml)
    problems += wrong
    found = {}
    for kind, item in data.items():
        wrong = _wrong(kind, item, toml)
        problems += wrong
        if not wrong:
            found[kind] = _target(kind, item)
    return found, longer, problems


def _wrong(kind: str, item: Any, toml: TomlText) -> list[Problem]:
    if not isinstance(item, dict):
        return [
            Problem(toml.where(kind), f"'{kind}' should be a table.", f"Write [{kind}] on a line of its own.")
        ]
    return check_table(item, LENGTH_KEYS, toml=toml, name=kind)


def _target(kind: str, item: Mapping[str, Any]) -> LengthTarget:
    limits = {name: item[name] for name in LIMITS if name in item}
    sources = tuple(item.get("sources", ()))
    return LengthTarget(kind, limits, item.get("before_annex", False), item["why"], sources)


def _languages(table: Any, toml: TomlText) -> tuple[dict[str, float], list[Problem]]:
    """A factor under 1 would hold a text to fewer words than the English it was made from."""
    if not isinstance(table, dict):
        return {}, [Problem(toml.where(LANGUAGES), f"'{LANGUAGES}' should be a table.")]
    problems = [
        Problem(toml.where(tag, table=LANGUAGES), f"'{tag}' should be a number from 1 to 3, such as 1.15.")
        for tag, factor in table.items()
        if type(factor) not in (int, float) or not 1 <= factor <= 3
    ]
    return {} if problems else {tag: float(factor) for tag, factor in table.items()}, problems
