"""consent_rules.toml: what laws and bodies ask about time to think, age and who takes consent."""

from __future__ import annotations

from collections.abc import Mapping

from consentpack.errors import Problem
from consentpack.model import ConsentRule
from consentpack.strict import Key, TomlText, check_table, load_toml

TAKERS = ("operator", "trained")
RULE_KEYS: Mapping[str, Key] = {
    "where": Key(str, "the country and the kind of work"),
    "wait_days": Key(int, "days between information and consent or treatment; 0 for none"),
    "day_between": Key(bool, "true when treatment may not be on the day of consent"),
    "minimum_age": Key(int, "the lowest age"),
    "taken_by": Key(str, "who may take consent", allowed=TAKERS),
    "why": Key(str, "what is known of it, with marks"),
    "sources": Key(list, "where it comes from", refers_to="sources"),
}


def consent_rules(text: str, *, file: str) -> tuple[dict[str, ConsentRule], list[Problem]]:
    """The rules by name."""
    data, problems = load_toml(text, file=file)
    toml = TomlText(file, text)
    found = {}
    for id, item in data.items():
        if not isinstance(item, dict):
            problems.append(Problem(f"{file}, [{id}]", "should be a table."))
            continue
        none = item.get("wait_days") == 0  # no waiting time is a rule too
        wrong = check_table({**item, "wait_days": 1} if none else item, RULE_KEYS, toml=toml, name=id)
        problems += wrong
        if not wrong:
            found[id] = ConsentRule(id, **{**item, "sources": tuple(item["sources"])})
    return found, problems
