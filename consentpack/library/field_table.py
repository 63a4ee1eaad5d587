"""field.toml and regions.toml: what a field of medicine adds, and the places of the body."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.errors import Problem, did_you_mean
from consentpack.model import Field, Region, Stratum, TechniqueKind
from consentpack.strict import Key, TomlText, check_table, load_toml, named_tables

ROLES = ("treats", "numbs")
FIELD_KEYS: Mapping[str, Key] = {
    "name": Key(str, "what the field is called"),
    "topics": Key(list, "aftercare topics that every sheet needs", False, refers_to="aftercare"),
    "may_not_work": Key(list, "outcomes that say it did not bring what was hoped for", refers_to="risks"),
    "checklists": Key(list, "published checklists that apply", required=False),
}
KIND_KEYS: Mapping[str, Key] = {
    "meaning": Key(str, "what techniques of this kind are for"),
    "role": Key(str, "whether they treat, or numb for what treats", allowed=ROLES),
}
MEANING_KEYS: Mapping[str, Key] = {"meaning": Key(str, "what it means, for clinicians")}
STRATUM_KEYS: Mapping[str, Key] = {
    "title": Key(str, "its name for clinicians, in small letters"),
    "values": Key(list, "every value there is, in order"),
    "meaning": Key(str, "how the values are told apart, with its source"),
    "sources": Key(list, "where it comes from", False, refers_to="sources"),
}
FIELD_TABLES: Mapping[str, Mapping[str, Key]] = {
    "field": FIELD_KEYS,
    "kinds": KIND_KEYS,
    "indications": MEANING_KEYS,
    "traits": MEANING_KEYS,
    "strata": STRATUM_KEYS,
    "renamed": {},
}
REGION_KEYS: Mapping[str, Key] = {
    "title": Key(str, "plain words inside a sentence, such as 'the cheek'"),
    "within": Key(str, "the larger region it belongs to", required=False),
    "words": Key(list, "places a clinic may write that lie in it", required=False),
    "nerves": Key(str, "nerves at risk here, for the clinician", required=False),
    "supply": Key(str, "what its blood supply means, for the clinician", required=False),
    "sources": Key(list, "where it comes from", False, refers_to="sources"),
}


def field(text: str, *, file: str) -> tuple[Field, list[Problem]]:
    """The field of a content folder."""
    data, problems = load_toml(text, file=file)
    toml = TomlText(file, text)
    for name in data:
        if name not in FIELD_TABLES:
            fix = did_you_mean(name, FIELD_TABLES) or f"Tables here: {', '.join(FIELD_TABLES)}."
            problems.append(Problem(toml.where(name), f"there is no table [{name}].", fix))
    head = data.get("field", {})
    problems += check_table(head, FIELD_KEYS, toml=toml, name="field") if not problems else []
    for name in ("kinds", "indications", "traits", "strata"):
        for id, item in data.get(name, {}).items():
            if not isinstance(item, dict):
                problems.append(Problem(toml.where(id), f"'{id}' should be a table, [{name}.{id}]."))
            else:
                problems += check_table(item, FIELD_TABLES[name], toml=toml, name=f"{name}.{id}")
    return (_field(data), []) if not problems else (Field(), problems)


def _field(data: Mapping[str, Any]) -> Field:
    head: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in data["field"].items()}
    return Field(
        **head,
        kinds={id: TechniqueKind(id, **item) for id, item in data.get("kinds", {}).items()},
        indications={id: item["meaning"] for id, item in data.get("indications", {}).items()},
        traits={id: item["meaning"] for id, item in data.get("traits", {}).items()},
        renamed=data.get("renamed", {}),
        strata={
            id: Stratum(
                id, item["title"], tuple(item["values"]), item["meaning"], tuple(item.get("sources", ()))
            )
            for id, item in data.get("strata", {}).items()
        },
    )


def regions(text: str, *, file: str) -> tuple[dict[str, Region], list[Problem]]:
    """The regions by id."""
    found, problems = named_tables(text, REGION_KEYS, file=file)
    made = {id: Region(id, **item) for id, item in found.items()}
    return made, problems


def check_regions(known: Mapping[str, Region], *, file: str) -> list[Problem]:
    """Regions within one that is not there, or within themselves."""
    problems = []
    for region in known.values():
        where = f"{file}, [{region.id}]"
        if region.within and region.within not in known:
            what = f"it lies within '{region.within}', which is not there."
            problems.append(Problem(where, what, did_you_mean(region.within, known)))
        elif region.id in chain(region.within, known):
            problems.append(Problem(where, "it lies within itself."))
    return problems


def chain(id: str, known: Mapping[str, Region]) -> tuple[str, ...]:
    """A region and every larger one around it, the smallest first."""
    found: list[str] = []
    while id in known and id not in found:
        found.append(id)
        id = known[id].within
    return tuple(found)
