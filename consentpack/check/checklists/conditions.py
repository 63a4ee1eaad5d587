"""Why an item of a list does not apply to a pack; '' where it does."""

from __future__ import annotations

from consentpack.check.checklists.item import Held
from consentpack.check.checklists.looking import everything, pictures
from consentpack.library.schema import IS_TEST, LEAVES_MATERIAL, UNDER_AGE


def _trait(held: Held, trait: str, what: str) -> str:
    return "" if any(trait in t.traits for t in held.agreed) else f"nothing in the plan {what}"


def no_numbing(held: Held) -> str:
    return "" if held.matches.anaesthetics else "no numbing medicine is planned"


def no_extra_steps(held: Held) -> str:
    return "" if held.matches.may_become_necessary else "the plan names nothing that may become necessary"


def none_newer(held: Held) -> str:
    return "" if held.matches.newer else "no newer technique is planned"


def no_factors(held: Held) -> str:
    return "" if held.matches.factors else "the plan names no circumstances of the patient"


def nothing_removed(held: Held) -> str:
    return "" if held.matches.tissue else "nothing in the plan takes anything off"


def nothing_left_in(held: Held) -> str:
    return _trait(held, LEAVES_MATERIAL, "leaves a product in the body")


def no_wound(held: Held) -> str:
    return "" if held.library.field.wound else "field.toml names no aftercare topic on a wound"


def no_test(held: Held) -> str:
    return _trait(held, IS_TEST, "is a test")


def of_age(held: Held) -> str:
    return "" if UNDER_AGE in held.plan.factors else "the plan does not say that the patient is under 18"


def no_emergency(held: Held) -> str:
    tiers = {held.library.warnings[match.id].tier for match in held.matches.warnings}
    return "" if "ambulance" in tiers else "no emergency signs belong to the plan"


def no_pictures(held: Held) -> str:
    """Pictographs are the one kind of picture that the tree of a document knows."""
    found = any(True for document in held.patients for _ in pictures(everything(document)))
    return "" if found else "no document of this pack has a picture"


def no_measure(held: Held) -> str:
    """Without a measure for the language nothing can be said by a program."""
    lacking = sorted({score.language for score in held.scores if score.target is None})
    return f"no reading measure was made for {', '.join(lacking)}; a person must judge" if lacking else ""


def no_figures(held: Held) -> str:
    return "" if any(answer.rate for answer in held.rates.values()) else "no figure is quoted"


def nothing_published(held: Held) -> str:
    answers = held.rates.values()
    published = any(each.told or (each.rate and each.rate.level == "published") for each in answers)
    return "" if published else "no published figure is quoted"
