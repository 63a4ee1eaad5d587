"""When a piece of content belongs: a small language of facts joined by and, or, not.

`region:arm and (trait:leaves-material or technique:dermal-graft)` is data beside the prose, so that a
check can find a condition that names nothing, and `--show matches` can say why a block is in or out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

Facts = frozenset[str]
"""What is true of one plan, each as 'key:value'."""

_TOKEN = re.compile(r"\s*(?:(?P<atom>[a-z][a-z_]*:[A-Za-z0-9][\w.-]*)|(?P<word>[()]|[^\s()]+))")
_JOINS = ("and", "or")
DEEPEST = 20
"""Brackets inside brackets; more are a slip, and would exhaust the reader."""


class BadCondition(ValueError):
    """A condition that cannot be read; the text finishes 'the condition …'."""


@dataclass(frozen=True)
class Fact:
    """One thing that is true of a plan or not."""

    name: str

    def holds(self, facts: Facts) -> bool:
        return self.name in facts

    def atoms(self) -> Iterator[str]:
        yield self.name


@dataclass(frozen=True)
class Not:
    """What must not be true."""

    inner: Node

    def holds(self, facts: Facts) -> bool:
        return not self.inner.holds(facts)

    def atoms(self) -> Iterator[str]:
        yield from self.inner.atoms()


@dataclass(frozen=True)
class Joined:
    """Several parts, of which all ('and') or at least one ('or') must hold."""

    how: str
    parts: tuple[Node, ...]

    def holds(self, facts: Facts) -> bool:
        enough: Callable[[Iterator[bool]], bool] = all if self.how == "and" else any
        return enough(part.holds(facts) for part in self.parts)

    def atoms(self) -> Iterator[str]:
        for part in self.parts:
            yield from part.atoms()


Node = Fact | Not | Joined


@dataclass(frozen=True)
class Condition:
    """A condition as it was written, and what it means."""

    text: str
    node: Node

    def holds(self, facts: Facts) -> bool:
        return self.node.holds(facts)

    @property
    def atoms(self) -> tuple[str, ...]:
        """Every fact it names, each once, in order."""
        return tuple(dict.fromkeys(self.node.atoms()))

    def why(self, facts: Facts) -> str:
        """The facts that decided, for a person: 'region:arm, not trait:stitches'."""
        return ", ".join(name if name in facts else f"not {name}" for name in self.atoms)


@lru_cache(maxsize=2048)
def parse(text: str) -> Condition:
    """The condition in a text. Raises BadCondition."""
    words = list(_words(text))
    if not words:
        raise BadCondition("is empty")
    node, rest = _either(words, 0)
    if rest:
        raise BadCondition(f"is not clear from '{rest[0]}' on; join facts with 'and' or 'or'")
    return Condition(" ".join(text.split()), node)


def _words(text: str) -> Iterator[str]:
    position, text = 0, text.rstrip()
    while position < len(text):
        found = _TOKEN.match(text, position)
        assert found  # whatever is not a fact is a word
        word = found.group("atom") or found.group("word")
        if not found.group("atom") and word not in ("(", ")", "not", *_JOINS):
            raise BadCondition(f"holds '{word}'; a fact is written as in 'region:arm'")
        yield word
        position = found.end()


def _either(words: list[str], depth: int) -> tuple[Node, list[str]]:
    """Parts joined by one kind of word: 'a and b or c' could be read two ways and is refused."""
    if depth > DEEPEST:
        raise BadCondition("has too many brackets inside one another")
    first, words = _single(words, depth)
    parts, how = [first], ""
    while words and words[0] in _JOINS:
        if how and words[0] != how:
            raise BadCondition("joins with 'and' and with 'or'; put brackets round one of them")
        how = words[0]
        part, words = _single(words[1:], depth)
        parts.append(part)
    return (Joined(how, tuple(parts)) if how else first), words


def _single(words: list[str], depth: int) -> tuple[Node, list[str]]:
    if not words or words[0] in (")", *_JOINS):
        raise BadCondition(
            "ends where a fact should follow" if not words else f"lacks a fact before '{words[0]}'"
        )
    word, rest = words[0], words[1:]
    if word == "not":
        if depth > DEEPEST:
            raise BadCondition("has too many brackets inside one another")
        node, rest = _single(rest, depth + 1)
        return Not(node), rest
    if word == "(":
        node, rest = _either(rest, depth + 1)
        if not rest or rest[0] != ")":
            raise BadCondition("has a bracket that is never closed")
        return node, rest[1:]
    return Fact(word), rest


def possible(condition: Condition, alternatives: list[Facts], free: set[str]) -> tuple[bool, bool]:
    """Whether a condition can hold, and whether it can fail.

    `alternatives` are the sets of facts of which one is true at a time (a hand is on the arm); `free`
    are facts that may each be true or not. Few facts stand in one condition, so all cases are tried.
    """
    named = [name for name in condition.atoms if name in free]
    outcomes = set()
    for base in alternatives or [frozenset()]:
        for number in range(2 ** len(named)):
            chosen = frozenset(name for bit, name in enumerate(named) if number >> bit & 1)
            outcomes.add(condition.holds(base | chosen))
            if len(outcomes) == 2:
                return True, True
    return True in outcomes, False in outcomes
