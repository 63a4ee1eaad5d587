"""What goes wrong, said so that somebody in a clinic can put it right.

A `Problem` carries data (where, what, fix) and is formatted late, at the edge. An exception holds
all the problems of one run, because a clinician who mends one line should not meet the next one
only afterwards.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong."""

    where: str
    """File and line or row, as the person who typed it would find it."""
    what: str
    """What was found, and what would be right. A full sentence."""
    fix: str = ""
    """The next thing to type or to ask. Empty when `what` says it already."""

    def __str__(self) -> str:
        first = f"{self.where}: {self.what}"
        return f"{first}\n  {self.fix}" if self.fix else first


class ConsentpackError(Exception):
    """Base of every error meant for a user. Never raised itself."""

    exit_code = 1

    def __init__(self, problems: Problem | Iterable[Problem]):
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ContentError(ConsentpackError):
    """A module, document, glossary or source list is wrong."""

    exit_code = 10


class RegisterError(ConsentpackError):
    """The audit cannot be read, or its columns cannot be understood."""

    exit_code = 11


class TranslationError(ConsentpackError):
    """Something a patient would read is not translated."""

    exit_code = 12


class ReadabilityError(ConsentpackError):
    """A patient document is harder to read than the clinic's target."""

    exit_code = 13


class LengthError(ConsentpackError):
    """A document is longer than the clinic's target."""

    exit_code = 22


class OutputError(ConsentpackError):
    """A file or folder could not be written."""

    exit_code = 14


class PlanError(ConsentpackError):
    """A plan for a patient is wrong."""

    exit_code = 15


class ClinicError(ConsentpackError):
    """There is no clinic folder, or clinic.toml is wrong."""

    exit_code = 16


class ConsentRuleError(ConsentpackError):
    """The plan does not keep to the waiting time, age or person the clinic's rules ask for."""

    exit_code = 18


class SuitabilityError(ConsentpackError):
    """A rule says that what is planned does not go together, and nobody has written why it is right."""

    exit_code = 19


class ReadError(ConsentpackError):
    """A file that should be scored is not there, is of another kind, or cannot be read."""

    exit_code = 17


class KeptError(ConsentpackError):
    """The register was changed, and what should have followed, such as the report, failed."""

    exit_code = 21


class AccessibilityError(ConsentpackError):
    """A Word file breaks a rule for accessible documents."""

    exit_code = 20


class LedgerError(ConsentpackError):
    """A pack may not be given, or what was given is not as it was."""

    exit_code = 23


class BackupError(ConsentpackError):
    """Something cannot be saved, or an archive is damaged or none of ours."""

    exit_code = 24


class CheckError(ConsentpackError):
    """A check of the whole clinic folder found something that is not as it should be."""

    exit_code = 25


FAULT = 70
"""EX_SOFTWARE of sysexits.h (BSD): an internal fault. Never shared with an error a clinic can mend."""
STOPPED = 130
"""What a shell gives a command that was stopped with Ctrl-C: 128 and the number of the signal."""
PIPE_CLOSED = 141
"""The same for a command whose output nobody reads to the end."""

EXIT_CODES: dict[int, str] = {
    0: "All went well.",
    2: "The command was typed wrongly. Add --help to see how it goes.",
    ContentError.exit_code: "Content: a module, document, glossary or source list is wrong.",
    RegisterError.exit_code: "Audit: the file or the register cannot be read or understood.",
    TranslationError.exit_code: "Translation: something a patient would read is not translated.",
    ReadabilityError.exit_code: "Readability: a patient document is over the target grade.",
    LengthError.exit_code: "Length: a document has more words or sides than it may.",
    OutputError.exit_code: "Output: a file or folder could not be written.",
    PlanError.exit_code: "Plan: a plan for a patient is wrong.",
    ClinicError.exit_code: "Clinic folder: there is none here, or clinic.toml is wrong.",
    ConsentRuleError.exit_code: "Consent rules: waiting time, age or who takes consent.",
    SuitabilityError.exit_code: "Suitability: what is planned does not go together for this person.",
    ReadError.exit_code: "File to score: not there, of a kind that cannot be read, or empty.",
    KeptError.exit_code: "Kept, but: the register was changed; a file or the report was not written.",
    LedgerError.exit_code: "Ledger: a pack may not be given, or what was given is not as it was.",
    AccessibilityError.exit_code: "Accessibility: a Word file breaks a rule for accessible documents.",
    BackupError.exit_code: "Backup: something cannot be saved, or the archive is damaged or none of ours.",
    CheckError.exit_code: "Check: something in the clinic folder is not as it should be.",
    FAULT: "A fault in consentpack itself; `--fault-report FILE` keeps where it was. Please report it.",
    STOPPED: "Stopped by you (Ctrl-C).",
    PIPE_CLOSED: "The program that was to read the output stopped reading.",
}
"""Every exit code of the program; docs/reference and a test hold to this table."""


def unread(where: str, error: OSError | UnicodeDecodeError) -> Problem:
    """Why a file cannot be read at all: not there, a folder, not allowed, not text."""
    if isinstance(error, UnicodeDecodeError):
        what = f"the file is not UTF-8 text (byte {error.start + 1})."
        return Problem(where, what, "Save it as UTF-8.")
    fix = "Look at how its name is spelt, in which folder it is and who may open it."
    return Problem(where, f"the file cannot be read ({error.strerror}).", fix)


def did_you_mean(found: str, known: Iterable[str]) -> str:
    """A sentence naming the nearest of `known`, or '' when nothing is near.

    Words in another order count as near: 'cannula-blunt' is meant for 'blunt-cannula'.
    """
    known = sorted(known)
    near = difflib.get_close_matches(found, known, n=2, cutoff=0.6)
    if not near:
        by_words = {_in_order(word): word for word in known}
        near = [by_words[w] for w in difflib.get_close_matches(_in_order(found), by_words, n=2, cutoff=0.7)]
    return "Did you mean " + " or ".join(f"'{word}'" for word in near) + "?" if near else ""


def _in_order(words: str) -> str:
    return "-".join(sorted(words.split("-")))
