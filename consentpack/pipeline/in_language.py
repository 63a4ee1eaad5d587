"""A pack in the patient's language: its catalogue, what is not yet in that language, and its twin in the
clinic's own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from consentpack import shipped
from consentpack.assemble import Context, assemble, first_difference, make_context, side_by_side
from consentpack.catalogues import SOURCE_LANGUAGE, Catalogue, load, name_in_both
from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import Problem, TranslationError
from consentpack.pipeline.place import Workplace
from consentpack.signs import root
from consentpack.tree import Document


def catalogue_for(place: Workplace, tag: str, *, where: str) -> Catalogue:
    """The words of a language: the clinic's own before ours. Raises TranslationError."""
    return load(tag, (place.folder / "locales", shipped.locales()), where=where)


def in_clinics_language(place: Workplace, ctx: Context) -> Context:
    """The same pack in the clinic's own language: for the record, and to set the patient's beside it."""
    own = place.clinic.language
    if root(own) != SOURCE_LANGUAGE:
        what = f"the clinic's own language is '{own}', and the record is written in English only."
        fix = "Set language to English, such as en-GB; patients can have theirs all the same."
        raise TranslationError(Problem(SETTINGS_FILE, what, fix))
    if own == ctx.catalogue.language:
        return ctx
    catalogue = catalogue_for(place, own, where=SETTINGS_FILE)
    plan, rates = ctx.plan, ctx.rates
    return make_context(plan, ctx.library, ctx.clinic, ctx.matches, rates, catalogue, beside=ctx.beside)


def untranslated(ctx: Context) -> list[Problem]:
    """What the patient could not read: texts without a translation, and the clinician's own words."""
    catalogue = ctx.catalogue
    texts = [
        Problem(catalogue.language, f"“{text[:60]}” {_SAID[status]} in the translation.")
        for text, status in catalogue.lacking.items()
    ]
    language = name_in_both(catalogue.language)
    fix = f"Have it put into {language} and write it under [translated.{catalogue.language}] of the plan."
    words = (
        Problem(ctx.plan.file, f"'{key}' is not in the patient's language.", fix)
        for key in dict.fromkeys(ctx.left)
    )
    return [*texts, *words]


_SAID = {"missing": "is missing", "needs review": "has changed since it was translated"}


def differences(patient: Sequence[Document], twins: Sequence[Document]) -> list[Problem]:
    """Where a translated document has lost or gained a part."""
    found = ((own, first_difference(own, twin)) for own, twin in zip(patient, twins, strict=True))
    what = "it has not the parts of the original: {}."
    return [Problem(own.kind, what.format(where)) for own, where in found if where]


def twins_of(ctx: Context, own: Context, kinds: Iterable[str]) -> list[Document]:
    """The patient's documents in the clinic's language; none where that is the patient's too."""
    return [] if own is ctx else [assemble(kind, own) for kind in kinds]


def beside(
    patient: Sequence[Document], twins: Sequence[Document], ctx: Context, own: Context
) -> list[Document]:
    """Both languages side by side. Raises TranslationError where there is one language or one shape lacks."""
    if not twins:
        what = "the patient's language is the clinic's own; there is nothing to set beside it."
        fix = "Leave --side-by-side out, or set the patient's language in the plan."
        raise TranslationError(Problem(ctx.plan.file, what, fix))
    catalogues = (ctx.catalogue, own.catalogue)
    return [side_by_side(*pair, catalogues) for pair in zip(patient, twins, strict=True)]
