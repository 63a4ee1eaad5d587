"""The same document gives the same bytes: no clock, no order of chance."""

from __future__ import annotations

import io
import zipfile

from docx.document import Document as WordDocument

_EPOCH = (1980, 1, 1, 0, 0, 0)
_FIRST = ("[Content_Types].xml", "_rels/.rels")


def saved(document: WordDocument) -> bytes:
    """A Word document as bytes with fixed dates and order."""
    stream = io.BytesIO()
    document.save(stream)
    made = io.BytesIO()
    with zipfile.ZipFile(stream) as source, zipfile.ZipFile(made, "w") as target:
        names = sorted(source.namelist(), key=lambda name: (name not in _FIRST, name))
        for name in names:
            entry = zipfile.ZipInfo(name, _EPOCH)
            entry.create_system = entry.external_attr = 0
            entry.compress_type = zipfile.ZIP_STORED if name.endswith(".png") else zipfile.ZIP_DEFLATED
            target.writestr(entry, source.read(name), compresslevel=6)
    return made.getvalue()
