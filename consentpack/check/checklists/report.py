"""All lists, judged for one pack."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import chain, combinations

from consentpack.check.checklists import clear_index, consent, discharge, gmc, gmc_cosmetic, ipdas, pemat, us
from consentpack.check.checklists.item import Checklist, Held, Item
from consentpack.model import ItemResult, Status

CHECKLISTS: tuple[Checklist, ...] = (
    consent.MODEL_FORM,
    us.MINIMUM,
    gmc.CONSENT_2020,
    gmc_cosmetic.COSMETIC_2016,
    ipdas.IPDAS,
    pemat.PEMAT,
    clear_index.CLEAR_INDEX,
    discharge.DISCHARGE,
)


def report(held: Held) -> tuple[ItemResult, ...]:
    """Every item of every list, in order."""
    return tuple(_result(each, item, held) for each in CHECKLISTS for item in each.items)


def _result(checklist: Checklist, item: Item, held: Held) -> ItemResult:
    status, why = judged(item, held)
    return ItemResult(checklist.id, checklist.title, item.id, item.says, str(item.source), status, why)


TOGETHER, NOWHERE = "the set together", ""
"""Said of an item that no two documents hold, and of one that holds whatever documents there are."""


def with_holders(held: Held, results: Iterable[ItemResult]) -> tuple[ItemResult, ...]:
    """The same results, each that holds with the first document in the order of the pack that alone does, or
    the first two that do.

    It looks at those items once more for each document, so it is for where that is shown.
    """
    papers = {kind: held.alone(kind) for kind in (NOWHERE, *held.documents)}
    items = {(each.id, item.id): item for each in CHECKLISTS for item in each.items}
    return tuple(
        replace(each, held_by=_holder(items[each.checklist, each.item], held, papers))
        if each.status == "holds"
        else each
        for each in results
    )


def _holder(item: Item, held: Held, papers: Mapping[str, Held]) -> str:
    """The likeliest documents are tried first: nobody waits for a diary to hold no agreement."""
    needs = item.needs
    if needs is None or needs(papers[NOWHERE]).holds:
        return NOWHERE
    likely = [kind for kind in held.documents if held.meant(kind, item.where)]
    others = [kind for kind in held.documents if kind not in likely]
    alone = (kind for kind in (*likely, *others) if needs(papers[kind]).holds)
    both = (f"{one} and {two}" for one, two in combinations(likely, 2) if needs(held.alone(one, two)).holds)
    return next(chain(alone, both), TOGETHER)


def judged(item: Item, held: Held) -> tuple[Status, str]:
    """How one item stands, with the reason."""
    if item.unless and (reason := item.unless(held)):
        return "does not apply", reason
    if item.needs is None:
        return "a person must judge", "a program cannot tell"
    found = item.needs(held)
    return ("holds" if found.holds else "fails"), found.why


def summary(results: Iterable[ItemResult]) -> Mapping[str, Counter[Status]]:
    """List id -> how many items hold, fail, do not apply or need a person."""
    counts: dict[str, Counter[Status]] = {}
    for each in results:
        counts.setdefault(each.checklist, Counter())[each.status] += 1
    return counts
