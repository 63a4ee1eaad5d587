"""Making a given pack once more, from what was kept and the register as it stood then."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from consentpack import __version__
from consentpack.errors import ConsentpackError, LedgerError, Problem
from consentpack.files import digest_of
from consentpack.ledger import Entry, entry_of
from consentpack.manifest import MANIFEST
from consentpack.model import Given
from consentpack.pipeline.given_inputs import laid_out, with_register
from consentpack.pipeline.kept_inputs import INPUTS, KeptInputs, inputs_in
from consentpack.pipeline.ledgers import closed_after, given_folder, ledger_register, reading_ledger
from consentpack.pipeline.packs import make_pack
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.writing import Pack
from consentpack.register import Moment, as_it_stood
from consentpack.shipped import code


@dataclass(frozen=True)
class Rebuilt:
    """A given pack beside the same made once more."""

    entry: Entry
    other: tuple[str, ...]
    """Files that came out differently."""
    figures: tuple[str, ...]
    """Outcomes whose figure came out differently."""
    failed: str = ""
    """Why it could not be made; '' where it was."""
    newer: str = ""
    """Why files may differ all the same: another program made it; '' where it was this one."""

    @property
    def holds(self) -> bool:
        """Whether what was kept still gives these figures, and, by the same program, the same papers."""
        return not self.failed and not self.figures and (not self.other or bool(self.newer))


def rebuild(clinic: Path, entry: Entry) -> Rebuilt:
    """Make a given pack again and compare. Files that were drawn by an office program are left out."""
    folder = given_folder(clinic, entry.reference, entry.version)
    try:
        kept = inputs_in((folder / INPUTS).read_bytes())
        manifest = json.loads((folder / MANIFEST).read_bytes())
        with (
            tempfile.TemporaryDirectory(prefix="consentpack-") as then,
            laid_out(clinic, kept) as (there, plan),
        ):
            pack = _made(_as_then(there, clinic, entry, Path(then)), plan, entry, kept)
    except ConsentpackError as error:
        return Rebuilt(entry, (), (), failed=f"{error.problems[0].where}: {error.problems[0].what}")
    except (OSError, ValueError) as error:
        return Rebuilt(entry, (), (), failed=f"what was kept with it cannot be read ({error}).")
    figures = _other_figures(manifest, json.loads(pack.files[MANIFEST]))
    return Rebuilt(entry, _other_files(pack, entry), figures, newer=_newer(kept))


def _as_then(there: Workplace, clinic: Path, entry: Entry, folder: Path) -> Workplace:
    """The clinic folder of then with the register of then."""
    moment = entry.more.get("moment")
    if moment is None:
        return with_register(there, "")
    register = ledger_register(clinic)
    assert register is not None  # the entry was read from it
    with closed_after(register), closed_after(as_it_stood(register, Moment(*moment), folder)) as then:
        url = then.engine.url.render_as_string(hide_password=False)
    return with_register(there, url)


@contextmanager
def as_of_entry(place: Workplace, number: int) -> Iterator[Workplace]:
    """A clinic folder that counts the audit as it stood at an entry of the ledger. Raises LedgerError."""
    with reading_ledger(place.folder) as connection:
        entry = entry_of(connection, number)
    if entry is None:
        fix = "`consentpack story` and `consentpack issued` show their numbers."
        raise LedgerError(Problem("ledger", f"there is no entry {number}.", fix))
    with tempfile.TemporaryDirectory(prefix="consentpack-") as folder:
        yield _as_then(place, place.folder, entry, Path(folder))


def _made(there: Workplace, plan: Path, entry: Entry, kept: KeptInputs) -> Pack:
    more: Mapping[str, Any] = entry.more
    large_print, both_languages, _, only = more["asked"]
    day = date.fromisoformat(entry.day)
    return make_pack(
        there,
        plan,
        today=day,
        large_print=large_print,
        both_languages=both_languages,
        language=str(more["language"]),
        only=frozenset(only),
        given=Given(entry.version, day, entry.code),
        told_before=kept.told_before,
    )


def _other_files(pack: Pack, entry: Entry) -> tuple[str, ...]:
    kept: Mapping[str, str] = entry.more.get("documents", {})
    made = {name: digest_of(data) for name, data in pack.files.items()}
    compared = {name: digest for name, digest in kept.items() if not name.endswith(".pdf")}
    return tuple(name for name, digest in compared.items() if made.get(name) != digest)


def _other_figures(kept: Mapping[str, Any], made: Mapping[str, Any]) -> tuple[str, ...]:
    """Outcomes that are not told alike, or that only one of the two tells."""
    before = {each["outcome"]: each for each in kept["rates"]}
    after = {each["outcome"]: each for each in made["rates"]}
    return tuple(sorted(id for id in {*before, *after} if before.get(id) != after.get(id)))


def _newer(kept: KeptInputs) -> str:
    if kept.program != __version__:
        made = f"it was made by consentpack {kept.program}, and this is {__version__}"
    elif kept.code != code():
        made = f"it was made by another consentpack {kept.program}, whose code is not that of this one"
    else:
        return ""
    return f"{made}: papers may be set differently."
