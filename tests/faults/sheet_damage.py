"""Damaged spreadsheets by their number: the same seed and number give the same bytes."""

from __future__ import annotations

import random

import csv_damage  # noqa: F401 - its damages are added to the table
import workbook_damage  # noqa: F401 - the same
from sheet_parts import DAMAGES, Damaged, rows_of


def sheet(seed: int, number: int) -> Damaged:
    """The damaged sheet of a number."""
    chance = random.Random(seed * 1_000_003 + number)
    return DAMAGES[number % len(DAMAGES)](chance, rows_of(chance))
