"""Giving a pack: its documents are frozen, and the ledger says what was given, when and by whom."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from consentpack import __version__
from consentpack.approvals import key_of
from consentpack.assemble import told_figures
from consentpack.errors import LedgerError, Problem
from consentpack.files import add_aside, digest_of, write_aside
from consentpack.ledger import (
    RECEIPT,
    Connection,
    Entry,
    Standing,
    code_from,
    entries_of,
    receipt_of_last,
    standings,
)
from consentpack.locks import locked
from consentpack.manifest import MANIFEST
from consentpack.model import Given, Plan, ToldBefore
from consentpack.pipeline.drafting import inputs_of
from consentpack.pipeline.given_inputs import keep_inputs, laid_out, with_register
from consentpack.pipeline.judging import Judged
from consentpack.pipeline.kept_inputs import INPUTS, TOLD, KeptInputs, inputs_in
from consentpack.pipeline.ledgers import (
    aside_of,
    closed_after,
    enter,
    entering,
    given_folder,
    ledger_register,
    refuse_elsewhere,
    settle,
)
from consentpack.pipeline.packs import make_pack
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.staleness import compared
from consentpack.pipeline.stored import keep
from consentpack.pipeline.writing import Pack, with_pdf
from consentpack.plans import reference_in
from consentpack.register import Register
from consentpack.tree import Document, texts

HOW = ("paper", "phone", "mail")
"""How a pack may be handed over."""
Say = Callable[[str], None]


@dataclass(frozen=True)
class Handing:
    """How a pack is asked for, and handed over."""

    by: str
    now: datetime
    to: str = "paper"
    language: str = ""
    large_print: bool = False
    both_languages: bool = False
    pdf: bool = False
    only: frozenset[str] = frozenset()


@dataclass(frozen=True)
class GivenPack:
    """A pack that was given."""

    entry: Entry
    pack: Pack
    folder: Path


def give(place: Workplace, plan_path: Path, handing: Handing, *, progress: Say = lambda _: None) -> GivenPack:
    """Make the pack of a plan, keep it unchangeably, and enter it in the ledger.

    Raises LedgerError for a draft, for a reference under which another plan was given, and when the last
    version says the very same; what `build` raises. Nothing is given then, and nothing when anything fails:
    there is no document without its entry.
    """
    for message in settle(place.folder):
        progress(message)
    with locked(place.folder):
        register = ledger_register(place.folder, create=True)
        assert register is not None  # it has just been made
        with closed_after(register):
            return _given(place, plan_path, handing, register, progress)


def _given(
    place: Workplace, plan_path: Path, handing: Handing, register: Register, progress: Say
) -> GivenPack:
    """What `give` does while nobody else writes."""
    kept = keep_inputs(place, plan_path)
    with laid_out(place.folder, kept) as (there, plan):
        before = _before(place.folder, register, reference_in(plan))
        _refuse_another_plan(place, before, kept)
        given = _numbered(handing, kept, before)
        there = with_register(there, place.clinic.register_url)
        told = told_before(there, plan, before, clinic=place.folder, handing=handing)
        kept = replace(kept, told_before=told)
        pack = _made(there, plan, handing, given, told, progress)
    _refuse_draft(pack)
    _refuse_the_same(pack, before)
    for odd in _odd_days(pack.plan, handing.now.date(), before):
        progress(odd)
    progress("giving it")
    return _frozen(place, register, pack, kept, handing, given)


def _odd_days(plan: Plan, today: date, before: Sequence[Standing]) -> Iterator[str]:
    """Days in the plan that are not those of the giving."""
    if plan.prepared != today:
        yield f"its figures are counted up to {plan.prepared}, the day in the plan"
    planned, days = plan.information_given, [each.given.day for each in before]
    if planned and planned.isoformat() not in (*days, today.isoformat()):
        yield f"the plan says that the information was given on {planned}, and it is given today"


def _before(folder: Path, register: Register, reference: str) -> tuple[Standing, ...]:
    """What was given under a reference. Raises LedgerError where another folder goes on with the ledger."""
    with register.connect() as connection:
        refuse_elsewhere(folder, connection)
        return tuple(standings(connection, reference=reference)) if reference else ()


def _numbered(handing: Handing, kept: KeptInputs, before: Sequence[Standing]) -> Given:
    """The next version, and a code that no other pack has."""
    version = before[-1].given.version + 1 if before else 1
    code = code_from(kept.plan, kept.clinic, kept.shipped, str(version), handing.now.isoformat(), handing.by)
    return Given(version, handing.now.date(), code)


def _made(
    there: Workplace, plan: Path, handing: Handing, given: Given, told: ToldBefore | None, progress: Say
) -> Pack:
    pack = make_pack(
        there,
        plan,
        today=handing.now.date(),
        large_print=handing.large_print,
        both_languages=handing.both_languages,
        language=handing.language,
        only=handing.only,
        given=given,
        told_before=told,
        progress=progress,
    )
    if handing.pdf and not pack.draft:
        progress("drawing PDFs")
        return with_pdf(pack)
    return pack


def told_before(
    there: Workplace, plan: Path, before: Sequence[Standing], *, clinic: Path, handing: Handing
) -> ToldBefore | None:
    """What the last version told otherwise, where nobody was treated by it yet; None where it still holds."""
    if not before or not before[-1].is_open:
        return None
    last = before[-1]
    day = handing.now.date()
    found = compared(there, plan, last, clinic=clinic, today=day, language=handing.language)
    if not found.is_stale:
        return None
    # words of another language than this version's would stand in the middle of it
    same = (handing.language or last.given.more.get("language")) == last.given.more.get("language")
    figures = tuple((each.outcome, each.read) for each in found.figures) if same else ()
    return ToldBefore(last.given.version, date.fromisoformat(last.given.day), figures)


# --- what may not be given --------------------------------------------------------------------------


def _refuse_draft(pack: Pack) -> None:
    """Patients may not have it: the same error as from `build`, or what it is marked for."""
    if pack.problems:
        raise pack.refusal(pack.problems)
    if pack.draft:
        what = f"this is a draft, and no draft is given: {'; '.join(pack.draft)}."
        fix = "`consentpack library status` lists what is to be approved."
        raise LedgerError(Problem(pack.plan.reference, what, fix))


def _refuse_another_plan(place: Workplace, before: Sequence[Standing], kept: KeptInputs) -> None:
    """Two plans under one reference may be two patients."""
    if not before:
        return
    last = before[-1].given
    path = given_folder(place.folder, last.reference, last.version) / INPUTS
    if not path.is_file():
        what = f"version {last.version} was given, and what it was made from is not here any more."
        fix = "Bring them back from a backup. `consentpack verify` says what is gone."
        raise LedgerError(Problem(last.reference, f"{what} Nothing was given.", fix))
    if (name := inputs_in(path.read_bytes()).plan_name) != kept.plan_name:
        what = f"version {last.version} was given from {name}, and {kept.plan_name} has the same reference."
        fix = "Give each patient a reference of their own. If it is one patient, change the first plan."
        raise LedgerError(Problem(last.reference, f"{what} Nothing was given.", fix))


def _refuse_the_same(pack: Pack, before: Sequence[Standing]) -> None:
    if not before or not before[-1].is_open:
        return
    last = before[-1].given
    names = set(pack.files) - {MANIFEST}
    if last.more.get("said") == said(pack.documents) and names <= set(last.more.get("documents", ())):
        what = f"version {last.version}, given on {last.day}, says the very same. Nothing was given again."
        raise LedgerError(Problem(last.reference, what, "Print or send the papers that were given then."))


def said(documents: Sequence[Document]) -> str:
    """The digest of all that some documents say, wherever and under whatever number they were given."""
    found = [[each.kind, each.language, each.title, each.notice, *_words(each)] for each in documents]
    return hashlib.sha256(json.dumps(found, ensure_ascii=False).encode()).hexdigest()


def _words(document: Document) -> Iterator[str]:
    for node in (*document.lead, *(node for section in document.sections for node in section.nodes)):
        yield from texts(node)


# --- keeping it -------------------------------------------------------------------------------------


def _frozen(
    place: Workplace, register: Register, pack: Pack, kept: KeptInputs, handing: Handing, given: Given
) -> GivenPack:
    """The files first, then the entry, then their name: whenever it is stopped, `put_right` can tell."""
    more = {TOLD: _told(pack), INPUTS: kept.as_json().encode()}
    folder = given_folder(place.folder, pack.plan.reference, given.version)
    _refuse_there(folder, place.folder)
    details = _details(place, pack, more, handing)
    part = aside_of(place.folder, folder)
    write_aside(part, {**pack.files, **more}, shown=folder)
    with entering(place.folder, register) as connection:
        _refuse_taken(connection, pack.plan.reference, given.version)
        entry, head = enter(
            place.folder,
            connection,
            kind="given",
            by=handing.by,
            now=handing.now,
            reference=pack.plan.reference,
            version=given.version,
            code=given.code,
            details=details,
        )
        receipt = receipt_of_last(connection, entry, head).as_json().encode()
        add_aside(part / RECEIPT, receipt, shown=folder / RECEIPT)
    return GivenPack(entry, pack, folder)


def _refuse_there(folder: Path, clinic: Path) -> None:
    """Papers without an entry: the ledger has lost it, and nothing may be given in its place."""
    if folder.exists() or folder.is_symlink():
        what = "there are papers of this version, and the ledger has no entry of them. Nothing was given."
        fix = "`consentpack verify` says more. Bring the register back from a backup."
        raise LedgerError(Problem(folder.relative_to(clinic).as_posix(), what, fix))


def _refuse_taken(connection: Connection, reference: str, version: int) -> None:
    if any(each.version >= version for each in entries_of(connection, reference)):
        what = f"somebody else has given version {version} in the meantime. Nothing was given here."
        raise LedgerError(Problem(reference, what, "Look at that one first: `consentpack story`."))


def _details(place: Workplace, pack: Pack, more: dict[str, bytes], handing: Handing) -> dict[str, Any]:
    """What the ledger keeps of a pack: digests, and what it is looked for by. No patient, no treatment."""
    plan, moment = pack.plan, pack.decided.moment
    modules = sorted({key_of(file) for file in pack.states})
    return {
        "day": handing.now.date().isoformat(),
        "to": handing.to,
        "language": plan.language,
        "clinician": plan.clinician,
        "techniques": list(plan.planned),
        "may": list(plan.may_become_necessary),
        "documents": {name: digest_of(data) for name, data in pack.files.items() if name != MANIFEST},
        "manifest": digest_of(pack.files[MANIFEST]),
        "inputs": digest_of(more[INPUTS]),
        "told": digest_of(more[TOLD]),
        "modules": keep(place.folder, (json.dumps(modules, indent=0) + "\n").encode()),
        "said": said(pack.documents),
        "asked": [handing.large_print, handing.both_languages, handing.pdf, sorted(handing.only)],
        "register": pack.decided.audit.get("audit: the whole register", ""),
        "moment": [moment.imports, moment.undone] if moment else None,
        "program": __version__,
    }


def _told(pack: Judged) -> bytes:
    patients = inputs_of(pack.prepared, pack.decided)
    own = told_figures(replace(patients, catalogue=pack.prepared.own, checked=()))
    read = told_figures(patients)
    found = {id: {"name": name, "told": told, "read": read[id][1]} for id, (name, told) in own.items()}
    return (json.dumps(found, indent=1, ensure_ascii=False) + "\n").encode()
