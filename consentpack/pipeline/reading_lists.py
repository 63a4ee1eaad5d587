"""What somebody has to read before the papers of one plan are approved: each text, and what changed in it
since it was approved last."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from consentpack.approvals import PHRASES, digest_in, key_of, load_approvals, phrases_of, tables
from consentpack.catalogues import Catalogue
from consentpack.errors import ContentError, PlanError, Problem, did_you_mean
from consentpack.model import Approval, ApprovalState, Module
from consentpack.pipeline.approved_texts import approved_text, bound_text, lines_of
from consentpack.pipeline.clinic_languages import language_of
from consentpack.pipeline.comparing import Row, compared
from consentpack.pipeline.deciding import decide
from consentpack.pipeline.drafting import draft
from consentpack.pipeline.judging import used_in
from consentpack.pipeline.place import Workplace, plans_in
from consentpack.pipeline.prepare import Wanted, prepare
from consentpack.pipeline.sign_off import approve, status_of
from consentpack.plans import reference_in

ORDER = ("changed", "needs another person", "expired", "never approved", "approved")
"""States in the order in which they are read: what was approved once and is not now comes first."""


@dataclass(frozen=True)
class ToRead:
    """One text of a plan's papers, and how it stands."""

    module: Module
    state: ApprovalState
    digest: str
    """What an approval now would be bound to."""
    ends_soon: bool
    changes: tuple[Row, ...] | None
    """What was changed since the last approval; None where there was none, or its text was not kept."""
    lines: tuple[str, ...] = ()
    """What it holds, line by line."""

    @property
    def key(self) -> str:
        return self.state.module

    @property
    def is_open(self) -> bool:
        """Whether somebody has to read it."""
        return self.state.state != "approved" or self.ends_soon


def reading_list(place: Workplace, plan: Path, *, today: date, language: str = "") -> list[ToRead]:
    """The texts that the papers of a plan are made of, in the clinic's language or another, by `ORDER`.

    Raises what making the pack raises; TranslationError for a language there is no translation of.
    """
    catalogue = language_of(place, language or place.clinic.language)
    used = texts_of_plan(place, plan, today=today)
    if not catalogue.is_source:
        used = {**used, PHRASES: phrases_of(catalogue)}
    approvals = load_approvals(place.folder)
    rows = status_of(place, used, catalogue, approvals=approvals, today=today)
    found = [_to_read(place, used[row.state.file], row.state, catalogue, row.ends_soon) for row in rows]
    return sorted(found, key=lambda each: (ORDER.index(each.state.state), each.key))


def references(place: Workplace) -> list[str]:
    """The references of all plans that can be read, in the order of their files."""
    return [found for path in plans_in(place.folder) if (found := reference_in(path))]


def plan_with(place: Workplace, reference: str) -> Path:
    """The file of the plan with a reference. Raises PlanError where there is none, or more than one."""
    found = [path for path in plans_in(place.folder) if reference_in(path) == reference]
    if len(found) == 1:
        return found[0]
    what = "more than one plan has this reference." if found else "there is no plan with this reference."
    raise PlanError(Problem(reference, what, did_you_mean(reference, references(place))))


def texts_of_plan(place: Workplace, plan: Path, *, today: date) -> dict[str, Module]:
    """What the papers of a plan are made of, the clinic's own papers among them: file -> module."""
    prepared = prepare(place, plan, Wanted(today))
    used, others = used_in(prepared, draft(prepared, decide(prepared)))
    return used | others


def _to_read(
    place: Workplace, module: Module, state: ApprovalState, catalogue: Catalogue, ends_soon: bool
) -> ToRead:
    bound = bound_text(place, module, catalogue)
    lines = tuple(lines_of(bound, module, catalogue))
    changes = None
    if state.approval and (before := _before(place, state.approval, catalogue)):
        changes = compared(lines_of(before, module, catalogue), lines)
    return ToRead(module, state, digest_in(module, catalogue), ends_soon, changes, lines)


def _before(place: Workplace, approval: Approval, catalogue: Catalogue) -> str:
    """The text of an approval, where it is one in this language: the original's stands for a translation."""
    return approved_text(place, approval) if approval.language == catalogue.language else ""


def approve_read(
    place: Workplace,
    read: Mapping[str, str],
    *,
    by: str,
    role: str,
    day: date,
    until: date | None = None,
    language: str = "",
) -> list[Approval]:
    """Sign texts off as they were read: key -> the digest of what was read.

    Raises ContentError, with nothing signed, where a text is another one by now.
    """
    catalogue = language_of(place, language or place.clinic.language)
    now = dict(_digests(place, catalogue))
    problems = [
        Problem(key, "it was changed while it was being read.", "Read what changed, and approve it then.")
        for key, digest in read.items()
        if now.get(key) != digest
    ]
    if not read:
        problems = [Problem("The reading list", "nothing was chosen.", "Tick what you have read.")]
    problems += [Problem(name, "is blank.", "Say who has read it.") for name in _blank(by=by, role=role)]
    if problems:
        raise ContentError(problems)
    ids = [key.removeprefix("tables/") for key in read]
    return approve(place, ids, by=by, role=role, day=day, until=until, language=language)


def _blank(**typed: str) -> Iterator[str]:
    said = {"by": "Who is doing this", "role": "Your role"}
    return (said[name] for name, text in typed.items() if not text.strip())


def _digests(place: Workplace, catalogue: Catalogue) -> Iterator[tuple[str, str]]:
    some = [module for _, module in place.library.modules()]
    some += tables(place.library, place.clinic).values()
    some += [] if catalogue.is_source else [phrases_of(catalogue)]
    return ((key_of(module.file), digest_in(module, catalogue)) for module in some)
