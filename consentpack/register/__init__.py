"""The clinic's audit register. Only these modules ever hold treatment rows; what leaves them are
counts, the clinic's own lists of what is due, and the reasons of rows set aside."""

from consentpack.register.answers import means_nothing, stratum_value
from consentpack.register.as_it_stood import as_it_stood
from consentpack.register.aside import AsideGroup
from consentpack.register.behind import PARTS, Behind, RowPart, Rows, rows_behind
from consentpack.register.by_content import LOOK, by_content
from consentpack.register.case import cases_like, treatments_of
from consentpack.register.cells import LARGEST_COUNT, BadCell, is_keepable, read_outcome
from consentpack.register.columns import (
    IGNORE,
    looks_like_identity,
    map_columns,
    may_be_mapped,
    noticed_of,
)
from consentpack.register.copying import Copied, check_copy, file_of, held, state_at, version_at, write_rows
from consentpack.register.course import SEEN, UNKNOWN, Batch, Order, course, order_of
from consentpack.register.entry import add_treatment, record_outcomes
from consentpack.register.follow_up_table import KIND as FOLLOW_UP
from consentpack.register.follow_ups import (
    AGAIN,
    ELSEWHERE,
    FOLLOWED_BY,
    LOST,
    FollowUp,
    SetDown,
    add_follow_ups,
    set_down,
)
from consentpack.register.headings import Headings
from consentpack.register.history import Entry, Told, entries, history, undo, values_of
from consentpack.register.how_read import Reading, technique_ids
from consentpack.register.importer import ImportResult, import_file, set_aside_csv
from consentpack.register.intake import Place, headings_of, place_of
from consentpack.register.left_out import Left
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
from consentpack.register.reading import Sheet, Wanted, open_sheet
from consentpack.register.repairs import Repair
from consentpack.register.rows import SetAside
from consentpack.register.schema import SCHEMA
from consentpack.register.state import Checked, State, check_register, repair_register, state_of
from consentpack.register.talk_back_table import KIND as TALK_BACK
from consentpack.register.talk_backs import Talk, TalkMark, TalkTold, add_talk, talks, talks_of
from consentpack.register.together import used_together
from consentpack.register.treatment import Treatment
from consentpack.register.unknown import UnknownWord, parts_of, unknown_words
from consentpack.register.waiting import tell, told_to
from consentpack.register.whole import NOT_RECORDED, Grouping, tally_all

__all__ = [
    "AGAIN",
    "CELL_LETTERS",
    "ELSEWHERE",
    "FOLLOWED_BY",
    "FOLLOW_UP",
    "IGNORE",
    "LARGEST_COUNT",
    "LOOK",
    "LOST",
    "NOT_RECORDED",
    "PARTS",
    "SCHEMA",
    "SEEN",
    "TALK_BACK",
    "UNKNOWN",
    "AsideGroup",
    "BadCell",
    "Batch",
    "Behind",
    "Checked",
    "Comparison",
    "Copied",
    "Differs",
    "Due",
    "Entry",
    "FollowUp",
    "Grouping",
    "Headings",
    "ImportResult",
    "Left",
    "Moment",
    "Order",
    "Part",
    "Place",
    "Reading",
    "Register",
    "Repair",
    "RowPart",
    "Rows",
    "SetAside",
    "SetDown",
    "Sheet",
    "State",
    "Talk",
    "TalkMark",
    "TalkTold",
    "Tally",
    "Told",
    "Treatment",
    "UnknownWord",
    "Wanted",
    "Window",
    "add_follow_ups",
    "add_talk",
    "add_treatment",
    "as_it_stood",
    "by_content",
    "cases_like",
    "check_copy",
    "check_register",
    "course",
    "due",
    "entries",
    "file_of",
    "headings_of",
    "held",
    "history",
    "import_file",
    "is_keepable",
    "looks_like_identity",
    "map_columns",
    "may_be_mapped",
    "means_nothing",
    "moment_of",
    "noticed_of",
    "open_register",
    "open_sheet",
    "order_of",
    "parts_of",
    "place_of",
    "propose",
    "read_outcome",
    "record_outcomes",
    "repair_register",
    "rows_behind",
    "set_aside_csv",
    "set_down",
    "shown",
    "state_at",
    "state_of",
    "stratum_value",
    "talks",
    "talks_of",
    "tally",
    "tally_all",
    "tally_parted",
    "technique_ids",
    "tell",
    "told_to",
    "treatments_of",
    "undo",
    "unknown_words",
    "used_together",
    "values_of",
    "version_at",
    "write_rows",
]
