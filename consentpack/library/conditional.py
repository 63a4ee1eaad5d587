"""Conditions in content files: where they stand, and whether every fact they name exists."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from consentpack.conditions import BadCondition, parse
from consentpack.errors import Problem, did_you_mean
from consentpack.library.draft import Draft
from consentpack.library.field_table import check_regions
from consentpack.library.modules import blocks_of
from consentpack.library.schema import PLAN_FACTS, TRAITS
from consentpack.model import DocumentPlan, Module
from consentpack.strict import TomlText

OLD_NAMES = {
    "anaesthetic-planned": "plan:numbing",
    "may-become-necessary": "plan:may-become-necessary",
    "newer-planned": "plan:newer",
    "factors-present": "plan:factors",
    "tissue-removed": "trait:removes-tissue",
}
"""How conditions were named before they became facts: a clinic's own documents may still say so."""

Known = Mapping[str, Collection[str]]
"""Key of a fact -> the values there are."""


@dataclass(frozen=True)
class Standing:
    """One condition where it stands."""

    line: int
    what: str
    """What it decides about: the module, a section, or the first words of a text."""
    text: str


def conditions_of(module: Module) -> Iterator[Standing]:
    """Every condition of a module or document; those of front matter with line 0."""
    if module.only:
        yield Standing(0, "the whole module", module.only)
    if implied := getattr(module, "implied_by", ""):
        yield Standing(0, "whether it is true", implied)
    for heading, text in module.when.items():
        yield Standing(0, f"the section “{heading}”", text)
    for block in blocks_of(module):
        for item in block.items:
            if item.only:
                yield Standing(item.line, f"“{shortened(item.text)}”", item.only)


def shortened(text: str, *, most: int = 50) -> str:
    """The beginning of a text, whole words."""
    return text if len(text) <= most else text[:most].rsplit(" ", 1)[0] + " …"


def known_facts(tables: Draft) -> Known:
    """Every fact that a condition may name."""
    medicine = tables.medicine

    def there(folder: str) -> set[str]:
        """Half-written ones are there too: a rule that names one must not stop every pack."""
        return {*tables.modules[folder], *(id for where, id in tables.unread if where == folder)}

    return {
        "technique": there("techniques"),
        "kind": medicine.kinds,
        "trait": {**TRAITS, **medicine.traits},
        "region": tables.regions,
        "indication": medicine.indications,
        "factor": there("factors"),
        "plan": PLAN_FACTS,
        **{id: stratum.values for id, stratum in medicine.strata.items()},
    }


def check_conditions(module: Module, known: Known, toml: TomlText) -> list[Problem]:
    """What is wrong with the conditions of a module, and with what it names of its field."""
    problems = []
    for each in conditions_of(module):
        where = f"{module.file}, line {each.line}" if each.line else _where(module, each, toml)
        problems += _wrong(each.text, where, known)
    return problems + _headings(module, toml) + _of_field(module, known, toml)


def check_rules(tables: Draft, known: Known) -> list[Problem]:
    """What is wrong with the rules of suitability and the longer times."""
    problems = check_regions(tables.regions, file=tables.files.get("regions.toml", ""))
    for rule in tables.suitability.values():
        where = f"{tables.files.get('suitability.toml', '')}, [{rule.id}]"
        problems += [p for fact in rule.most for p in _unknown(fact, where, known)]
        problems += _wrong(rule.when, where, known)
    for wait in tables.waits.values():
        where = f"{tables.files.get('waits.toml', '')}, [{wait.id}]"
        problems += _wrong(wait.when, where, known)
        for name in (wait.setting, wait.longer):
            if name not in tables.settings:
                near = did_you_mean(name, tables.settings)
                problems.append(Problem(where, f"there is no care setting '{name}'.", near))
    return problems


def _where(module: Module, each: Standing, toml: TomlText) -> str:
    key = next((k for k in ("only", "implied_by") if getattr(module, k, "") == each.text), "when")
    return toml.where(key, each.text)


def _wrong(text: str, where: str, known: Known) -> list[Problem]:
    if text in OLD_NAMES:
        what = f"'{text}' is how conditions were written before."
        return [Problem(where, what, f'Write "{OLD_NAMES[text]}".')]
    try:
        condition = parse(text)
    except BadCondition as error:
        return [Problem(where, f"the condition '{text}' {error}.")]
    return [problem for atom in condition.atoms for problem in _unknown(atom, where, known)]


def _unknown(atom: str, where: str, known: Known) -> list[Problem]:
    key, _, value = atom.partition(":")
    if key not in known:
        fix = did_you_mean(key, known) or f"Facts begin with: {', '.join(known)}."
        return [Problem(where, f"no fact begins with '{key}:'.", fix)]
    if value not in known[key]:
        fix = did_you_mean(value, known[key]) or f"There are: {', '.join(sorted(known[key]))}."
        return [Problem(where, f"there is no {key} '{value}'.", fix)]
    return []


def _headings(module: Module, toml: TomlText) -> list[Problem]:
    """A condition for a section that is not there would be for nothing."""
    there = [p.heading for p in module.parts] if isinstance(module, DocumentPlan) else list(module.sections)
    return [
        Problem(
            toml.where(heading, table="when"),
            f"'when' names the section '{heading}', which is not there.",
            did_you_mean(heading, there),
        )
        for heading in module.when
        if heading not in there
    ]


def _of_field(module: Module, known: Known, toml: TomlText) -> list[Problem]:
    """Kinds, indications and traits of a module that its field does not have."""
    problems = []
    for key, fact in (("kind", "kind"), ("indications", "indication"), ("traits", "trait")):
        named = getattr(module, key, ())
        for value in (named,) if isinstance(named, str) else named:
            if value not in known[fact]:
                where = toml.where(key, value)
                fix = did_you_mean(value, known[fact]) or f"There are: {', '.join(sorted(known[fact]))}."
                problems.append(Problem(where, f"field.toml has no {fact} '{value}'.", fix))
    return problems
