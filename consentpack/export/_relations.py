"""What a document's body refers to outside itself: web addresses, and pictures in parts of their own."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import count
from urllib.parse import quote
from xml.sax.saxutils import quoteattr

from docx.opc.constants import RELATIONSHIP_TYPE

from consentpack.export import _ooxml as x
from consentpack.export._frame import Frame

_URL = "%/:=&?~#+!$,;'@()*[]"
"""What may stand in a web address as it is."""


@dataclass
class Relations:
    """The relationships of one document. What is referred to twice is kept once."""

    frame: Frame
    pictures: dict[str, bytes] = field(default_factory=dict)
    """Name of a part -> PNG."""
    _ids: dict[str | bytes, str] = field(default_factory=dict)
    _made: list[str] = field(default_factory=list)

    def link(self, address: str) -> str:
        """The id of a web address."""
        target = quote(x.clean(address), safe=_URL)  # with a space in it Word refuses the file
        if target not in self._ids:
            self._ids[target] = self._add(RELATIONSHIP_TYPE.HYPERLINK, target, ' TargetMode="External"')
        return self._ids[target]

    def picture(self, png: bytes) -> str:
        """The id of a picture."""
        if png not in self._ids:
            name = f"media/image{self.frame.pictures + len(self.pictures) + 1}.png"
            self.pictures[f"word/{name}"] = png
            self._ids[png] = self._add(RELATIONSHIP_TYPE.IMAGE, name)
        return self._ids[png]

    def _add(self, kind: str, target: str, mode: str = "") -> str:
        taken = {*self.frame.relations, *self._ids.values()}
        id = next(found for number in count(1) if (found := f"rId{number}") not in taken)
        self._made.append(f'<Relationship Id="{id}" Type="{kind}" Target={quoteattr(target)}{mode}/>')
        return id

    def xml(self) -> str:
        return "".join(self._made)
