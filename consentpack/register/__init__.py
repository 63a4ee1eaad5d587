"""The clinic's audit register. Only these modules ever hold treatment rows; what leaves them are
counts, and the reasons of rows set aside."""

from consentpack.register.importer import ImportResult, import_csv, set_aside_csv
from consentpack.register.queries import Comparison, Tally, Window, tally
from consentpack.register.rows import SetAside
from consentpack.register.schema import open_register

__all__ = [
    "Comparison",
    "ImportResult",
    "SetAside",
    "Tally",
    "Window",
    "import_csv",
    "open_register",
    "set_aside_csv",
    "tally",
]
