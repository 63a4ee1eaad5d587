"""One stage of a pack as text: how a clinician sees why it says what it says."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping

from consentpack.export.text import export_text
from consentpack.manifest import findings_json, matches_json
from consentpack.pipeline import as_json
from consentpack.pipeline.judging import Judged


def _plan(judged: Judged) -> str:
    return "\n".join(f"{name} = {value!r}" for name, value in vars(judged.plan).items())


def _matches(judged: Judged) -> str:
    seen = judged.decided.seen
    found = {
        **matches_json(judged.matches),
        "suitability": findings_json(seen.findings),
        "not_asked": [factor.id for factor in seen.not_asked],
        "blocks": [vars(each) for each in seen.chosen],
    }
    return _json(found)


def _rates(judged: Judged) -> str:
    return _json(as_json.rates(judged.rates.values()))


def _tree(judged: Judged) -> str:
    return "\n".join(export_text(document) for document in judged.documents)


def _json(content: object) -> str:
    return json.dumps(content, indent=2, ensure_ascii=False)


STAGES: Mapping[str, Callable[[Judged], str]] = {
    "plan": _plan,
    "matches": _matches,
    "rates": _rates,
    "tree": _tree,
}


def shown(judged: Judged, stage: str) -> str:
    """One of `STAGES`: TOML-like for the plan, JSON for matches and rates, plain text for trees."""
    return STAGES[stage](judged)
