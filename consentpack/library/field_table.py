"""field.toml and regions.toml: what a field of medicine adds, and the places of the body."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.errors import Problem, did_you_mean
from consentpack.library.roots import MAY_BE_LEFT_OUT
from consentpack.model import Field, Measurement, Region, Stratum, TechniqueKind
from consentpack.strict import Key, TomlText, check_table, load_toml, named_tables

ROLES = ("treats", "numbs")
PLACED_BY = ("region", "indication")
"""Keys of plans that hold ids of the field, beside its strata."""
FIELD_KEYS: Mapping[str, Key] = {
    "name": Key(str, "what the field is called"),
    "plan_keys": Key(list, "which of region, indication and the strata every plan must say"),
    "topics": Key(
        list, "aftercare topics that every technique that treats must call for", refers_to="aftercare"
    ),
    "wound": Key(list, "aftercare topics on a wound and its dressing", False, refers_to="aftercare"),
    "may_not_work": Key(list, "outcomes that say it did not bring what was hoped for", refers_to="risks"),
    "checklists": Key(list, "published checklists that apply", required=False),
    "nothing_in": Key(
        list, "tables in which this field has nothing, and which it therefore lacks", False, MAY_BE_LEFT_OUT
    ),
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
    "synonyms": Key(list, "what clinics call its column in a spreadsheet", required=False),
    "sources": Key(list, "where it comes from", False, refers_to="sources"),
    "numbered": Key(bool, "whether a number may be typed for the value in that place", required=False),
}
MEASUREMENT_KEYS: Mapping[str, Key] = {
    "title": Key(str, "its name for clinicians, in small letters"),
    "usual": Key(list, "the least and the most that are usual", required=False, numbers=True),
    "why": Key(str, "what 'usual' rests on", required=False),
    "unit": Key(str, "what may stand behind the number in a cell", required=False),
    "whole": Key(bool, "whether only whole numbers are right", required=False),
    "synonyms": Key(list, "what clinics call its column in a spreadsheet", required=False),
}
PHRASE_KEYS: Mapping[str, Key] = {
    "no_promise": Key(str, "what the patient ticks: nobody can promise how it will turn out"),
    "closest": Key(str, "where the closest figure comes from, with {total} and {time}"),
}
UNIT_KEYS: Mapping[str, Key] = {
    "one": Key(str, "the words for one, with {number}"),
    "many": Key(str, "the words for many, with {number}"),
    "material": Key(bool, "whether it is what was used, so no person, treatment or place", required=False),
}
SAMPLE_KEYS: Mapping[str, Key] = {
    "site": Key(str, "a place, as plans name it"),
    "condition": Key(str, "what is treated, as plans say it"),
    "reason": Key(str, "why, as plans say it"),
    "clinician_role": Key(str, "who treats, as plans say it"),
}
FIELD_TABLES: Mapping[str, Mapping[str, Key]] = {
    "field": FIELD_KEYS,
    "kinds": KIND_KEYS,
    "indications": MEANING_KEYS,
    "traits": MEANING_KEYS,
    "strata": STRATUM_KEYS,
    "measurements": MEASUREMENT_KEYS,
    "units": UNIT_KEYS,
    "phrases": PHRASE_KEYS,
    "sample": SAMPLE_KEYS,
    "renamed": {},
    "renamed_keys": {},
    "renamed_groups": {},
}
_AREA = 4
"""Numbers that say where something lies on the outline of a body."""
REGION_KEYS: Mapping[str, Key] = {
    "title": Key(str, "plain words inside a sentence, such as 'the cheek'"),
    "within": Key(str, "the larger region it belongs to", required=False),
    "words": Key(list, "places a clinic may write that lie in it", required=False),
    "drawn": Key(
        str, "where it lies on the outline: its middle, half its width and height, as '230 126 16 15'", False
    ),
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
    for name in ("phrases", "sample") if head else ():
        problems += check_table(data.get(name, {}), FIELD_TABLES[name], toml=toml, name=name)
    for name in ("kinds", "indications", "traits", "strata", "measurements", "units"):
        for id, item in data.get(name, {}).items():
            if not isinstance(item, dict):
                problems.append(Problem(toml.where(id), f"'{id}' should be a table, [{name}.{id}]."))
            else:
                problems += check_table(item, FIELD_TABLES[name], toml=toml, name=f"{name}.{id}")
    problems = problems or _check_plan_keys(head, data, toml)
    return (_field(data), []) if not problems else (Field(), problems)


def _check_plan_keys(head: Mapping[str, Any], data: Mapping[str, Any], toml: TomlText) -> list[Problem]:
    known = (*PLACED_BY, *data.get("strata", {}))
    return [
        Problem(
            toml.where("plan_keys", key),
            f"'{key}' is no key of plans that a field may ask for.",
            did_you_mean(key, known) or f"There are: {', '.join(known)}.",
        )
        for key in head["plan_keys"]
        if key not in known
    ]


def _field(data: Mapping[str, Any]) -> Field:
    head = _with_tuples(data["field"])
    return Field(
        **head,
        kinds={id: TechniqueKind(id, **item) for id, item in data.get("kinds", {}).items()},
        indications={id: item["meaning"] for id, item in data.get("indications", {}).items()},
        traits={id: item["meaning"] for id, item in data.get("traits", {}).items()},
        sentences=data.get("phrases", {}),
        units={id: (item["one"], item["many"]) for id, item in data.get("units", {}).items()},
        materials=tuple(id for id, item in data.get("units", {}).items() if item.get("material")),
        sample=data.get("sample", {}),
        renamed=data.get("renamed", {}),
        renamed_keys=data.get("renamed_keys", {}),
        renamed_groups=data.get("renamed_groups", {}),
        strata={id: Stratum(id, **_with_tuples(item)) for id, item in data.get("strata", {}).items()},
        measurements={
            id: Measurement(id, **_with_tuples(item)) for id, item in data.get("measurements", {}).items()
        },
    )


def _with_tuples(item: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in item.items()}


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
        if region.drawn and len(region.area) != _AREA:
            what = f"'drawn' is '{region.drawn}', and should be four whole numbers."
            problems.append(
                Problem(where, what, "Across, down, half its width, half its height: '230 126 16 15'.")
            )
    return problems


def chain(id: str, known: Mapping[str, Region]) -> tuple[str, ...]:
    """A region and every larger one around it, the smallest first."""
    found: list[str] = []
    while id in known and id not in found:
        found.append(id)
        id = known[id].within
    return tuple(found)
