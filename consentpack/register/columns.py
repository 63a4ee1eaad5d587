"""Which column of a spreadsheet holds what, and which columns must never be read."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from consentpack.errors import Problem, did_you_mean
from consentpack.normal import plain

FIELDS: Mapping[str, str] = {
    "case": "the clinic's own case reference (no name, no record number)",
    "session": "number of the treatment session of that case: 1, 2, 3 …",
    "date": "day of the treatment",
    "techniques": "ids of the techniques used together, with ';' between",
    "site": "the area treated",
    "last_seen": "day the patient was last seen about this treatment",
    "retreated": "day the same place was treated again, which ends watching",
    "outcomes_seen": "list of what was seen, with ';' between; 'none' when nothing was",
    "operator": "who treated: initials or a number",
}
NOTICED = "noticed:"
"""How the meaning of a column begins that holds the day an outcome was first noticed: 'noticed:bruising'."""
REQUIRED = ("case", "session", "date", "techniques", "site")
IGNORE = "ignore"

_IDENTITY_WORDS = frozenset(
    (
        *("name", "surname", "forename", "firstname", "lastname", "fullname", "birth", "birthday"),
        *("dob", "age", "phone", "mobile", "tel", "telephone", "email", "mail", "address"),
        *("postcode", "zip", "nhs", "mrn", "hospital", "passport", "insurance", "ssn"),
    )
)
_IDENTITY_PARTS = ("birth", "surname", "forename", "email", "patientname", "telephone", "postcode", "dob")
"""Headers that look like an identity. A case reference of the clinic's own is all that is needed."""


def looks_like_identity(header: str) -> bool:
    """Whether a column seems to say who a patient is, however its words are joined."""
    words = _header_words(header)
    return bool(_IDENTITY_WORDS & set(words)) or any(p in "".join(words) for p in _IDENTITY_PARTS)


_OF_OTHERS = frozenset(("name", "age", "hospital", "address", "mail", "mobile", "tel", "zip", "insurance"))
"""Words that stand in other headers too: 'name of device', 'hospital visit'."""
_OF_PATIENTS = frozenset(("patient", "patients", "client", "clients", "full", "first", "last", "maiden"))
_AS_TYPED = ("case", "site", "operator")
"""Fields whose cells are kept as they are typed. All others hold a number, a day, or a word of a list."""


def may_be_mapped(header: str, meaning: str) -> bool:
    """Whether a header that looks like an identity may hold something else because somebody says so.

    Not the reference of a case, which is free text beside all else; and not where the header is nothing
    but such a word, or speaks of the patient.
    """
    words = _header_words(header)
    found = _IDENTITY_WORDS & set(words)
    others = any(part in "".join(words) for part in _IDENTITY_PARTS)
    if meaning == "case" or others or not found <= _OF_OTHERS or _OF_PATIENTS & set(words):
        return False
    return len(words) > 1 or meaning not in _AS_TYPED


def _header_words(header: str) -> list[str]:
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", plain(header))
    return re.findall(r"[a-z]+", apart.lower())


def noticed_of(outcome: str) -> str:
    """What a column means that holds the day an outcome was first noticed."""
    return f"{NOTICED}{outcome}"


@dataclass(frozen=True)
class ColumnMap:
    """Field or outcome -> position of its column, counted from 0."""

    fields: Mapping[str, int]
    outcomes: Mapping[str, int]
    ignored: tuple[str, ...]
    headers: tuple[str, ...]
    noticed: Mapping[str, int] = field(default_factory=dict)
    """Outcome -> position of the day on which it was first noticed."""

    def position(self, meaning: str) -> int | None:
        """Where the column stands that means something; None when there is none."""
        if meaning.startswith(NOTICED):
            return self.noticed.get(meaning.removeprefix(NOTICED))
        return self.fields.get(meaning, self.outcomes.get(meaning))

    @property
    def dates(self) -> tuple[int, ...]:
        """Where days stand."""
        known = ("date", "last_seen", "retreated")
        return (*(self.fields[name] for name in known if name in self.fields), *self.noticed.values())


def map_columns(
    headers: Iterable[str],
    declared: Mapping[str, str],
    outcomes: Iterable[str],
    *,
    file: str,
    row: int = 1,
    fields: Mapping[str, str] = FIELDS,
) -> tuple[ColumnMap, list[Problem]]:
    """Where each field and outcome stands, and what is wrong with the headers.

    `declared` is [audit.columns] of clinic.toml: header -> field, outcome id or 'ignore'. A header
    that is itself a field or an outcome id needs no entry. Any other header is ignored: its cells
    are never read. `row` is where the headers stand; `fields` are FIELDS and those of the field of
    medicine.
    """
    headers = tuple(plain(header) for header in headers)
    declared = {plain(header): meaning for header, meaning in declared.items()}
    outcomes = tuple(outcomes)
    known, where = {*fields, *outcomes, *map(noticed_of, outcomes), IGNORE}, f"{file}, row {row}"
    problems = _check_declared(headers, declared, known, where)
    meant: dict[str, int] = {}
    ignored = []
    for position, header in enumerate(headers):
        meaning = declared.get(header, header)
        if looks_like_identity(header) and meaning != IGNORE and not _is_mapped(header, declared, known):
            problems.append(_identity(header, where))
        elif meaning == IGNORE or meaning not in known:
            ignored.append(header)
        elif meaning in meant:
            what = f"two columns hold '{meaning}': '{headers[meant[meaning]]}' and '{header}'."
            problems.append(Problem(where, what))
        else:
            meant[meaning] = position
    problems += [
        Problem(
            where,
            f"no column holds '{name}' ({FIELDS[name]}).",
            f'Name it in clinic.toml under [audit.columns]: "Your header" = "{name}".',
        )
        for name in REQUIRED
        if name not in meant
    ]
    found = {name: at for name, at in meant.items() if name in fields}
    rest = {name: at for name, at in meant.items() if name in outcomes and name not in fields}
    days = {id: meant[noticed_of(id)] for id in outcomes if noticed_of(id) in meant}
    return ColumnMap(found, rest, tuple(filter(None, ignored)), headers, days), problems


def _is_mapped(header: str, declared: Mapping[str, str], known: set[str]) -> bool:
    return declared.get(header) in known and may_be_mapped(header, declared[header])


def _check_declared(
    headers: tuple[str, ...], declared: Mapping[str, str], known: set[str], where: str
) -> list[Problem]:
    problems = []
    for header, meaning in declared.items():
        if header not in headers and meaning != IGNORE:  # what is not read may be gone
            what = f"clinic.toml names the column '{header}', which is not there."
            problems.append(Problem(where, what, did_you_mean(header, headers)))
        if meaning not in known:
            what = f"'{header}' should hold '{meaning}', which is neither a field nor an outcome."
            alike = {each for each in known if each.startswith(NOTICED) == meaning.startswith(NOTICED)}
            problems.append(Problem("clinic.toml, [audit.columns]", what, did_you_mean(meaning, alike)))
    return problems


def _identity(header: str, where: str) -> Problem:
    what = f"the column '{header}' looks as if it says who a patient is."
    fix = (
        "Take it out of the file, or, if it does not, name it in clinic.toml under "
        f'[audit.columns]: "{header}" = "ignore". The register must not know who patients are.'
    )
    return Problem(where, what, fix)
