"""A rule, what it finds, and the list of all rules."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from consentpack.accessibility.file import WordFile


@dataclass(frozen=True)
class Fault:
    """What a rule saw in one place."""

    where: str
    """Part, paragraph or table as a person would count them, with the first words."""
    what: str
    fix: str


@dataclass(frozen=True)
class Finding:
    """A fault with the rule it breaks and the rule's published source."""

    rule: str
    where: str
    what: str
    fix: str
    source: str


Check = Callable[["WordFile"], Iterator[Fault]]


@dataclass(frozen=True)
class Rule:
    """What is asked of a file, by whom, and the function that looks."""

    id: str
    asks: str
    source: str
    check: Check

    def findings(self, file: WordFile) -> Iterator[Finding]:
        for fault in self.check(file):
            yield Finding(self.id, fault.where, fault.what, fault.fix, self.source)


RULES: dict[str, Rule] = {}
"""Id -> rule, in the order in which they are reported."""


def rule(id: str, asks: str, *sources: str) -> Callable[[Check], Check]:
    """Put a function among the rules."""

    def put(check: Check) -> Check:
        RULES[id] = Rule(id, asks, "; ".join(sources), check)
        return check

    return put


def wcag(criterion: str) -> str:
    """A success criterion. Clause 10 of EN 301 549 takes WCAG 2.1 A and AA over for documents."""
    return f"WCAG 2.1 SC {criterion} (EN 301 549 v3.2.1, clause 10.{criterion})"


US_LISTS = "US federal checklists for Word files (Dept of Education, CMS, SSA)"
UKAAF = "UKAAF G003 (2019)"
RNIB = "RNIB clear print"
ECMA = "ECMA-376 part 1"
PRACTICE = "common practice, no source"
