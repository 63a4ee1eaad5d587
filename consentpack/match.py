"""Which modules a plan calls for, each with the reason. Conditions live here, not in prose."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import TypeVar

from consentpack.conditions import Facts, parse
from consentpack.library import Library
from consentpack.library.schema import REMOVES_TISSUE, TIERS
from consentpack.model import MINUTES, Match, Matches, Module, Plan, Risk, Technique, Wait
from consentpack.relevance import facts_of

GROUPS = ("expected", "possible", "serious")
_M = TypeVar("_M", bound=Module)


def match(
    plan: Plan,
    library: Library,
    care: Mapping[str, int] = MappingProxyType({}),
    *,
    afterwards: Library | None = None,
) -> Matches:
    """Everything the plan calls for. `care` holds the times the clinic has set itself.

    `afterwards` is the library as whoever looks after themselves sees it; `library` without one.

    Aftercare and warning signs follow what was done, where that is known; everything else follows
    what is planned, because it is what was agreed to.
    """
    planned = [library.techniques[id] for id in plan.planned]
    maybe = [library.techniques[id] for id in plan.may_become_necessary]
    both = [*planned, *maybe]
    later = afterwards or library
    done = [later.techniques[id] for id in (plan.done.techniques if plan.done else plan.planned)]
    newer = [t for t in both if t.standing == "newer"]
    treating = [t for t in both if library.treats(t)]
    return Matches(
        techniques=_named((t for t in planned if library.treats(t)), "planned"),
        anaesthetics=_named((t for t in planned if not library.treats(t)), "planned anaesthetic"),
        may_become_necessary=_named(maybe, "may become necessary"),
        newer=_named(newer, "a newer technique: it must be named as newer"),
        risks=_risks(both, plan, library),
        benefits=_carried(both, "benefits", plan),
        options=_options(treating, plan, library),
        established=_established(newer, plan, library),
        factors=_named((library.factors[id] for id in plan.factors), "named in the plan"),
        aftercare=_care(done, "aftercare", plan, later),
        warnings=_care(done, "warnings", plan, later),
        diary=_diary(done, plan, later),
        waits=_waits(done, facts_of(plan, library, done=True), library, care),
        tissue=_named(
            {t.id: t for t in (*both, *done) if REMOVES_TISSUE in t.traits}.values(), "takes something off"
        ),
    )


def _named(modules: Iterable[Module], why: str) -> tuple[Match, ...]:
    return tuple(Match(m.id, why, (m.id,) if isinstance(m, Technique) else ()) for m in modules)


def _carried(techniques: Sequence[Technique], key: str, plan: Plan) -> tuple[Match, ...]:
    """What techniques list under a key, once each, with who brings it."""
    carriers: dict[str, list[str]] = {}
    for technique in techniques:
        for id in getattr(technique, key):
            carriers.setdefault(id, []).append(technique.id)
    return tuple(
        Match(
            id,
            f"listed by {', '.join(brought)}",
            tuple(brought),
            only_if_needed=not set(brought) & set(plan.planned),
        )
        for id, brought in carriers.items()
    )


def _risks(techniques: Sequence[Technique], plan: Plan, library: Library) -> tuple[Match, ...]:
    """Risks of the techniques by group, in the order the techniques give them.

    Nothing is left out for being rare. A factor never adds a risk no technique has; it is said in
    the factor's own words that the risk is higher.
    """
    found = _carried(techniques, "risks", plan)
    group: Mapping[str, Risk] = library.risks
    return tuple(sorted(found, key=lambda each: GROUPS.index(group[each.id].group)))


def _options(techniques: Sequence[Technique], plan: Plan, library: Library) -> tuple[Match, ...]:
    """Other choices; doing nothing always among them, and first."""
    found = {each.id: each for each in _carried(techniques, "options", plan)}
    nothing = [id for id, option in library.options.items() if option.no_treatment]
    planned = set(plan.planned)
    others = [id for id in found if id not in nothing and not planned & set(library.options[id].techniques)]
    suited = [id for id in others if _suits(library.options[id].indications, plan)]
    # a treatment planned for what it is not listed for still needs another choice beside it
    kept = suited or others
    first = [Match(id, "doing nothing is always a choice") for id in nothing]
    return (*first, *(found[id] for id in kept))


def _diary(done: Sequence[Technique], plan: Plan, library: Library) -> tuple[Match, ...]:
    """What may follow what was done: harms by group, then gains, each once."""
    harms = sorted(_carried(done, "risks", plan), key=lambda m: GROUPS.index(library.risks[m.id].group))
    return (*harms, *_carried(done, "benefits", plan))


def _suits(indications: tuple[str, ...], plan: Plan) -> bool:
    """Whether something meant for some kinds of condition is a choice for the plan's."""
    # where a field asks for no indication, no choice is held back for want of one
    return not indications or not plan.indication or plan.indication in indications


def _waits(
    techniques: Sequence[Technique], facts: Facts, library: Library, care: Mapping[str, int]
) -> tuple[Wait, ...]:
    """Of several times for one thing the longest counts, so that no technique's care is cut short."""
    asked = [(name, setting, t.id) for t in techniques for name, setting in t.waits.items()]
    asked += [(w.setting, w.longer, w.id) for w in library.waits.values() if parse(w.when).holds(facts)]
    longest: dict[str, Wait] = {}
    for name, setting, because in asked:
        before = longest[name].longest if name in longest else name
        if _minutes(library, care, setting) > _minutes(library, care, before):
            longest[name] = Wait(name, setting, because)
    return tuple(longest[name] for name in sorted(longest))


def _minutes(library: Library, care: Mapping[str, int], name: str) -> int:
    setting = library.settings[name]
    return care.get(name, setting.value) * MINUTES[setting.unit]


def _established(newer: Iterable[Technique], plan: Plan, library: Library) -> tuple[Match, ...]:
    beside = dict.fromkeys(t.established_alternative for t in newer)
    return tuple(
        Match(id, "the established technique, offered beside the newer one", (id,))
        for id in beside
        if id and id not in plan.planned
    )


def _care(techniques: Sequence[Technique], key: str, plan: Plan, library: Library) -> tuple[Match, ...]:
    """Aftercare topics or warnings: one each, however many ask for it, in printing order."""
    reasons: dict[str, list[str]] = {}
    for module in (*techniques, *(library.factors[id] for id in plan.factors)):
        for id in getattr(module, key):
            reasons.setdefault(id, []).append(module.id)
    known = library.kind(key)
    ordered = sorted(reasons, key=lambda id: _place(known[id]))
    return tuple(Match(id, f"listed by {', '.join(reasons[id])}", tuple(reasons[id])) for id in ordered)


def _place(module: Module) -> tuple[int, int]:
    tier = TIERS.index(getattr(module, "tier", TIERS[0]))
    return tier, int(getattr(module, "order"))  # noqa: B009 - both kinds have it
