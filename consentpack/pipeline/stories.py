"""The story of one reference: what was planned, said, done and seen, and first where these disagree."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from consentpack.errors import ConsentpackError, LedgerError, Problem, did_you_mean
from consentpack.files import digest_of
from consentpack.ledger import Connection, Entry, Standing, references, standings
from consentpack.pipeline.kept_inputs import INPUTS, TOLD, KeptInputs, inputs_in
from consentpack.pipeline.ledgers import given_folder, reading_ledger
from consentpack.pipeline.stored import fetch
from consentpack.plans import KEYS
from consentpack.register import Treatment, treatments_of
from consentpack.strict import dated, load_toml


@dataclass(frozen=True)
class Telling:
    """One version with what it told."""

    standing: Standing
    told: tuple[tuple[str, str], ...]
    """Each outcome by name, with its figure as the form told it."""
    folder: Path


@dataclass(frozen=True)
class Story:
    """Everything under one reference."""

    reference: str
    disagree: tuple[str, ...]
    """Where what was planned, said, done and recorded do not agree."""
    told: tuple[Telling, ...]
    treatments: tuple[Treatment, ...]
    """What the audit holds of it."""


def story(clinic: Path, reference: str) -> Story:
    """The story of a reference. Raises LedgerError where nothing was given under it."""
    with reading_ledger(clinic) as connection:
        found = tuple(standings(connection, reference=reference))
        if not found:
            there = references(connection)
            fix = did_you_mean(reference, there) or "`consentpack issued` lists what was given."
            raise LedgerError(Problem(reference, "nothing was given under this reference.", fix))
        treated = _treatments(connection, reference, found)
    told = tuple(_telling(clinic, each) for each in found)
    return Story(reference, tuple(_disagreements(clinic, found, treated)), told, treated)


def told_on(story: Story, day: date) -> Telling | None:
    """What somebody had been told by a day: the newest version given up to it."""
    upto = [each for each in story.told if each.standing.given.day <= day.isoformat()]
    return upto[-1] if upto else None


def _telling(clinic: Path, standing: Standing) -> Telling:
    given = standing.given
    folder = given_folder(clinic, given.reference, given.version)
    try:
        found = json.loads((folder / TOLD).read_bytes())
        told = tuple((str(each["name"]), str(each["told"])) for each in found.values())
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        told = ()  # `_plan` tells that it cannot be read
    return Telling(standing, told, folder)


def _treatments(connection: Connection, reference: str, found: Sequence[Standing]) -> tuple[Treatment, ...]:
    """What the audit holds under the case that was named with an entry; without one, under the reference."""
    named = [each.more["case"] for standing in found for each in standing.later if "case" in each.more]
    if not named:
        return treatments_of(connection, reference)
    wanted = {(str(case), int(session)) for case, session in named}
    cases = dict.fromkeys(case for case, _ in sorted(wanted))
    return tuple(
        t for case in cases for t in treatments_of(connection, case) if (t.case, t.session) in wanted
    )


# --- where they disagree ----------------------------------------------------------------------------


def _disagreements(clinic: Path, found: Sequence[Standing], treatments: Sequence[Treatment]) -> Iterator[str]:
    yield from _steps(found)
    yield from _done(found, treatments)
    yield from _plan(clinic, found)


def _steps(found: Sequence[Standing]) -> Iterator[str]:
    """What was said, in the order of days."""
    for each in found:
        version, kinds = each.given.version, {entry.kind: entry for entry in each.later}
        treated, signed = kinds.get("treated"), kinds.get("signed")
        if treated and not signed:
            yield f"treated on {treated.day} by version {version}, which nobody signed."
        if treated and signed and treated.day < signed.day:
            yield f"treated on {treated.day}, before version {version} was signed on {signed.day}."
        for no in ("refused", "withdrawn"):
            answer = kinds.get(no)
            if treated and answer and _holds(answer, signed, treated):
                yield f"treated on {treated.day}, though '{no}' was entered for {answer.day}."
        if signed and (newer := _given_before(found, each, signed)):
            yield f"version {version} was signed on {signed.day}, after version {newer} had been given."


def _holds(answer: Entry, signed: Entry | None, treated: Entry) -> bool:
    """Whether an answer stood on the day of the treatment: nobody has signed since."""
    return answer.day <= treated.day and (signed is None or signed.number < answer.number < treated.number)


def _given_before(found: Sequence[Standing], each: Standing, signed: Entry) -> int:
    """A newer version that had been given when an older one was signed; 0 for none."""
    newer = [o for o in found if o.given.version > each.given.version and o.given.number < signed.number]
    return newer[-1].given.version if newer else 0


def _done(found: Sequence[Standing], treatments: Sequence[Treatment]) -> Iterator[str]:
    """What was planned, entered as done, and recorded in the audit."""
    entered = [entry for each in found for entry in each.later if entry.kind == "treated"]
    days = {entry.day for entry in entered}
    if entered and not treatments:
        yield f"treated on {', '.join(sorted(days))}, and the audit holds no such treatment."
    if treatments and not entered:
        seen = ", ".join(sorted(each.day.isoformat() for each in treatments))
        yield f"the audit holds a treatment on {seen}, and nothing is entered as treated."
    if entered and treatments and (odd := sorted({t.day.isoformat() for t in treatments} - days)):
        yield f"treated on {', '.join(sorted(days))}, and on {', '.join(odd)} in the audit."
    if (told := _told(found)) is None:
        return
    least, most = told
    for each in treatments:
        if not least <= set(each.techniques) <= most:
            done, meant = ", ".join(sorted(each.techniques)), ", ".join(sorted(least))
            yield f"the audit says {done} in session {each.session}; told or entered was {meant}."


def _told(found: Sequence[Standing]) -> tuple[set[str], set[str]] | None:
    """What whoever was treated had been told would be done, and what might be done as well; or what was
    entered as done instead. None where nobody was treated."""
    treated = next((s for s in found if any(entry.kind == "treated" for entry in s.later)), None)
    if treated is None:
        return None
    otherwise = [entry for entry in treated.later if entry.kind == "differently"]
    more = (otherwise or [treated.given])[-1].more
    planned = set(more.get("techniques", ()))
    return planned, planned | set(more.get("may", ()))


def _plan(clinic: Path, found: Sequence[Standing]) -> Iterator[str]:
    """What was given and cannot be read; what the plans say that were given, and the plan as it is now."""
    for each in found:
        folder = given_folder(clinic, each.given.reference, each.given.version)
        if not (folder / TOLD).is_file() or _kept(clinic, each) is None:
            yield f"what version {each.given.version} told cannot be read: `consentpack verify` says more."
    last = found[-1]
    if (kept := _kept(clinic, last)) is None:
        return
    days = [each.given.day for each in found]
    planned = _said_day(clinic, kept)
    if planned and planned.isoformat() not in days:
        yield f"the plan says that the information was given on {planned}; it was given on {', '.join(days)}."
    if last.is_open and _now(clinic, kept) not in ("", kept.plan):
        yield f"the plan was changed since version {last.given.version} was given: give it again."


def _kept(clinic: Path, standing: Standing) -> KeptInputs | None:
    folder = given_folder(clinic, standing.given.reference, standing.given.version)
    try:
        return inputs_in((folder / INPUTS).read_bytes())
    except (OSError, ConsentpackError):
        return None


def _said_day(clinic: Path, kept: KeptInputs) -> date | None:
    """The day on which the information was given, as a kept plan says."""
    try:
        data, _ = load_toml(fetch(clinic, kept.plan).decode("utf-8-sig"), file=kept.plan_name)
    except (ConsentpackError, ValueError):
        return None
    said = dated(data, KEYS).get("information_given")
    return said if isinstance(said, date) else None


def _now(clinic: Path, kept: KeptInputs) -> str:
    """The digest of the plan as it is now; '' where it is gone."""
    try:
        return digest_of((clinic / "plans" / kept.plan_name).read_bytes())
    except OSError:
        return ""
