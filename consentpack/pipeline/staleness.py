"""Which given packs no longer tell what the clinic would tell now, while nobody was treated by them yet.

A figure has moved when what was printed lies outside the interval it has now, or when it is worse by the
rule of `WORSE_BY` and `WORSE_TIMES`: a change by which a patient might decide differently (common practice,
no source).
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from consentpack.approvals import key_of
from consentpack.assemble import told_figures
from consentpack.consent_rules import broken
from consentpack.errors import ConsentpackError
from consentpack.ledger import Standing
from consentpack.manifest import MANIFEST
from consentpack.model import Module, RateAnswer, Seen
from consentpack.pipeline.deciding import Decided, decide
from consentpack.pipeline.drafting import inputs_of
from consentpack.pipeline.given_list import Filter, issued
from consentpack.pipeline.kept_inputs import INPUTS, TOLD, inputs_in
from consentpack.pipeline.ledgers import given_folder
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.prepare import Prepared, Wanted, prepare
from consentpack.pipeline.sign_off import states_of
from consentpack.pipeline.stored import fetch

WORSE_BY = 0.05
"""5 more (of a harm) or fewer (of a gain) in 100."""
WORSE_TIMES = 1.5
"""Or half as many again, or fewer."""
RULES = {
    "suitability.toml": "what may be done together",
    "consent_rules.toml": "the rules of consent",
    "published_rates.csv": "published figures",
    "waits.toml": "times of the aftercare sheet",
}
"""Tables whose change is told by itself, the program's and the clinic's own, with what they hold."""


@dataclass(frozen=True)
class Moved:
    """One figure, then and now."""

    outcome: str
    name: str
    then: str
    """As the form told it; '' where it told none."""
    now: str
    why: str
    read: str = ""
    """As it was told, in the language the patient read it in."""


@dataclass(frozen=True)
class Stale:
    """A pack, and all that has changed since it was given."""

    standing: Standing
    figures: tuple[Moved, ...] = ()
    texts: tuple[str, ...] = ()
    """Texts of the library that it holds and that were changed or withdrawn, each with what happened."""
    rules: tuple[str, ...] = ()
    """Rules that were changed, or that it would break now."""

    @property
    def is_stale(self) -> bool:
        return bool(self.figures or self.texts or self.rules)


def stale(
    place: Workplace, *, today: date, reference: str = "", progress: Callable[[str], None] = lambda _: None
) -> list[Stale]:
    """The given packs that are open and no longer hold; with a `reference`, those of it alone."""
    found = issued(place.folder, Filter(open_only=True))
    chosen = [each for each in found if reference in ("", each.given.reference)]
    seen = []
    for each in chosen:
        progress(f"looking at {each.given.reference}, version {each.given.version}")
        seen.append(_looked_at(place, each, today))
    return [each for each in seen if each.is_stale]


def _looked_at(place: Workplace, standing: Standing, today: date) -> Stale:
    """A given pack beside what its own plan, as it was kept, would tell now."""
    given = standing.given
    folder = given_folder(place.folder, given.reference, given.version)
    with tempfile.TemporaryDirectory(prefix="consentpack-") as temporary:
        try:
            kept = inputs_in((folder / INPUTS).read_bytes())
            plan = Path(temporary) / kept.plan_name
            plan.write_bytes(fetch(place.folder, kept.plan))
        except (OSError, ConsentpackError) as error:
            return Stale(standing, rules=(f"what was given cannot be read: {error}",))
        return compared(place, plan, standing, clinic=place.folder, today=today, count_to=today)


def compared(
    place: Workplace,
    plan: Path,
    standing: Standing,
    *,
    clinic: Path,
    today: date,
    count_to: date | None = None,
    language: str = "",
) -> Stale:
    """A given pack of a clinic folder beside what a plan would tell now, in its language or another.

    Figures are counted up to the day of the plan, or to another.
    """
    given = standing.given
    folder = given_folder(clinic, given.reference, given.version)
    try:
        manifest = json.loads((folder / MANIFEST).read_bytes())
        told = json.loads((folder / TOLD).read_bytes())
    except (OSError, ValueError) as error:
        return Stale(standing, rules=(f"what was given cannot be read: {error}",))
    try:
        prepared = prepare(place, plan, Wanted(today, language or str(given.more.get("language", ""))))
        decided = decide(_as_of(prepared, count_to or prepared.plan.prepared))
    except ConsentpackError as error:
        return Stale(standing, rules=tuple(f"it could not be given now: {p.what}" for p in error.problems))
    return Stale(
        standing,
        tuple(_figures(manifest, told, prepared, decided)),
        tuple(_texts(place, manifest, prepared, today)),
        tuple(_rules(place, manifest, prepared)),
    )


def _as_of(prepared: Prepared, day: date) -> Prepared:
    """The plan as if it were made on a day: figures are counted up to it."""
    return replace(prepared, plan=replace(prepared.plan, prepared=day))


# --- figures ----------------------------------------------------------------------------------------


def _figures(
    manifest: Mapping[str, Any], told: Mapping[str, Any], prepared: Prepared, decided: Decided
) -> Iterator[Moved]:
    own = replace(inputs_of(prepared, decided), catalogue=prepared.own, checked=())
    now = told_figures(own)
    before = {each["outcome"]: _share_then(each) for each in manifest["rates"]}
    for id in sorted({*before, *decided.rates}):
        then = told.get(id, {})
        name, words = now.get(id, (str(then.get("name", id)), ""))
        why = _why(before.get(id), decided.rates.get(id), harm=id in prepared.place.library.risks)
        if id not in before:
            why = "it was not told of"
        if why:
            yield Moved(id, name, str(then.get("told", "")), words, why, str(then.get("read", "")))


def _share_then(told: Mapping[str, Any]) -> float | None:
    """The share that was told of an outcome, in 100 or as a count; None where none was."""
    if told["quoted"]:
        return float(told["quoted"]["proportion"])
    if counts := told["told_as_counts"] and told["told_as_counts"]["counts"]:
        return float(counts["events"] / counts["watched"])
    return None


def _why(then: float | None, answer: RateAnswer | None, *, harm: bool) -> str:
    """Why a figure must be told again; '' where it need not be."""
    if answer is None:
        return "it is not told of any more"
    now = answer.rate or answer.seen
    if then is None and now is None:
        return ""
    if then is None or now is None:
        return "there is a figure now" if then is None else "there is no reliable figure any more"
    old, new = then, now.events / now.n if isinstance(now, Seen) else now.proportion
    if _worse(old, new) if harm else _worse(new, old):
        return "it is worse now"
    if not now.interval.low - _ROUNDED <= old <= now.interval.high + _ROUNDED:
        return "what was told lies outside what is likely now"
    return ""


_ROUNDED = 1e-6
"""The manifest keeps six places."""


def _worse(old: float, new: float) -> bool:
    """Whether there is so much more of it that it must be said."""
    return new - old >= WORSE_BY - _ROUNDED or (new > old + _ROUNDED and new >= WORSE_TIMES * old)


# --- texts and rules --------------------------------------------------------------------------------


def _texts(place: Workplace, manifest: Mapping[str, Any], prepared: Prepared, today: date) -> Iterator[str]:
    inputs: Mapping[str, str] = manifest["inputs"]
    modules = {key_of(module.file): module for _, module in place.library.modules()}
    used: dict[str, Module] = {}
    for file, digest in inputs.items():
        if not file.endswith(".md"):
            continue
        key = key_of(file)
        module = modules.get(key)
        if module is None:
            yield f"{key}: withdrawn"
        elif module.digest != digest:
            yield f"{key}: changed"
        else:
            used[module.file] = module
    found = states_of(place, used, prepared.catalogue, approvals=prepared.approvals, today=today)
    yield from sorted(f"{s.module}: {s.state}" for s in found.values() if s.state != "approved")


def _rules(place: Workplace, manifest: Mapping[str, Any], prepared: Prepared) -> Iterator[str]:
    now = {place.named(name): digest for name, digest in place.library.digests.items()}
    for table, what in RULES.items():
        then, there = (_tables(found, table) for found in (manifest["inputs"], now))
        for name in sorted(name for name in {*then, *there} if then.get(name) != there.get(name)):
            yield f"{what} ({name}): changed"
    yield from (problem.what for problem in broken(prepared.plan, place.clinic, place.library))


def _tables(digests: Mapping[str, str], table: str) -> dict[str, str]:
    """A table of ours, of a field and of the clinic's own -> its digest."""
    return {name: digest for name, digest in digests.items() if name.rsplit("/", 1)[-1] == table}
