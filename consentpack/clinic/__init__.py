"""The clinic folder and its settings. Commands find the folder from anywhere inside it."""

from consentpack.clinic.checks import Names
from consentpack.clinic.folder import (
    field_from,
    find_clinic,
    named_field_from,
    register_from,
    without_from,
)
from consentpack.clinic.keeping import keep_columns, keep_place
from consentpack.clinic.keys import (
    DATE_ORDERS,
    DEFAULT_REGISTER,
    DEFAULT_WINDOW_MONTHS,
    FIELDS_FROM,
    KEYS,
    LENGTH_KEYS,
    NO_REGISTER,
    PHOTOGRAPHS,
    SETTINGS_FILE,
    FieldFrom,
)
from consentpack.clinic.numbers import NUMBERS, wrong_number
from consentpack.clinic.reading import load_clinic
from consentpack.clinic.written_rows import header_rows

__all__ = [
    "DATE_ORDERS",
    "DEFAULT_REGISTER",
    "DEFAULT_WINDOW_MONTHS",
    "FIELDS_FROM",
    "KEYS",
    "LENGTH_KEYS",
    "NO_REGISTER",
    "NUMBERS",
    "PHOTOGRAPHS",
    "SETTINGS_FILE",
    "FieldFrom",
    "Names",
    "field_from",
    "find_clinic",
    "header_rows",
    "keep_columns",
    "keep_place",
    "load_clinic",
    "named_field_from",
    "register_from",
    "without_from",
    "wrong_number",
]
