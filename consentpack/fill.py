"""Placeholders: strict and sandboxed.

Prose may hold bare names with dots, `{{ clinic.phone }}`, or one call with one quoted word,
`{{ rate('bruising') }}`. Everything else is refused when the library is read, long before a patient
is waiting. Text is split into runs before it is filled (see `markdown.runs`), so a value is only
ever words: it cannot open a heading, a list or bold text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from jinja2 import StrictUndefined, TemplateSyntaxError, UndefinedError, nodes
from jinja2.exceptions import SecurityError
from jinja2.sandbox import SandboxedEnvironment

_ENVIRONMENT = SandboxedEnvironment(undefined=StrictUndefined, autoescape=False)


@dataclass(frozen=True)
class Placeholder:
    """One placeholder as written: a dotted name, and the word of a call ('' for a bare name)."""

    name: str
    word: str = ""

    def __str__(self) -> str:
        return f"{self.name}('{self.word}')" if self.word else self.name


class NotAPlaceholder(ValueError):
    """The braces hold something other than a name or a call with one quoted word."""


@lru_cache(maxsize=4096)
def placeholders(text: str) -> tuple[Placeholder, ...]:
    """The placeholders in some text, in order.

    Raises NotAPlaceholder, with a sentence that says what was found.
    """
    if "{" not in text:
        return ()
    if "{%" in text or "{#" in text:
        raise NotAPlaceholder("'{%' and '{#' are not allowed in prose; conditions go in front matter")
    if "{{-" in text or "-}}" in text:
        raise NotAPlaceholder("'{{-' and '-}}' would glue words together")
    try:
        tree = _ENVIRONMENT.parse(text)
    except TemplateSyntaxError as error:
        raise NotAPlaceholder(f"the braces cannot be read ({error.message})") from None
    except (RecursionError, ValueError):  # braces in braces; numbers of thousands of digits
        raise NotAPlaceholder("the braces hold more than can be read") from None
    return tuple(
        _placeholder(node)
        for output in tree.find_all(nodes.Output)
        for node in output.nodes
        if not isinstance(node, nodes.TemplateData)
    )


def _placeholder(node: nodes.Node) -> Placeholder:
    if isinstance(node, nodes.Call) and isinstance(node.node, nodes.Name):
        word = _word(node.args[0]) if len(node.args) == 1 else ""
        if word and not node.kwargs and not node.dyn_args and not node.dyn_kwargs:
            return Placeholder(node.node.name, word)
    elif name := _dotted(node):
        return Placeholder(name)
    raise NotAPlaceholder("the braces hold more than a name or a call with one quoted word")


def _word(node: nodes.Node) -> str:
    """A quoted word; '' for anything else."""
    return node.value if isinstance(node, nodes.Const) and isinstance(node.value, str) else ""


def _dotted(node: nodes.Node) -> str:
    if isinstance(node, nodes.Name):
        return node.name
    if isinstance(node, nodes.Getattr):
        inner = _dotted(node.node)
        return f"{inner}.{node.attr}" if inner else ""
    return ""


@lru_cache(maxsize=4096)
def _template(text: str) -> Any:
    return _ENVIRONMENT.from_string(text)


class Unfilled(ValueError):
    """A placeholder has no value."""


@dataclass(frozen=True)
class Filler:
    """Fills placeholders from nested mappings."""

    values: Mapping[str, Mapping[str, str]]
    calls: Mapping[str, Callable[[str], str]] = field(default_factory=dict)

    def fill(self, text: str) -> str:
        """`text` with its placeholders filled. Raises Unfilled when one has no value."""
        if "{{" not in text:
            return text
        try:
            placeholders(text)  # refuses what is no placeholder before anything is run
        except NotAPlaceholder as error:  # only a translation: originals are refused when they are read
            raise Unfilled(str(error)) from None
        try:
            return str(_template(text).render(**self.values, **self.calls))
        except (UndefinedError, SecurityError, TypeError, KeyError) as error:
            raise Unfilled(str(error)) from None
