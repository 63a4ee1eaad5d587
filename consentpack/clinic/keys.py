"""Tables and keys of clinic.toml, and what stands in them when nothing is said."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Literal

from consentpack import brand
from consentpack.limits import LONGEST_WINDOW
from consentpack.model import LIMITS
from consentpack.strict import Key

SETTINGS_FILE = "clinic.toml"
DEFAULT_WINDOW_MONTHS = 36
DEFAULT_REGISTER = "register.sqlite"
FieldFrom = Literal["shipped", "own"]
FIELDS_FROM: tuple[FieldFrom, ...] = ("shipped", "own")
"""Whose field of medicine a clinic works in: the one that comes with the program, or its own alone."""
DATE_ORDERS = ("day-first", "month-first", "year-first")
PHOTOGRAPHS = ("notes", "teaching", "publication", "publicity")

KEYS: Mapping[str, Mapping[str, Key]] = {
    "clinic": {
        "name": Key(str, "the clinic's name as patients know it"),
        "address": Key(list, "lines of the address"),
        "phone": Key(str, "number in opening hours"),
        "phone_out_of_hours": Key(str, "number at night and at weekends"),
        "hours": Key(str, "opening hours, in words"),
        "emergency_number": Key(str, "number of the ambulance in this country"),
        "language": Key(str, "the clinic's own language, such as en-GB", required=False),
        "field": Key(
            str, '"own": only the clinic\'s own field of medicine, without ours', False, FIELDS_FROM
        ),
        "invented": Key(bool, "true for a made-up clinic: every page then says so", required=False),
    },
    "readability": {
        "target": Key(str, "a published reading target, by its name", required=False),
        "target_grade": Key(float, "or: highest school grade a patient document may need", required=False),
        "documents": Key(dict, "kind of document -> a target of its own, name or grade", required=False),
        "languages": Key(dict, "language -> the target of documents in it", required=False),
    },
    "rates": {"window_months": Key(int, "how many months back treatments are counted", most=LONGEST_WINDOW)},
    "audit": {
        "dates": Key(str, "how dates are typed", False, DATE_ORDERS),
        "register": Key(str, 'where the register is kept; "none": this clinic keeps no audit', False),
        "columns": Key(dict, "the spreadsheet's headers -> what they hold", required=False),
        "words": Key(dict, "own words in its cells -> ids, yes, no or not recorded", required=False),
        "list_covers": Key(list, "outcomes that a list column speaks of", required=False),
        "sheet": Key(str, "the sheet of a workbook that holds the treatments", required=False),
        "header_row": Key(str, 'the row of its headers, "3", or "2-3" for two lines', required=False),
    },
    "watch": {
        "baseline_until": Key(date, "treatments up to this day give the baseline"),
        "odds_ratio": Key(float, "the change to be found, as a ratio of odds; 2 is usual"),
        "run_length": Key(int, "treatments, on average, until a false signal"),
        "limits": Key(float, "limits of groups side by side, 95 or 99.8 percent; 99.8 without it", False),
        "adjust_for": Key(list, '"site", or strata of the field, that the expected number depends on', False),
    },
    "consent": {
        "rules": Key(str, "the law or body the clinic works under, by its name"),
        "wait_days": Key(int, "days to think, if more than that asks", required=False, least=0),
        "minimum_age": Key(int, "lowest age, if higher than that asks", required=False),
        "taken_by": Key(
            str, "who takes consent, if stricter than that asks", False, allowed=("operator", "trained")
        ),
        "photographs": Key(list, "purposes asked about, each by itself", False, allowed=PHOTOGRAPHS),
    },
    "groups": {
        "sites": Key(dict, "name of a group -> the sites compared together", required=False),
    },
    "library": {
        "field": Key(str, "a shipped field of medicine by its name; the usual one without it", False),
        "without": Key(list, "modules this clinic does without, as folder/id", required=False),
    },
    "desk": {
        "people": Key(list, "who works at the desk: the names under which things are done there", False),
    },
    "brand": brand.KEYS,
}
"""Tables and keys of clinic.toml. [care] holds the names of content/settings.toml."""
LENGTH_KEYS: Mapping[str, Key] = {
    name: Key(int, f"at most so many {meaning}; 0 for no limit", required=False, least=0)
    for name, meaning in LIMITS.items()
}
"""Keys of each table [length.DOCUMENT]."""

OWN_NAMES = ("care", "length")
"""Tables whose keys are names of the library."""
OPTIONAL_TABLES = (
    "consent",
    "readability",
    "rates",
    "audit",
    "watch",
    "groups",
    "library",
    "desk",
    "brand",
    *OWN_NAMES,
)

NO_REGISTER = "none"
"""What a clinic writes that keeps no audit: a missing register is never taken for that."""
NO_AUDIT: Mapping[str, Any] = {"register": NO_REGISTER}
"""What clinic.toml says without a table [audit]."""
