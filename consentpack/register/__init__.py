"""The clinic's audit register. Only these modules ever hold treatment rows; what leaves them are
counts, and the reasons of rows set aside."""

from consentpack.register.importer import ImportResult, SetAside, import_csv
from consentpack.register.queries import Comparison, Tally, Window, tally
from consentpack.register.schema import open_register

__all__ = [
    "Comparison",
    "ImportResult",
    "SetAside",
    "Tally",
    "Window",
    "import_csv",
    "open_register",
    "tally",
]
