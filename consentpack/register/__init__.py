"""The clinic's audit register. Only these modules ever hold treatment rows; what leaves them are
counts, the clinic's own lists of what is due, and the reasons of rows set aside."""

from consentpack.register.as_it_stood import as_it_stood
from consentpack.register.case import treatments_of
from consentpack.register.cells import LARGEST_COUNT, BadCell, is_keepable, read_outcome
from consentpack.register.columns import looks_like_identity
from consentpack.register.copying import Copied, check_copy, file_of, held, state_at, version_at, write_rows
from consentpack.register.course import SEEN, UNKNOWN, Batch, Order, course, order_of
from consentpack.register.entry import add_treatment, record_outcomes
from consentpack.register.history import Entry, Told, entries, history, undo, values_of
from consentpack.register.importer import ImportResult, import_file, set_aside_csv
from consentpack.register.limits import CELL_LETTERS
from consentpack.register.merging import Differs
from consentpack.register.moment import Moment, moment_of
from consentpack.register.opening import Register, open_register, shown
from consentpack.register.parted import Part, tally_parted
from consentpack.register.propose import propose
from consentpack.register.queries import (
    Comparison,
    Due,
    Tally,
    Window,
    due,
    tally,
)
from consentpack.register.reading import open_sheet
from consentpack.register.rows import Reading, SetAside, stratum_value
from consentpack.register.schema import SCHEMA
from consentpack.register.state import Checked, State, check_register, state_of
from consentpack.register.treatment import Treatment
from consentpack.register.waiting import tell, told_to
from consentpack.register.whole import NOT_RECORDED, Grouping, tally_all

__all__ = [
    "CELL_LETTERS",
    "LARGEST_COUNT",
    "NOT_RECORDED",
    "SCHEMA",
    "SEEN",
    "UNKNOWN",
    "BadCell",
    "Batch",
    "Checked",
    "Comparison",
    "Copied",
    "Differs",
    "Due",
    "Entry",
    "Grouping",
    "ImportResult",
    "Moment",
    "Order",
    "Part",
    "Reading",
    "Register",
    "SetAside",
    "State",
    "Tally",
    "Told",
    "Treatment",
    "Window",
    "add_treatment",
    "as_it_stood",
    "check_copy",
    "check_register",
    "course",
    "due",
    "entries",
    "file_of",
    "held",
    "history",
    "import_file",
    "is_keepable",
    "looks_like_identity",
    "moment_of",
    "open_register",
    "open_sheet",
    "order_of",
    "propose",
    "read_outcome",
    "record_outcomes",
    "set_aside_csv",
    "shown",
    "state_at",
    "state_of",
    "stratum_value",
    "tally",
    "tally_all",
    "tally_parted",
    "tell",
    "told_to",
    "treatments_of",
    "undo",
    "values_of",
    "version_at",
    "write_rows",
]
