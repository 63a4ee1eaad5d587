"""The parts of a Word file and how they point to each other.

Not opened through python-docx: it refuses a file with macros, which has to be read to be named.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
from functools import cached_property
from pathlib import Path
from typing import Any

from consentpack.errors import Problem, ReadError
from consentpack.limits import DAMAGED
from consentpack.readers import read_bytes
from consentpack.readers.ooxml import W
from consentpack.readers.word import check_zip, damaged

ENDINGS = (".docx", ".docm", ".dotx", ".dotm")
_REL = "{http://schemas.openxmlformats.org/package/2006/relationships}Relationship"


class Package:
    """Parts by name; each XML part is parsed when it is first asked for."""

    def __init__(self, held: dict[str, bytes], shown: str):
        self.held, self.shown = held, shown
        self._parsed: dict[str, Any] = {}
        found = self.related("", "officeDocument")
        if not found or self.xml(found[0]).find(f"{W}body") is None:
            raise ReadError(Problem(shown, "this is not a Word document.", _SAVE))
        self.main = found[0]

    def xml(self, name: str) -> Any:
        """The root of a part. Raises ReadError where it is no XML."""
        if name not in self._parsed:
            self._parsed[name] = _parsed(self.held[name], self.shown)
        return self._parsed[name]

    def links(self, part: str) -> dict[str, tuple[str, str]]:
        """Relationship id -> kind and target of one part; '' is the package itself."""
        folder, name = posixpath.split(part)
        rels = posixpath.join(folder, "_rels", f"{name}.rels")
        found = self.xml(rels).iter(_REL) if rels in self.held else ()
        return {r.get("Id", ""): (_kind(r), _target(r, folder)) for r in found}

    def related(self, part: str, kind: str) -> list[str]:
        """The names of the parts of a kind that one part points to, each once."""
        names = (target for found, target in self.links(part).values() if found == kind)
        return [name for name in dict.fromkeys(names) if name in self.held]

    def first(self, kind: str) -> Any:
        """The root of the part of a kind the document points to, such as its styles; None without one."""
        return next((self.xml(name) for name in self.related(self.main, kind)), None)

    @cached_property
    def core(self) -> Any:
        """The document's properties; None where the file has none."""
        return next((self.xml(name) for name in self.related("", "core-properties")), None)


_SAVE = "Open it in Word or LibreOffice and save it as a Word document (.docx)."


def _kind(relationship: Any) -> str:
    return str(relationship.get("Type", "")).rpartition("/")[2]


def _target(relationship: Any, folder: str) -> str:
    """Where a relationship leads: the name of a part, or the address as it stands."""
    target = str(relationship.get("Target", ""))
    if relationship.get("TargetMode") == "External":
        return target
    return posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")


def _parsed(data: bytes, shown: str) -> Any:
    from lxml import etree  # noqa: PLC0415 - slow to load

    # a form from anywhere must neither reach the network nor unfold entities without end
    parser = etree.XMLParser(resolve_entities=False, no_network=True)
    try:
        return etree.fromstring(data, parser)
    except etree.XMLSyntaxError:
        raise damaged(shown) from None


def open_package(path: Path, shown: str) -> Package:
    """Raises ReadError when the file is not there, is of another kind, or cannot be read."""
    if path.suffix.lower() not in ENDINGS:
        what = f"only Word files ({', '.join(ENDINGS)}) can be checked."
        raise ReadError(Problem(shown, what, _SAVE))
    data = read_bytes(path, shown)
    check_zip(data, shown)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            held = {name: archive.read(name) for name in archive.namelist()}
    except (ValueError, *DAMAGED):  # the first: a directory that lies about places
        raise damaged(shown) from None
    return Package(held, shown)
