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
    single = one_treatment(plan, library)
    words, sides, large = (
        _limit(name, set_for, single=single) for name in ("words", "sides", "large_print_sides")
    )
    more = library.longer.get(language, library.longer.get(root(language), 1.0))
    return Limits(round(words * more), sides, large, target.before_annex)


def _limit(name: str, set_for: Mapping[str, int], *, single: bool) -> int:
    usual = set_for.get(name, 0)
    if single:
        return usual
    wider = set_for.get(f"any_plan_{name}", usual)
    return 0 if 0 in (usual, wider) else max(usual, wider)


def one_treatment(plan: Plan, library: Known) -> bool:
    """Whether a plan is for one treatment with at most one way of numbing, whatever may become necessary."""
    named = [library.techniques[id] for id in (*plan.planned, *plan.may_become_necessary)]
    treating = sum(library.treats(technique) for technique in named)
    return treating <= 1 and len(named) - treating <= 1
