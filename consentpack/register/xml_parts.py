"""XML parts of a workbook, read as they come and never held as a whole.

Names lose their namespace, so that strict Open XML (ISO/IEC 29500, other namespaces) is read like the
usual kind. A document type is refused: no workbook has one, and it is how entity bombs are made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import IO, NoReturn
from xml.parsers import expat

from consentpack.register.limits import DEPTH, ELEMENTS, TOKEN_BYTES, TooMuch, chunks

Start = Callable[[list[str], Mapping[str, str]], None]
"""Called with the path of an element, its own name last, and its attributes."""
Named = tuple[str, Mapping[str, str]]


class Parser:
    """Feeds one part to handlers. A handler that raises stops the reading."""

    def __init__(
        self,
        *,
        start: Start,
        end: Callable[[list[str]], None] = lambda path: None,
        text: Callable[[str], None] = lambda text: None,
    ):
        self._path: list[str] = []
        self._start, self._end, self._text = start, end, text
        self._elements = self._silent = 0
        self._expat = expat.ParserCreate(namespace_separator=" ")
        self._expat.buffer_text = True
        self._expat.StartElementHandler = self._on_start
        self._expat.EndElementHandler = self._on_end
        self._expat.CharacterDataHandler = self._on_text
        self._expat.StartDoctypeDeclHandler = _no_doctype

    def feed(self, stream: IO[bytes]) -> Iterator[None]:
        """Read on, a piece at each step. Raises ExpatError, ValueError, TooMuch."""
        for chunk in chunks(stream):
            self._silent += len(chunk)
            if self._silent > TOKEN_BYTES:
                raise TooMuch("has an XML tag of absurd length")
            self._expat.Parse(chunk, False)
            yield
        self._expat.Parse(b"", True)
        yield

    def _on_start(self, name: str, attributes: dict[str, str]) -> None:
        self._silent = 0
        self._elements += 1
        self._path.append(name.rpartition(" ")[2])
        if self._elements > ELEMENTS or len(self._path) > DEPTH:
            raise TooMuch("has more XML elements than any audit")
        self._start(self._path, attributes)

    def _on_end(self, name: str) -> None:
        self._silent = 0
        self._end(self._path)
        self._path.pop()

    def _on_text(self, text: str) -> None:
        self._silent = 0
        self._text(text)


def _no_doctype(*_: object) -> NoReturn:
    raise ValueError("a document type")


def elements(stream: IO[bytes], wanted: Iterable[str], *, root: str) -> list[Named]:
    """The elements 'parent/name' of a part, in order, with attributes. Raises like `feed`."""
    names = frozenset(wanted)
    found: list[Named] = []

    def start(path: list[str], attributes: Mapping[str, str]) -> None:
        if len(path) == 1 and path[0] != root:
            raise ValueError(f"no {root}")
        if (name := "/".join(path[-2:])) in names:
            found.append((name, {key.rpartition(" ")[2]: value for key, value in attributes.items()}))

    for _ in Parser(start=start).feed(stream):
        pass
    return found
