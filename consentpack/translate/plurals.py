"""Which of a language's plural forms a number takes: the header of its PO files."""

from __future__ import annotations

from babel import Locale
from babel.messages.plurals import get_plural
from babel.plural import to_gettext

WITH_FRACTIONS = ("pl",)
"""Languages whose PO files have a form for fractions too, as CLDR gives them; whole numbers never take it."""


def plural_forms(locale: Locale) -> tuple[int, str]:
    """How many forms there are, and the rule in the language of gettext that chooses one.

    The rules are gettext's usual ones, which PO editors know; a test holds them to those of CLDR.
    """
    if locale.language in WITH_FRACTIONS:
        count, _, rule = to_gettext(locale.plural_form).partition(";")
        return int(count.removeprefix("nplurals=")), rule.strip().removeprefix("plural=").rstrip(";")
    usual = get_plural(locale)
    return usual.num_plurals, usual.plural_expr


def form_names(locale: Locale) -> tuple[str, ...]:
    """What CLDR calls each form, in the order of the PO file, as a hint for translators."""
    from gettext import c2py  # noqa: PLC0415 # only where forms are named

    count, rule = plural_forms(locale)
    choose = c2py(rule)
    names = ["other"] * count
    for number in (1_000_000, *range(200, -1, -1)):
        names[choose(number)] = locale.plural_form(number)
    return tuple(names)
