"""What went into a pack: every input by digest, every figure with its counts, every score."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from consentpack import __version__
from consentpack.files import digest_of
from consentpack.model import (
    LENGTHS,
    SLOW,
    USUAL,
    ApprovalState,
    Bounds,
    Counts,
    Estimate,
    Finding,
    Given,
    ItemResult,
    Length,
    Matches,
    Plan,
    Rate,
    RateAnswer,
    Remark,
    Score,
    Seen,
)

SCHEMA = 1
MANIFEST = "manifest.json"
"""Its file name in a pack's folder, by which a pack is known."""


def manifest(
    plan: Plan,
    *,
    inputs: Mapping[str, str],
    documents: Mapping[str, bytes],
    matches: Matches,
    rates: Mapping[str, RateAnswer],
    scores: tuple[Score, ...],
    lengths: tuple[Length, ...] = (),
    states: Mapping[str, ApprovalState],
    draft: tuple[str, ...],
    checklists: tuple[ItemResult, ...] = (),
    findings: tuple[Finding, ...] = (),
    not_asked: tuple[str, ...] = (),
    moved: Mapping[str, tuple[str, ...]] | None = None,
    given: Given | None = None,
    talk_back: Mapping[str, Any] | None = None,
) -> str:
    """The manifest as JSON text. The same pack gives the same text: it holds no clock.

    `inputs` maps file -> SHA-256; `documents` maps file name -> content; `moved` names what a document
    leaves to the one behind it: outcomes, choices, how much is known of a technique. `talk_back` holds what
    may be asked about the papers.
    """
    content = {
        "schema": SCHEMA,
        "consentpack": __version__,
        "reference": plan.reference,
        "given": vars(given) | {"day": given.day.isoformat()} if given else None,
        "figures_up_to": plan.prepared.isoformat(),
        "draft": list(draft),
        "documents": {name: {"sha256": digest_of(data)} for name, data in documents.items()},
        "inputs": dict(sorted(inputs.items())),
        "suitability": findings_json(findings),
        "not_asked": list(not_asked),
        "matches": matches_json(matches),
        "rates": [rate_answer(answer) for answer in rates.values()],
        "scores": [score_json(score) for score in scores],
        "lengths": [length_json(length) for length in lengths],
        "moved": {kind: list(ids) for kind, ids in (moved or {}).items()},
        "modules": [
            {"module": s.module, "file": file, "version": s.version, "state": s.state}
            for file, s in sorted(states.items())
        ],
        "checklists": _checklists(checklists),
        "talk_back": dict(talk_back or {}),
    }
    return _as_text(content)


def with_documents(text: str, documents: Mapping[str, bytes]) -> str:
    """A manifest's text with more documents in it."""
    content = json.loads(text)
    content["documents"] |= {name: {"sha256": digest_of(data)} for name, data in documents.items()}
    return _as_text(content)


def documents_in(text: bytes) -> dict[str, str]:
    """File name -> digest, as a manifest says; nothing where the text is not a manifest of ours."""
    try:
        return {name: str(found["sha256"]) for name, found in json.loads(text)["documents"].items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def plan_in(text: bytes) -> str:
    """The file name of the plan a pack was made from; '' where the text is not a manifest of ours."""
    try:
        named = [name for name in json.loads(text)["inputs"] if name.startswith(PLAN_INPUT)]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return ""
    return named[0].removeprefix(PLAN_INPUT) if named else ""


PLAN_INPUT = "plan: "
"""How the name of the plan file begins among a manifest's inputs."""


def _as_text(content: Mapping[str, Any]) -> str:
    return json.dumps(content, indent=2, ensure_ascii=False) + "\n"


def _checklists(results: tuple[ItemResult, ...]) -> dict[str, dict[str, Any]]:
    """List -> item -> how it stands, and why where it fails."""
    lists: dict[str, dict[str, Any]] = {}
    for each in results:
        found = lists.setdefault(each.checklist, {"items": {}, "fails": {}})
        found["items"][each.item] = each.status
        if each.status == "fails":
            found["fails"][each.item] = each.why
    return lists


def matches_json(matches: Matches) -> dict[str, list[dict[str, Any]]]:
    """What belongs to a plan, and why, as JSON."""
    modules = {name: found for name, found in vars(matches).items() if name != "waits"}
    listed = {
        name: [{"id": m.id, "why": m.why, "only_if_needed": m.only_if_needed} for m in found]
        for name, found in modules.items()
    }
    return {**listed, "waits": [dict(vars(wait)) for wait in matches.waits]}


def findings_json(found: Iterable[Finding]) -> list[dict[str, Any]]:
    """What the rules of suitability say, with who goes on all the same and why."""
    return [
        {
            "rule": each.rule.id,
            "strength": each.rule.strength,
            "what": each.rule.what,
            "because": each.because,
            "sources": list(each.rule.sources),
            "reason": each.reason or None,
            "by": each.by or None,
        }
        for each in found
    ]


def rate_answer(answer: RateAnswer) -> dict[str, Any]:
    """What is known of one outcome, as JSON."""
    return {
        "outcome": answer.outcome,
        "technique": answer.technique,
        "quoted": rate_json(answer.rate) if answer.rate else None,
        "told_as_counts": _seen(answer.seen),
        "pooled_because_none": answer.pooled,
        "pointed_to": answer.counted_in or answer.at_least or None,
        "told_of_a_study": dict(vars(answer.told)) if answer.told else None,
        "published_beside": rate_json(answer.beside) if answer.beside else None,
        "passed_over": [
            {"level": r.level, "why": r.why, "counts": counts_json(r.counts)} for r in answer.rejected
        ],
        "closer_and_worse": [
            {
                "level": each.level,
                "counts": counts_json(each.counts),
                "than": each.than,
                "of_others": list(each.others),
                "told_to_the_patient": each.printed,
            }
            for each in answer.worse
            if each.found
        ],
        "own_beside_published": answer.verdict,
        "together": _together(answer.bounds),
        "if_needed": {each.technique: rate_json(each.rate) for each in answer.if_needed},
        "warnings": list(answer.warnings),
    }


def _seen(seen: Seen | None) -> dict[str, Any] | None:
    if seen is None:
        return None
    interval = [round(seen.interval.low, 6), round(seen.interval.high, 6)]
    period = [seen.first.isoformat(), seen.last.isoformat()]
    counts, by_days = counts_json(seen.counts), _estimate(seen.risk)
    found = {"level": seen.level, "counts": counts, "interval": interval, "period": period}
    return found | {"over": seen.over, "by_days": by_days}


def _together(bounds: Bounds | None) -> dict[str, Any] | None:
    if bounds is None:
        return None
    parts = {id: rate_json(rate) for id, rate in bounds.parts}
    return {"at_least": round(bounds.low, 6), "at_most": round(bounds.high, 6), "parts": parts}


def rate_json(rate: Rate) -> dict[str, Any]:
    """One figure as JSON, with all that is needed to recompute it."""
    return {
        "events": rate.events,
        "n": rate.n,
        "unit": rate.unit,
        "proportion": round(rate.proportion, 6),
        "interval_95": [round(rate.interval.low, 6), round(rate.interval.high, 6)],
        "level": rate.level,
        "source": rate.source,
        "first": rate.first.isoformat() if rate.first else None,
        "last": rate.last.isoformat() if rate.last else None,
        "follow_up": rate.follow_up,
        "counts": counts_json(rate.counts),
        "caveat": rate.caveat,
        "over": rate.over if rate.level != "published" else None,
        "by_days": _estimate(rate.risk),
    }


def _estimate(risk: Estimate | None) -> dict[str, Any] | None:
    """An estimate from unequal follow-up; the share as a fraction, so that nothing is rounded."""
    if risk is None:
        return None
    interval = [round(risk.interval.low, 6), round(risk.interval.high, 6)]
    return {
        "share": round(float(risk.share), 6),
        "interval_95": interval,
        "events": risk.events,
        "n": risk.n,
        "effective_n": round(risk.effective, 2),
        "watched_to_the_end": risk.to_the_end,
        "treated_again": risk.again,
    }


def counts_json(counts: Counts | None) -> dict[str, Any] | None:
    """Counts as JSON, without the days of each: those would be rows."""
    return {name: value for name, value in vars(counts).items() if name != "curve"} if counts else None


def score_json(score: Score) -> dict[str, Any]:
    """One readability result as JSON. A grade of null: too short, or no measure for the language."""
    return {
        "document": score.kind,
        "language": score.language,
        "measure": score.measure,
        "grade": _rounded(score.grade),
        "corrected": _rounded(score.corrected),
        "textstat": _rounded(score.textstat),
        "with_plain_terms": _rounded(score.plain_terms),
        "target": score.target.limit if score.target else None,
        "target_of": score.target.who if score.target else None,
        "sentence_length": round(score.sentence_length, 2),
        "long_words_percent": round(score.long_words, 2),
        "measures": [
            {
                "id": m.id,
                "name": m.name,
                "value": _rounded(m.value),
                "textstat": _rounded(m.textstat),
                "why_not": m.why_not or None,
            }
            for m in score.measures
        ],
        "warnings": list(score.spread),
        "left_out": dict(score.left_out),
        "words": score.words,
        "sentences": score.sentences,
        "over": list(score.over),
        "sections": [
            {"id": s.id, "heading": s.heading, "words": s.words, "grade": _rounded(s.grade)}
            for s in score.sections
        ],
    }


def length_json(length: Length) -> dict[str, Any]:
    """The length of one document as JSON. A limit of null: none was set."""
    usual, slow = length.minutes
    return {
        "document": length.kind,
        "language": length.language,
        "words": length.words,
        "sides": length.sides,
        "large_print_sides": length.large_print_sides,
        "sides_are": "drawn" if length.drawn else "reckoned",
        f"minutes_at_{USUAL}": round(usual, 1),
        f"minutes_at_{SLOW}": round(slow, 1),
        "before_annex": length.limits.before_annex,
        "annex_words": length.annex_words,
        "limits": {name: getattr(length.limits, name) or None for name in LENGTHS},
        "over": list(length.over),
        "sections": [vars(each) for each in length.sections],
    }


def remark_json(remark: Remark) -> dict[str, Any]:
    """One editor's remark as JSON."""
    return {
        **vars(remark),
        "before": _rounded(remark.before),
        "after": _rounded(remark.after),
        "instead": remark.instead or None,
    }


def _rounded(grade: float | None) -> float | None:
    return None if grade is None else round(grade, 2)
