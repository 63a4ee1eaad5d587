"""The plans of a clinic folder, each with where it stands: not built, built, given, signed, treated …"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from consentpack.errors import LedgerError, OutputError, PlanError, Problem, did_you_mean
from consentpack.files import digest_of
from consentpack.ledger import Standing
from consentpack.manifest import MANIFEST, PLAN_INPUT, documents_in
from consentpack.pipeline.given_list import issued
from consentpack.pipeline.kept_inputs import INPUTS, inputs_in
from consentpack.pipeline.ledgers import folder_name, given_folder, receipt_files
from consentpack.pipeline.place import Workplace, plans_in
from consentpack.strict import load_toml

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_WORDS = ("condition", "site", "clinician")
RESERVED = frozenset({"new", "unfinished", "paper"})
"""Names that no plan has in an address."""


@dataclass(frozen=True)
class Working:
    """The working pack of a plan, as its manifest says."""

    folder: Path
    documents: tuple[str, ...]
    """File names, in the order of the pack."""
    draft: tuple[str, ...]
    """Why patients may not have it; empty when they may."""
    made_from: str
    """The digest of the plan it was made from."""


@dataclass(frozen=True)
class PlanRow:
    """One plan and where it stands."""

    named: str
    """By what it is called in an address or after a command: its reference, or its file's name."""
    file: Path
    digest: str
    """Of the file as it was read."""
    data: Mapping[str, Any]
    """What stands in it, unchecked; empty where it is not TOML."""
    working: Working | None
    given: tuple[Standing, ...]
    """What was given of it, the oldest version first."""
    made_of: str = ""
    """The digest of the plan of which the newest version was given."""

    @property
    def reference(self) -> str:
        found = self.data.get("reference", "")
        return found if isinstance(found, str) else ""

    @property
    def techniques(self) -> tuple[str, ...]:
        return words_of(self.data, "planned")

    @property
    def state(self) -> str:
        """'not built', 'draft', 'built', or how the newest version that was given stands."""
        if self.given:
            return self.given[-1].state
        if self.working is None:
            return "not built"
        return "draft" if self.working.draft else "built"

    @property
    def version(self) -> int:
        """The newest version that was given; 0 for none."""
        return self.given[-1].given.version if self.given else 0

    @property
    def changed(self) -> bool:
        """Whether the plan was changed since its pack was built, or since it was given and is open."""
        if self.given:
            return self.given[-1].is_open and self.made_of not in ("", self.digest)
        return self.working is not None and self.working.made_from not in ("", self.digest)

    def speaks_of(self, words: str) -> bool:
        """Whether each of some words stands in its reference, file, techniques, place or condition."""
        said = [self.reference, self.file.stem, self.state, *self.techniques]
        said += [value for key in _WORDS if isinstance(value := self.data.get(key), str)]
        text = " ".join(said).casefold()
        return all(word in text for word in words.casefold().split())


def list_plans(place: Workplace, *, search: str = "") -> list[PlanRow]:
    """All plans of the clinic folder, or those that some words are found in, by reference.

    A file that cannot be read is among them, with nothing in `data`.
    """
    given = _given(place.folder)
    rows = [_row(place.folder, path, given) for path in plans_in(place.folder)]
    times: dict[str, int] = {}
    for row in rows:
        times[row.named] = times.get(row.named, 0) + 1
    # two files under one reference: each is called by its file, so that each has an address
    found = [row if times[row.named] == 1 else _by_file(row) for row in rows]
    return sorted((row for row in found if row.speaks_of(search)), key=lambda row: row.named)


def plan_row(place: Workplace, named: str) -> PlanRow:
    """One plan by its reference, or by its file's name without .toml. Never a path: what is asked for by an
    address of the desk must lie in plans/. Raises PlanError."""
    rows = list_plans(place)
    for by in ("named", "reference"):
        found = [row for row in rows if getattr(row, by) == named]
        if len(found) == 1:
            return found[0]
    found = [row for row in rows if row.file.stem == named]
    if found:
        return found[0]
    fix = did_you_mean(named, [row.named for row in rows]) or "The list of patients has all plans."
    raise PlanError(Problem(named, "there is no plan of this name or reference.", fix))


def plan_at(place: Workplace, file: Path) -> PlanRow:
    """The plan of a file of the list. Raises PlanError where it is gone."""
    found = next((row for row in list_plans(place) if row.file == file), None)
    return found or plan_row(place, file.stem)


def known_words(place: Workplace, rows: Iterable[PlanRow]) -> dict[str, tuple[str, ...]]:
    """Key of plans -> words that the clinic has used there, for a list to choose from; places from its
    settings and the library too."""
    library, clinic, rows = place.library, place.clinic, tuple(rows)
    before = {"site": (*clinic.site_groups, *(w for r in library.regions.values() for w in r.words))}
    before["clinician"] = clinic.people
    return {key: tuple(dict.fromkeys((*before.get(key, ()), *_used(rows, key)))) for key in _OFFERED}


_OFFERED = ("site", "condition", "clinician", "clinician_role")


def _used(rows: Iterable[PlanRow], key: str) -> tuple[str, ...]:
    return tuple(value for row in rows if isinstance(value := row.data.get(key), str))


def paper(folder: Path, name: str) -> bytes:
    """A document of a working or given pack, as it lies there. Raises OutputError for what is none of it."""
    path = folder / name
    manifest = folder / MANIFEST
    listed = documents_in(manifest.read_bytes()) if manifest.is_file() else {}
    if name not in listed or Path(name).name != name or not path.is_file():
        raise OutputError(Problem(name, "there is no such document in this pack.", "Make the pack again."))
    return path.read_bytes()


def given_paper(clinic: Path, reference: str, version: int, name: str) -> bytes:
    """A document as it was given. Raises OutputError for what is none of it."""
    return paper(given_folder(clinic, reference, version), name)


def papers_in(folder: Path) -> tuple[str, ...]:
    """The documents of a pack that are there, as its manifest lists them."""
    manifest = folder / MANIFEST
    listed = documents_in(manifest.read_bytes()) if manifest.is_file() else {}
    return tuple(name for name in listed if Path(name).name == name and (folder / name).is_file())


def words_of(data: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """The words of a list in a plan that nobody has checked yet."""
    found = data.get(key)
    return tuple(each for each in found if isinstance(each, str)) if isinstance(found, list) else ()


def _by_file(row: PlanRow) -> PlanRow:
    return PlanRow(row.file.stem, row.file, row.digest, row.data, row.working, row.given, row.made_of)


def _given(folder: Path) -> dict[str, list[Standing]]:
    try:
        found = issued(folder)
    except LedgerError:
        if any(receipt_files(folder)):
            raise  # packs were given, and their ledger is gone
        found = []
    by_reference: dict[str, list[Standing]] = {}
    for each in found:
        by_reference.setdefault(each.given.reference, []).append(each)
    return by_reference


def _row(folder: Path, path: Path, given: Mapping[str, list[Standing]]) -> PlanRow:
    try:
        written = path.read_bytes()
        data, _ = load_toml(written.decode("utf-8-sig"), file=path.name)
    except (OSError, UnicodeDecodeError):
        written, data = b"", {}
    reference = data.get("reference") if isinstance(data.get("reference"), str) else ""
    named = reference if reference and _PLAIN.fullmatch(reference) else path.stem
    named = path.stem if named in RESERVED else named
    standing, made_of = tuple(given.get(reference or "", ())), ""
    if standing:
        last = standing[-1].given
        plan_name, made_of = _kept(given_folder(folder, last.reference, last.version))
        if plan_name not in ("", path.name):
            standing, made_of = (), ""  # given from another plan: it is told when this one is given
    working = _working(folder, reference, path.name) if reference else None
    return PlanRow(named, path, digest_of(written), data, working, standing, made_of)


def _kept(folder: Path) -> tuple[str, str]:
    """The name and the digest of the plan from which a pack was given; '' where nobody can read that."""
    try:
        kept = inputs_in((folder / INPUTS).read_bytes())
    except (OSError, ValueError, LedgerError):
        return "", ""
    return kept.plan_name, kept.plan


def _working(folder: Path, reference: str, plan_name: str) -> Working | None:
    """The pack in packs/ that was made from this plan; None where there is none, or it is another's."""
    pack = folder / "packs" / folder_name(reference)
    try:
        found = json.loads((pack / MANIFEST).read_bytes())
        made_from = found["inputs"].get(f"{PLAN_INPUT}{plan_name}", "")
        draft = tuple(map(str, found["draft"]))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    return Working(pack, papers_in(pack), draft, made_from) if made_from else None
