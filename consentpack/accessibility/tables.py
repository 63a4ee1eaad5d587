"""Rules about tables: each cell is read with the heads of its row and column, so there must be such."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from consentpack.accessibility.file import Table, WordFile, text_of
from consentpack.accessibility.finding import US_LISTS, Fault, rule, wcag
from consentpack.accessibility.looks import find, switched, value
from consentpack.readers.ooxml import W

_MORE = ("drawing", "pict", "object", "sdt", "vMerge")


@rule("header-row", "The first row of each table is marked as its header row.", wcag("1.3.1"), US_LISTS)
def header_row(file: WordFile) -> Iterator[Fault]:
    for table in file.tables:
        marked = [_switched(row, "tblHeader") for row in table.row_elements]
        if len(marked) > 1 and not marked[0]:
            fix = "Click in its first row; Table Layout, Repeat Header Rows."
            yield Fault(table.where, "no row is marked as its header.", fix)
        elif sum(marked) > 1:
            yield Fault(
                table.where, f"{sum(marked)} rows are marked as headers.", "Mark the first row alone."
            )


def _switched(row: Any, tag: str) -> bool:
    return switched(row.findall(f"{W}trPr"), tag)


@rule("layout-table", "No table is there for its look alone.", wcag("1.3.2"), US_LISTS)
def layout_table(file: WordFile) -> Iterator[Fault]:
    """With a single row there is nothing that a header could be the header of."""
    for table in file.tables:
        if len(table.rows) == 1 and not table.nested:
            fix = "Take the text out of the table; for a frame use Borders."
            yield Fault(table.where, "a table of one row sets words in place.", fix)


@rule("rows-split", "No row of a table is split over two pages.", US_LISTS)
def rows_split(file: WordFile) -> Iterator[Fault]:
    for table in file.tables:
        if len(table.rows) > 1 and not all(_switched(row, "cantSplit") for row in table.row_elements):
            fix = "Select it; Table Properties, Row: no tick at 'Allow row to break across pages'."
            yield Fault(table.where, "its rows may be split over two pages.", fix)


@rule("merged-cells", "No cells are merged or split.", wcag("1.3.1"), US_LISTS)
def merged_cells(file: WordFile) -> Iterator[Fault]:
    """A screen reader counts cells, and loses the column."""
    for table in file.tables:
        cells = [properties for row in table.rows for cell in row for properties in cell.findall(f"{W}tcPr")]
        merged = any(_spans(properties) for properties in cells)
        if merged or len({len(row) for row in table.rows}) > 1:
            fix = "Table Layout: give each row the same cells, and say again what the merged cell said."
            yield Fault(table.where, "cells are merged or split.", fix)


def _spans(properties: Any) -> bool:
    wide = value(find((properties,), "gridSpan")) or "1"
    return (
        wide != "1" or find((properties,), "vMerge") is not None or find((properties,), "hMerge") is not None
    )


@rule("nested-table", "No table stands inside another.", US_LISTS)
def nested_table(file: WordFile) -> Iterator[Fault]:
    for table in file.tables:
        if table.nested:
            yield Fault(table.where, "it stands inside another table.", "Move it out, below the other.")


@rule("blank-row", "No row or column is blank.", US_LISTS)
def blank_row(file: WordFile) -> Iterator[Fault]:
    """A blank one makes space on the page and says 'the table ends' to the ear."""
    for table in file.tables:
        rows = [[bool(text_of(cell)) or _holds_more(cell) for cell in row] for row in table.rows]
        for what, lines in (("row", rows), ("column", _columns(table, rows))):
            blank = [number for number, line in enumerate(lines, 1) if not any(line)]
            if blank:
                said = ", ".join(map(str, blank))
                yield Fault(table.where, f"{what} {said} is blank.", "Delete it; make space by row height.")


def _columns(table: Table, rows: list[list[bool]]) -> list[list[bool]]:
    """Nothing where rows differ in cells: a column is then not to be told."""
    return [list(column) for column in zip(*rows, strict=True)] if len({len(r) for r in rows}) == 1 else []


def _holds_more(cell: Any) -> bool:
    """A picture, a control, or a part of a merged cell."""
    return any(next(cell.iter(f"{W}{name}"), None) is not None for name in _MORE)
