"""What a spreadsheet's columns and words mean: proposed, looked at by somebody of the clinic, and kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import chain, islice
from pathlib import Path

from consentpack.clinic import SETTINGS_FILE, keep_columns
from consentpack.errors import ClinicError, Problem, did_you_mean
from consentpack.locks import locked
from consentpack.pipeline.audit import reading_of
from consentpack.pipeline.place import Workplace
from consentpack.register import (
    IGNORE,
    LOOK,
    Place,
    Sheet,
    UnknownWord,
    Wanted,
    by_content,
    headings_of,
    looks_like_identity,
    map_columns,
    may_be_mapped,
    means_nothing,
    open_sheet,
    parts_of,
    propose,
    unknown_words,
)


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


def propose_columns(place: Workplace, path: Path, *, wanted: Wanted | None = None) -> Proposal:
    """A column map for a spreadsheet, and the words in it that nobody has explained. Raises RegisterError."""
    declared = place.clinic.audit_columns
    reading = reading_of(place)
    sheet = open_sheet(path, headings_of(declared, reading), wanted)
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
    columns = _confirmed({h: m for h, m in proposed.items() if h not in identities}, declared)
    where = Place(sheet.name, sheet.header_rows, sheet.others)
    words = _words(sheet, place, columns)
    techniques = next((header for header, meaning in columns.items() if meaning == "techniques"), "")
    return Proposal(where, columns, identities, words, parts_of(words, techniques, reading))


def _is_mapped(header: str, declared: Mapping[str, str]) -> bool:
    return header in declared and may_be_mapped(header, declared[header])


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
    place: Workplace, columns: Mapping[str, str], words: Mapping[str, str], *, dates: str = ""
) -> Path:
    """Put a column map into clinic.toml, what words in cells mean, and how days are typed where given.

    Everything else there stays as it was written, and so do other words that are there already. Raises
    ClinicError for a word that means nothing.
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
        return keep_columns(place.folder, columns, words, dates=dates)


_NEITHER = "no id, and neither yes, no, a grade nor 'not recorded'"
