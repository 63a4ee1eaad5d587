"""The hash tree of RFC 6962, section 2.1 (kept in RFC 9162): one short digest stands for all entries.

A digest is 32 bytes of SHA-256. A leaf and a node are told apart by their first byte, so that nobody can
pass one off as the other.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256

EMPTY = hashlib.sha256(b"").digest()
"""The root of no entries."""


def leaf(content: bytes) -> bytes:
    """The digest of an entry."""
    return hashlib.sha256(b"\x00" + content).digest()


def node(left: bytes, right: bytes) -> bytes:
    """The digest of two digests."""
    return hashlib.sha256(b"\x01" + left + right).digest()


class Growing:
    """A tree that grows by one leaf at a time and remembers its full parts only."""

    def __init__(self, parts: Sequence[bytes] = (), size: int = 0) -> None:
        """`parts` are the roots of the full trees that `size` leaves fall into, the largest first."""
        self.parts, self.size = list(parts), size

    def add(self, digest: bytes) -> bytes:
        """Add a leaf; the root of the largest full tree that ends with it."""
        self.size += 1
        rest, parts = self.size, self.parts
        while not rest & 1:
            digest = sha256(b"\x01" + parts.pop() + digest).digest()  # as `node`, once for each entry
            rest >>= 1
        parts.append(digest)
        return digest

    @property
    def root(self) -> bytes:
        """The digest of all leaves so far."""
        return together(self.parts)


def together(parts: Sequence[bytes]) -> bytes:
    """The root over full trees of falling size."""
    if not parts:
        return EMPTY
    found = parts[-1]
    for part in reversed(parts[:-1]):
        found = node(part, found)
    return found


def ends(size: int) -> list[int]:
    """How many leaves there are up to the end of each full tree that `size` leaves fall into."""
    found, upto = [], 0
    for bit in reversed(range(size.bit_length())):
        if size >> bit & 1:
            upto += 1 << bit
            found.append(upto)
    return found


def root_of(leaves: Sequence[bytes]) -> bytes:
    """The root over the digests of leaves."""
    growing = Growing()
    for each in leaves:
        growing.add(each)
    return growing.root


def path_of(index: int, leaves: Sequence[bytes]) -> list[bytes]:
    """The audit path of one leaf (RFC 6962, 2.1.1): what has to be hashed with it to come to the root.

    Raises IndexError where there is no such leaf.
    """
    if not 0 <= index < len(leaves):
        raise IndexError(index)
    return list(_path(index, 0, len(leaves), lambda first, upto: root_of(leaves[first:upto])))


def _path(index: int, first: int, upto: int, root: Callable[[int, int], bytes]) -> Iterator[bytes]:
    """From the leaf upwards."""
    if upto - first == 1:
        return
    middle = first + _largest_below(upto - first)
    if index < middle:
        yield from _path(index, first, middle, root)
        yield root(middle, upto)
    else:
        yield from _path(index, middle, upto, root)
        yield root(first, middle)


def _largest_below(size: int) -> int:
    """The largest power of two smaller than `size`."""
    found: int = 1 << (size - 1).bit_length() - 1
    return found


def leads_to(root: bytes, *, content: bytes, index: int, size: int, path: Sequence[bytes]) -> bool:
    """Whether an entry is in the tree of `size` leaves with that root (RFC 9162, 2.1.3.2)."""
    if not 0 <= index < size:
        return False
    here, last, found = index, size - 1, leaf(content)
    for each in path:
        if last == 0:
            return False
        if here % 2 or here == last:
            found = node(each, found)
            while here % 2 == 0 and here:
                here, last = here // 2, last // 2
        else:
            found = node(found, each)
        here, last = here // 2, last // 2
    return last == 0 and found == root
