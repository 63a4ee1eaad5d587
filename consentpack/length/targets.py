"""How long one document of one plan may be: what the clinic set itself, before what is shipped."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from consentpack.model import Clinic, LengthTarget, Limits, Plan, Technique
from consentpack.signs import root


class Known(Protocol):
    """What of a library limits depend on; a `Library` is one."""

    @property
    def lengths(self) -> Mapping[str, LengthTarget]: ...
    @property
    def longer(self) -> Mapping[str, float]: ...
    @property
    def techniques(self) -> Mapping[str, Technique]: ...
    def treats(self, technique: Technique) -> bool: ...


def limits_of(kind: str, *, language: str, plan: Plan, clinic: Clinic, library: Known) -> Limits:
    """The limits of a kind of document, for a plan and in a language.

    A plan of several treatments is never held to less than one of a single treatment. A language that needs
    more words than English to say the same may have them; sides are the same in every language.
    """
    target = library.lengths.get(kind, LengthTarget(kind, {}))
    set_for = {**target.limits, **clinic.length.get(kind, {})}
    single = not further_treatments(plan, library)
    words, sides, large = (
        _limit(name, set_for, single=single) for name in ("words", "sides", "large_print_sides")
    )
    words += _more_words(plan, set_for, library) if words else 0
    more = library.longer.get(language, library.longer.get(root(language), 1.0))
    return Limits(round(words * more), sides, large, target.before_annex)


def _limit(name: str, set_for: Mapping[str, int], *, single: bool) -> int:
    usual = set_for.get(name, 0)
    if single:
        return usual
    wider = set_for.get(f"any_plan_{name}", usual)
    return 0 if 0 in (usual, wider) else max(usual, wider)


def _more_words(plan: Plan, set_for: Mapping[str, int], library: Known) -> int:
    """What further treatments and circumstances may have: each has texts of its own that never move."""
    treatments = 0 if "any_plan_words" in set_for else further_treatments(plan, library)
    circumstances = max(0, len(plan.factors) - FEW_CIRCUMSTANCES)
    each = set_for.get("each_more_words", 0), set_for.get("each_circumstance_words", 0)
    return treatments * each[0] + circumstances * each[1]


FEW_CIRCUMSTANCES = 2
"""Circumstances of a patient that a document has room for without more words."""


def further_treatments(plan: Plan, library: Known) -> int:
    """How many treatments and ways of numbing a plan names beyond one of each, those that may become
    necessary among them."""
    named = [library.techniques[id] for id in (*plan.planned, *plan.may_become_necessary)]
    treating = sum(library.treats(technique) for technique in named)
    return max(0, treating - 1) + max(0, len(named) - treating - 1)
