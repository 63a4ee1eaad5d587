"""Yes or no of each treatment as one bit, and sums over those that say yes.

Conditions on a million treatments are then a few thousand operations on whole words. Sums take the bits of
the numbers one after the other (O'Neil and Quass 1997, Improved query performance with variant indexes).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Bits = NDArray[Any]
    """uint64, 64 treatments in each, the first in the lowest bit."""
    Flags = NDArray[Any]
    """bool, one for each treatment."""
    Numbers = NDArray[Any]
else:
    Bits = Flags = Numbers = Any  # without the package that takes a while to import

WORD = 64
"""Treatments in one word: each column is filled up to whole words."""


def packed(flags: Flags) -> Bits:
    """The bits of as many flags as fill whole words."""
    import numpy as np  # noqa: PLC0415 - takes a while to import

    return np.packbits(flags, bitorder="little").view(np.uint64)


def unpacked(bits: Bits) -> Flags:
    """The flags of some bits."""
    import numpy as np  # noqa: PLC0415

    return np.unpackbits(bits.view(np.uint8), bitorder="little").view(np.bool_)


def places(bits: Bits) -> Numbers:
    """The treatments that say yes, in order."""
    import numpy as np  # noqa: PLC0415

    return np.flatnonzero(unpacked(bits))


def number(bits: Bits) -> int:
    """How many say yes."""
    import numpy as np  # noqa: PLC0415

    return int(np.bitwise_count(bits).sum())


class Sliced:
    """Whole numbers of each treatment, none below 0, of which sums are wanted again and again."""

    def __init__(self, numbers: Numbers):
        largest = int(numbers.max(initial=0))
        self._slices = [packed(numbers & (1 << at) != 0) for at in range(largest.bit_length())]

    def over(self, bits: Bits) -> int:
        """The sum over the treatments that say yes."""
        return sum(number(each & bits) << at for at, each in enumerate(self._slices))
