"""A pack in the patient's language: what is not yet in that language, and its twin in the clinic's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from consentpack.assemble import Assembled, Printed, first_difference, side_by_side
from consentpack.catalogues import Catalogue, name_in_both
from consentpack.errors import Problem, TranslationError
from consentpack.model import Plan
from consentpack.pipeline.prepare import Prepared
from consentpack.tree import Document


def untranslated(plan: Plan, catalogue: Catalogue, printed: Printed) -> list[Problem]:
    """What the patient could not read: texts without a translation, and the clinician's own words."""
    texts = [
        Problem(catalogue.language, f"“{text[:60]}” {_SAID[status]} in the translation.")
        for text, status in printed.lacking.items()
    ]
    language = name_in_both(catalogue.language)
    fix = f"Have it put into {language} and write it under [translated.{catalogue.language}] of the plan."
    words = (Problem(plan.file, f"'{key}' is not in the patient's language.", fix) for key in printed.left)
    return [*texts, *words]


_SAID = {"missing": "is missing", "needs review": "has changed since it was translated"}


def differences(patients: Sequence[Document], twins: Mapping[str, Assembled]) -> list[Problem]:
    """Where a translated document has lost or gained a part."""
    both = ((own, twins[own.kind].document) for own in patients if own.kind in twins)
    found = ((own, first_difference(own, twin)) for own, twin in both)
    what = "it has not the parts of the original: {}."
    return [Problem(own.kind, what.format(where)) for own, where in found if where]


def beside(
    documents: Sequence[Document], twins: Mapping[str, Assembled], prepared: Prepared
) -> list[Document]:
    """Both languages side by side. Raises TranslationError where there is one language or one shape lacks."""
    if not twins:
        what = "the patient's language is the clinic's own; there is nothing to set beside it."
        fix = "Leave --side-by-side out, or set the patient's language in the plan."
        raise TranslationError(Problem(prepared.plan.file, what, fix))
    catalogues = (prepared.catalogue, prepared.own)
    return [side_by_side(d, twins[d.kind].document, catalogues) for d in documents if d.kind in twins]
