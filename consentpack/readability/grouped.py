"""Tables of words in groups, as plain text: a line says what the words after it have in common.

Such a table is made from a larger package that is then not needed at run time. Its digest stands before it:
half a table would make hard texts look easy.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from consentpack.errors import ContentError, Problem

_DIGEST = "# sha256 of what follows: "
_GROUP = "= "
"""Begins the line that says what the words after it have in common."""


def groups(text: str, *, name: str, harm: str) -> Iterator[tuple[str, list[str]]]:
    """Each group's value, as it is written, and its words.

    Raises ContentError, which says the `harm`, when the table is not what was written.
    """
    said, _, body = text.partition(_DIGEST)[2].partition("\n")
    if said != _digest(body):
        raise ContentError(Problem(name, f"the table is damaged, so {harm}.", "Install consentpack again."))
    for group in body.split(_GROUP)[1:]:
        value, _, words = group.partition("\n")
        yield value, words.split()


def grouped_text(values: Mapping[str, str], about: str, *, order: Iterable[str] = ()) -> str:
    """The table of words with their values; `about` says where it is from, in lines that begin with '#'."""
    found: defaultdict[str, list[str]] = defaultdict(list, {value: [] for value in order})
    for word, value in sorted(values.items()):
        found[value].append(word)
    lines = [line for value, words in found.items() for line in (f"{_GROUP}{value}", *words)]
    body = "".join(f"{line}\n" for line in lines)
    return f"{about}{_DIGEST}{_digest(body)}\n{body}"


def _digest(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()
