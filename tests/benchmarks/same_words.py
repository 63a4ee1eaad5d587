"""How much of a form is the same for everybody: words in blocks that stand in the papers of every example.

    python tests/benchmarks/same_words.py [--code DIR] [--unlike]

A block is a paragraph, a point of a list or a cell, as the patient reads it. Prints a line per kind of
document: words of each example, and the share that stands in all of them. The examples of the invented
clinic are alike: all loosen a sunken scar of the face under local anaesthetic, and share what can go wrong.
--unlike takes six that share nothing but the clinic: a needle in the face, a scar cut out of the back, an
injected keloid of the shoulder, a mole to be tested, gel near the eye, a sanded cheek.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
UNLIKE = sorted((Path(__file__).parents[1] / "unlike_plans").glob("*.toml"))
_TREES = """
import json, sys
from datetime import date, datetime
from pathlib import Path
from consentpack import pipeline
from consentpack.tree import bodies, paragraphs, text_of
folder = pipeline.copy_demo(Path(sys.argv[1]) / "clinic")
place = pipeline.open_workplace(folder)
pipeline.import_audit(place, folder / "audit.csv", now=datetime(2026, 11, 25, 9), by="count")
found = {}
for path in map(Path, sys.argv[2:]) if sys.argv[2:] else pipeline.plan_files(place):
    pack = pipeline.make_pack(place, path, today=date(2026, 11, 25))
    for document in pack.documents:
        nodes = [*document.lead, *(node for section in document.sections for node in section.nodes)]
        blocks = [text_of(p.runs) for node in nodes for p in paragraphs(node)]
        found.setdefault(document.kind, {})[path.stem] = [b for b in blocks if b.strip()]
print(json.dumps(found))
"""


def blocks_of(code: Path, *, plans: Iterable[Path] = ()) -> dict[str, dict[str, list[str]]]:
    """Kind of document -> example -> its blocks, as the program of a checkout makes them of its own examples,
    or of other plans."""
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            [sys.executable, "-c", _TREES, folder, *map(str, plans)],
            env={**os.environ, "PYTHONPATH": str(code)}, capture_output=True, text=True, check=True,
            cwd=folder,
        )  # fmt: skip
    found: dict[str, dict[str, list[str]]] = json.loads(done.stdout)
    return found


def share_of_all(examples: dict[str, list[str]]) -> dict[str, float]:
    """Example -> share of its words that stand in blocks which every example has."""
    everywhere = set.intersection(*(set(blocks) for blocks in examples.values()))
    return {
        name: sum(words(b) for b in blocks if b in everywhere) / sum(words(b) for b in blocks)
        for name, blocks in examples.items()
    }


def words(text: str) -> int:
    return len(text.split())


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--code", type=Path, default=HERE)
    parser.add_argument("--unlike", action="store_true")
    asked = parser.parse_args()
    for kind, examples in blocks_of(asked.code.resolve(), plans=UNLIKE if asked.unlike else ()).items():
        shares = share_of_all(examples)
        counted = {name: sum(map(words, blocks)) for name, blocks in examples.items()}
        print(
            kind,
            *(f"{name}: {counted[name]} words, {share:.0%} in all" for name, share in shares.items()),
            sep=" | ",
        )
