"""What a spreadsheet's columns and words mean: proposed, looked at by somebody of the clinic, and kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import chain, islice
from pathlib import Path
from types import MappingProxyType

from consentpack.clinic import SETTINGS_FILE, keep_columns, keep_place
from consentpack.errors import ClinicError, Problem, did_you_mean
from consentpack.locks import locked
from consentpack.pipeline.audit import reading_of
from consentpack.pipeline.kept_answers import with_kept
from consentpack.pipeline.place import Workplace
from consentpack.register import (
    IGNORE,
    LOOK,
    Place,
    Reading,
    Sheet,
    UnknownWord,
    Wanted,
    by_content,
    headings_of,
    looks_like_identity,
    map_columns,
    may_be_mapped,
    means_nothing,
    noticed_of,
    open_sheet,
    parts_of,
    place_of,
    propose,
    unknown_words,
)

_NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True)
class Proposal:
    """What a spreadsheet seems to hold. Nothing of it is taken as said before somebody keeps it."""

    place: Place
    """The sheet and the rows of the headers that were found."""
    columns: Mapping[str, str]
    """Header -> what it holds: as clinic.toml says, or as it seems; 'ignore' where that is not clear."""
    identities: tuple[str, ...]
    """Headers that look like an identity. They are in no map, so that the file goes on being refused."""
    words: tuple[UnknownWord, ...] = ()
    """Cells that cannot be read yet."""
    parts: tuple[UnknownWord, ...] = ()
    """Single words that stand in several of them, where techniques are named."""


def propose_columns(
    place: Workplace,
    path: Path,
    *,
    wanted: Wanted | None = None,
    columns: Mapping[str, str] = _NOTHING,
    words: Mapping[str, str] = _NOTHING,
) -> Proposal:
    """A column map for a spreadsheet, and the words in it that nobody has explained.

    `columns` and `words` are what somebody says of them now, as if it stood in clinic.toml. Raises
    RegisterError, and ClinicError for a column that is not there or a meaning that is none.
    """
    place = _as_said(place, columns, words)
    declared = place.clinic.audit_columns
    reading = reading_of(place)
    sheet = open_sheet(path, headings_of(declared, reading), with_kept(place, wanted))
    _check_said(columns, sheet.headers, reading)
    outcomes = {id: reading.names[id] for id in reading.outcomes if id in reading.names}
    more = {id: reading.names[id] for id in (*reading.strata, *reading.measurements)}
    head = list(islice(sheet.rows, LOOK))
    sheet = replace(sheet, rows=chain(head, sheet.rows))
    proposed = propose(sheet.headers, outcomes, more)
    said = {header: meaning for header, meaning in proposed.items() if meaning != IGNORE}
    proposed |= by_content(
        sheet.headers,
        [cells for _, cells in head],
        known=said | {header: declared[header] for header in proposed if header in declared},
        reading=reading,
        places={word for region in place.library.regions.values() for word in region.words},
    )
    identities = tuple(h for h in proposed if looks_like_identity(h) and not _is_mapped(h, declared))
    found = _confirmed({h: m for h, m in proposed.items() if h not in identities}, declared)
    return _proposal(sheet, place, found, identities)


def _proposal(sheet: Sheet, place: Workplace, columns: dict[str, str], out: tuple[str, ...]) -> Proposal:
    words = _words(sheet, place, columns)
    techniques = next((header for header, meaning in columns.items() if meaning == "techniques"), "")
    parts = parts_of(words, techniques, reading_of(place))
    return Proposal(place_of(sheet), columns, out, words, parts)


def _as_said(place: Workplace, columns: Mapping[str, str], words: Mapping[str, str]) -> Workplace:
    clinic = place.clinic
    said = replace(
        clinic,
        audit_columns={**clinic.audit_columns, **columns},
        audit_words={**clinic.audit_words, **words},
    )
    return replace(place, clinic=said)


def _check_said(columns: Mapping[str, str], headers: tuple[str, ...], reading: Reading) -> None:
    """A slip in a header or a meaning would be kept, and the column not read."""
    known = {*reading.fields, *reading.outcomes, *map(noticed_of, reading.outcomes), IGNORE}
    where, problems = f"{SETTINGS_FILE}, [audit.columns]", []
    for header, meaning in columns.items():
        if header not in headers:
            fix = did_you_mean(header, headers) or f"There are: {', '.join(filter(None, headers))}."
            problems.append(Problem(where, f"there is no column '{header}' in the file.", fix))
        if meaning not in known:
            fix = did_you_mean(meaning, known) or "`consentpack library list` shows all ids."
            what = f"'{header}' should hold '{meaning}', which no column can hold."
            problems.append(Problem(where, what, fix))
        elif meaning != IGNORE and looks_like_identity(header) and not may_be_mapped(header, meaning):
            what = f"'{header}' looks as if it says who a patient is: it can hold nothing that is read."
            problems.append(Problem(where, what, f'Say "{header}=ignore", and its cells are never read.'))
    if problems:
        raise ClinicError(problems)


def _is_mapped(header: str, declared: Mapping[str, str]) -> bool:
    """Whether somebody has said what a column holds, or that it is never read: that stays in the map."""
    said = declared.get(header)
    return said == IGNORE or (said is not None and may_be_mapped(header, said))


def _confirmed(proposed: Mapping[str, str], declared: Mapping[str, str]) -> dict[str, str]:
    """The proposed map, where clinic.toml does not already say what a column of this file holds."""
    kept = {header: declared[header] for header in proposed if header in declared}
    return {
        header: kept.get(header, "ignore" if meaning in kept.values() else meaning)
        for header, meaning in proposed.items()
    }


def _words(sheet: Sheet, place: Workplace, columns: Mapping[str, str]) -> tuple[UnknownWord, ...]:
    reading = reading_of(place)
    found, _ = map_columns(
        sheet.headers, columns, reading.outcomes, file=sheet.file, row=sheet.header_row, fields=reading.fields
    )
    return unknown_words(sheet.rows, found, reading)


def save_columns(
    place: Workplace,
    columns: Mapping[str, str],
    words: Mapping[str, str],
    *,
    dates: str = "",
    at: Place | None = None,
    wanted: Wanted | None = None,
) -> Path:
    """Put a column map into clinic.toml, what words in cells mean, and how days are typed where given.

    Of where the file's treatments stand, `at`, what is `wanted` is kept too. Everything else there stays as
    it was written, and so do other words that are there already. Raises ClinicError for a word that means
    nothing.
    """
    reading = reading_of(place)
    known = reading.techniques | reading.outcomes
    wrong = [
        Problem(f"{SETTINGS_FILE}, [audit.words]", f"'{word}' should mean '{id}', which is {_NEITHER}.", near)
        for word, meaning in words.items()
        for id, near in ((id, did_you_mean(id, known)) for id in means_nothing(meaning, known))
    ]
    if wrong:
        raise ClinicError(wrong)
    with locked(place.folder):
        path = keep_columns(place.folder, columns, words, dates=dates)
        if at and wanted:
            keep_place(place.folder, sheet=at.sheet if wanted.sheet else "", rows=wanted.header_rows)
    return path


_NEITHER = "no id, and neither yes, no, a grade nor 'not recorded'"
