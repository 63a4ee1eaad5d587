"""consent_rules.toml: what laws and bodies ask about time to think, age and who takes consent."""

from __future__ import annotations

from collections.abc import Mapping

from consentpack.errors import Problem
from consentpack.model import ConsentRule
from consentpack.strict import Key, named_tables

TAKERS = ("operator", "trained")
RULE_KEYS: Mapping[str, Key] = {
    "where": Key(str, "the country and the kind of work"),
    "wait_days": Key(int, "days between information and consent or treatment; 0 for none", least=0),
    "day_between": Key(bool, "true when treatment may not be on the day of consent"),
    "minimum_age": Key(int, "the lowest age"),
    "taken_by": Key(str, "who may take consent", allowed=TAKERS),
    "why": Key(str, "what is known of it, with marks"),
    "sources": Key(list, "where it comes from", refers_to="sources"),
}


def consent_rules(text: str, *, file: str) -> tuple[dict[str, ConsentRule], list[Problem]]:
    """The rules by name."""
    found, problems = named_tables(text, RULE_KEYS, file=file)
    return {id: ConsentRule(id, **item) for id, item in found.items()}, problems
