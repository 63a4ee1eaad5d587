"""Which of a language's plural forms a number takes: the header of its PO files."""

from __future__ import annotations

from collections.abc import Mapping
from gettext import c2py

from babel import Locale
from babel.messages.plurals import get_plural

WITH_FRACTIONS: Mapping[str, tuple[int, str]] = {
    "pl": (
        4,
        "(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<12 || n%100>14) ? 1 : "
        "n%10<=1 || n%10>=5 || (n%100>=12 && n%100<=14) ? 2 : 3)",
    ),
}
"""Languages whose PO files have a form for fractions too, as CLDR gives them; whole numbers never take it."""


def plural_forms(locale: Locale) -> tuple[int, str]:
    """How many forms there are, and the rule in the language of gettext that chooses one.

    The rules are gettext's usual ones, which PO editors know; a test holds them to those of CLDR.
    """
    usual = get_plural(locale)
    return WITH_FRACTIONS.get(locale.language, (usual.num_plurals, usual.plural_expr))


def form_names(locale: Locale) -> tuple[str, ...]:
    """What CLDR calls each form, in the order of the PO file, as a hint for translators."""
    count, rule = plural_forms(locale)
    choose = c2py(rule)
    names = ["other"] * count
    for number in (1_000_000, *range(200, -1, -1)):
        names[choose(number)] = locale.plural_form(number)
    return tuple(names)
