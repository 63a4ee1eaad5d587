"""What commands about given packs print with --json, as values that `json` can write."""

from __future__ import annotations

from typing import Any

from consentpack.ledger import Entry, Standing
from consentpack.pipeline.given_findings import Finding
from consentpack.pipeline.rebuilding import Rebuilt
from consentpack.pipeline.staleness import Stale
from consentpack.pipeline.stories import Story
from consentpack.pipeline.verifying import Verified
from consentpack.pipeline.verifying_all import AllVerified


def entry(each: Entry) -> dict[str, Any]:
    """One entry of the ledger."""
    return {**each.as_row(), "details": dict(each.more)}


def standing(each: Standing) -> dict[str, Any]:
    """One pack that was given, and how it stands."""
    given = each.given
    return {
        "reference": given.reference,
        "version": given.version,
        "code": given.code,
        "state": each.state,
        "day": given.day,
        "by": given.by,
        "given": entry(given),
        "later": [entry(later) for later in each.later],
        "superseded_by": each.superseded_by or None,
    }


def rebuilt(each: Rebuilt | None) -> dict[str, Any] | None:
    """A pack that was made once more; None where nobody asked for that."""
    if each is None:
        return None
    return {
        "same": each.holds,
        "files": list(each.other),
        "figures": list(each.figures),
        "why": each.failed or each.newer,
    }


def _findings(found: tuple[Finding, ...]) -> list[dict[str, str]]:
    return [dict(vars(each)) for each in found]


def verified(each: Verified) -> dict[str, Any]:
    """What was found of one paper, pack or code."""
    return {
        "asked": each.asked,
        "holds": each.holds,
        "same": each.same,
        "document": each.document or None,
        "pack": standing(each.standing) if each.standing else None,
        "differs": [dict(vars(found)) for found in each.differs],
        "findings": _findings(each.findings),
        "approved_by": list(each.approved_by),
        "again": rebuilt(each.rebuilt),
    }


def all_verified(each: AllVerified) -> dict[str, Any]:
    """What was found of the whole ledger."""
    return {
        "holds": each.holds,
        "entries": each.entries,
        "packs": each.packs,
        "head": dict(vars(each.head)) if each.head else None,
        "findings": _findings(each.findings),
        "warnings": _findings(each.warnings),
        "again": [
            {"reference": r.entry.reference, "version": r.entry.version, **(rebuilt(r) or {})}
            for r in each.not_the_same
        ],
    }


def stale(each: Stale) -> dict[str, Any]:
    """A given pack that no longer holds."""
    return {
        "pack": standing(each.standing),
        "figures": [dict(vars(found)) for found in each.figures],
        "texts": list(each.texts),
        "rules": list(each.rules),
    }


def story(each: Story) -> dict[str, Any]:
    """Everything under one reference. The treatments are the clinic's own rows, for its own eyes."""
    return {
        "reference": each.reference,
        "disagree": list(each.disagree),
        "told": [
            {**standing(one.standing), "folder": str(one.folder), "figures": dict(one.told)}
            for one in each.told
        ],
        "treatments": [
            {
                "case": t.case,
                "session": t.session,
                "day": t.day.isoformat(),
                "techniques": list(t.techniques),
                "outcomes": dict(t.outcomes),
                "watched_days": t.watched_days,
            }
            for t in each.treatments
        ],
    }
