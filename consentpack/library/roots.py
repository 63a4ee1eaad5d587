"""Which folders a library is read from, in order, and what of each: what is shipped for any field, a field
that is shipped beside the usual one, and the clinic's own content."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path

from consentpack.errors import ContentError, Problem
from consentpack.library.value import KINDS
from consentpack.shipped import of_then
from consentpack.strict import load_toml

TABLE_FILES = (
    "settings.toml", "glossary.toml", "published_rates.csv", "sources.json",
    "syllables.csv", "house_style.toml", "reading_targets.toml", "consent_rules.toml",
    "field.toml", "regions.toml", "suitability.toml", "waits.toml", "length_targets.toml",
    "tick_boxes.toml", "familiarity.toml",
)  # fmt: skip
OF_ANY_FIELD = (
    "documents", "sources.json", "syllables.csv", "house_style.toml", "reading_targets.toml",
    "consent_rules.toml", "length_targets.toml", "tick_boxes.toml",
    "familiarity.toml",
)  # fmt: skip
"""What of the shipped content belongs to no field of medicine: how documents are built and judged."""
OF_A_FIELD = tuple(name for name in TABLE_FILES if name not in OF_ANY_FIELD)
"""The tables that a field of medicine has, some of them perhaps with nothing in it."""
MAY_BE_LEFT_OUT = tuple(name for name in OF_A_FIELD if name not in ("field.toml", "regions.toml"))
"""Tables that a field may lack when its field.toml says so."""
USUAL = "usual"
"""What the field is called that a clinic works in when it names none."""
FIELDS, LOCALES = "fields", "locales"
"""Folders that hold no content of the library they lie in: other fields, and a field's translations."""


@dataclass(frozen=True)
class Root:
    """One content folder."""

    folder: Path
    shown: str
    """How files in it are called: 'content/'."""
    only: tuple[str, ...] = (*KINDS, *TABLE_FILES)
    """What of it is read."""
    needed: tuple[str, ...] = ()
    """What must be there."""
    aside: tuple[str, ...] = ()
    """What else may lie there."""
    whose: str = ""
    """'shared': what belongs to any field, without one; 'field': a shipped field; 'clinic'; '': both."""


def roots_of(shipped: Path, clinic: Path | None, *, field: str, own_field: bool) -> tuple[Root, ...]:
    """The folders of a library, those that go before others last. Raises ContentError.

    Of what an older program had, no table is missed: all it had was kept by digest, and what is not in that
    list did not exist then.
    """
    roots = [_shared(shipped) if field or own_field else _usual(shipped)]
    if field:
        folder, shown = shipped / FIELDS / field, f"content/{FIELDS}/{field}/"
        roots.append(Root(folder, shown, needed=OF_A_FIELD, aside=(LOCALES,), whose="field"))
    if clinic and clinic.is_dir():
        needed = OF_A_FIELD if own_field else ()
        roots.append(Root(clinic, f"{clinic.parent.name}/content/", needed=needed, whose="clinic"))
    for root in roots:
        if not root.folder.is_dir():
            raise ContentError(Problem(str(root.folder), "there is no content folder here."))
    return tuple(replace(root, needed=()) for root in roots) if of_then() else tuple(roots)


def _usual(shipped: Path) -> Root:
    return Root(shipped, "content/", needed=(*KINDS, *TABLE_FILES), aside=(FIELDS,))


def _shared(shipped: Path) -> Root:
    return Root(shipped, "content/", OF_ANY_FIELD, needed=OF_ANY_FIELD, aside=(FIELDS,), whose="shared")


def fields_there(shipped: Path) -> dict[str, str]:
    """The fields of medicine that are shipped, by name, the usual one first -> what each is called."""
    files = {path.parent.name: path for path in sorted((shipped / FIELDS).glob("*/field.toml"))}
    return {id: _called(path) for id, path in {USUAL: shipped / "field.toml", **files}.items()}


def _called(path: Path) -> str:
    data, _ = load_toml(path.read_text(encoding="utf-8"), file=path.name)
    return str(data.get("field", {}).get("name", ""))


def absent(root: Root, nothing_in: Collection[str]) -> list[Problem]:
    """What a whole library lacks. Read as empty, a lost table of what must not be done would allow all.

    `nothing_in`: the tables of which the field itself says that it has nothing in them.
    """
    fix = (
        "If there is nothing in it, leave it empty but for a comment or its header, or name it in nothing_in "
        "of field.toml; then that is known."
    )
    fix = fix if root.whose == "clinic" else "Install consentpack again: what is shipped is not whole."
    kind = {True: "folder", False: "table"}
    return [
        Problem(f"{root.shown}{name}", f"this {kind[name in KINDS]} is not there.", fix)
        for name in sorted(set(root.needed) - set(nothing_in))
        if not (root.folder / name).exists()
    ] + [
        Problem(f"{root.shown}{name}", "field.toml says that there is nothing in this.", "Take one away.")
        for name in nothing_in
        if root.needed and (root.folder / name).exists()
    ]
