"""Sets the scale of the score beside the grade, and says how it agrees with people's ratings.

python docs/build_ease.py --rated FOLDER            writes the numbers into content/familiarity.toml
python docs/build_ease.py --rated FOLDER --check    says whether they are out of date, exit code 1
python docs/build_ease.py --rated FOLDER --table    prints the correlations

FOLDER holds two open corpora that may not be shipped, and of which only counts enter the project:
medical_sentences.csv (MedReadMe, arXiv 2405.02144: columns Sentence, Source, Side, Readability; it has no
licence file) and general_passages.xlsx (the CLEAR corpus: columns Excerpt, BT_easiness; CC BY-NC-SA 4.0).

No rating sets a weight. Each ingredient's mean and spread are those of texts that lie in
tests/outside/graded under free licences; weights are equal. Of the rated corpora only percentiles are written
down: how the finished score is spread over them. Their ratings are an outside check.
"""

from __future__ import annotations

import argparse
import csv
import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from openpyxl import load_workbook

from consentpack import shipped
from consentpack.library import load_library
from consentpack.library.ease_table import ease_rules
from consentpack.model import EaseRules
from consentpack.pipeline import scorer_of
from consentpack.readability import prepare, split
from consentpack.readability.counts import total
from consentpack.readability.ease import INGREDIENTS, counts_of, value_of
from consentpack.readability.formulas import flesch_kincaid

ROOT = Path(__file__).resolve().parents[1]
TABLE = ROOT / "content" / "familiarity.toml"
GRADED = ROOT / "tests" / "outside" / "graded"
MEDICAL, GENERAL = "medical_sentences.csv", "general_passages.xlsx"
FOLDS = 5
RIDGE = 1.0
SENTENCES = 10
"""Sentences of one source, in the order of the corpus, that make a text of the kind 'public'."""


@dataclass(frozen=True)
class Rated:
    """One text: its counts, how hard people found it (higher is harder), whose it is."""

    counted: dict[str, float]
    grade: float
    hard: float = 0.0


@cache
def scorer():
    return scorer_of(load_library(shipped.content()))


def counted(text: str, hard: float = 0.0) -> Rated | None:
    pieces = [piece for each in split(prepare(text)) if (piece := scorer().piece(each)).words]
    if not pieces:
        return None
    grade = flesch_kincaid(total(piece.counts for piece in pieces))
    return Rated(dict(counts_of(pieces)), grade, hard)


# --- the texts --------------------------------------------------------------------------------------


def graded() -> list[Rated]:
    """The passages that lie in the project."""
    return _all((path.read_text(encoding="utf-8"), 0.0) for path in sorted(GRADED.glob("*/*.txt")))


def medical(folder: Path) -> list[Rated]:
    """Each rated sentence."""
    return _all((row["Sentence"], float(row["Readability"])) for row in _sentences(folder))


def public(folder: Path) -> list[Rated]:
    """Medical texts written for the public: ten sentences of one source at a time."""
    by_source: dict[str, list[str]] = {}
    for row in _sentences(folder):
        if row["Side"] == "simple":
            by_source.setdefault(row["Source"], []).append(row["Sentence"])
    runs = (
        " ".join(texts[start : start + SENTENCES])
        for texts in by_source.values()
        for start in range(0, len(texts) - SENTENCES + 1, SENTENCES)
    )
    return _all((run, 0.0) for run in runs)


def general(folder: Path) -> list[Rated]:
    """Each rated excerpt. In the corpus a high value is easy."""
    with (folder / GENERAL).open("rb") as file:
        head, *rows = load_workbook(file, read_only=True).active.values
    text, easy = head.index("Excerpt"), head.index("BT_easiness")
    return _all((row[text], -row[easy]) for row in rows if row[text] and row[easy] is not None)


def _sentences(folder: Path) -> Iterator[dict[str, str]]:
    with (folder / MEDICAL).open(encoding="utf-8", newline="") as file:
        yield from csv.DictReader(file)


def _all(texts: Iterable[tuple[str, float]]) -> list[Rated]:
    return [made for text, hard in texts if (made := counted(text, hard))]


# --- the scale --------------------------------------------------------------------------------------


def scale() -> dict[str, tuple[float, float]]:
    """Ingredient -> mean and standard deviation over the passages that lie in the project."""
    texts = graded()
    values = {id: np.array([text.counted[id] for text in texts]) for id in INGREDIENTS}
    return {id: (float(found.mean()), float(found.std(ddof=1))) for id, found in values.items()}


def cuts(texts: Sequence[Rated], rules: EaseRules) -> list[float]:
    """The 99 percentiles of the score over some texts."""
    values = [value_of(text.counted, rules) for text in texts]
    return [round(float(cut), 3) + 0.0 for cut in np.percentile(values, range(1, 100))]


def written(text: str, folder: Path) -> str:
    """The table with its numbers set anew; words and reasons stay as they are."""
    for id, (mean, sd) in scale().items():
        text = _set(text, f"ingredients.{id}", "mean", f"{mean:.3f}")
        text = _set(text, f"ingredients.{id}", "sd", f"{sd:.3f}")
    rules = _rules(text)
    for kind, texts in (("school", general(folder)), ("public", public(folder))):
        text = _set(text, f"kinds.{kind}", "texts", str(len(texts)))
        listed = ", ".join(f"{cut:g}" for cut in cuts(texts, rules))
        text = _set(text, f"kinds.{kind}", "cuts", f"[{listed}]")
    return text


def _rules(text: str) -> EaseRules:
    return ease_rules(text, file=TABLE.name)[0]


def _set(text: str, table: str, key: str, value: str) -> str:
    pattern = re.compile(rf"(^\[{re.escape(table)}\]\n(?:(?!\[).*\n)*?{key} = ).*$", re.MULTILINE)
    new, found = pattern.subn(lambda match: match.group(1) + value, text)
    assert found == 1, f"[{table}] {key}"
    return new


# --- beside people's ratings ------------------------------------------------------------------------


def five_fold(texts: Sequence[Rated], *, grade_alone: bool = False) -> float:
    """Correlation of ratings with what ridge regression foretells of texts it has not seen."""
    columns = [] if grade_alone else list(INGREDIENTS)
    x = np.array([[text.grade, *(text.counted[id] for id in columns)] for text in texts])
    x = x if grade_alone else x[:, 1:]
    y = np.array([text.hard for text in texts])
    fold = np.random.default_rng(0).permutation(len(y)) % FOLDS
    foretold = np.zeros(len(y))
    for number in range(FOLDS):
        seen = fold != number
        mean, sd = x[seen].mean(0), x[seen].std(0)
        z, level = (x[seen] - mean) / sd, y[seen].mean()
        weights = np.linalg.solve(z.T @ z + RIDGE * np.eye(z.shape[1]), z.T @ (y[seen] - level))
        foretold[~seen] = (x[~seen] - mean) / sd @ weights + level
    return float(np.corrcoef(foretold, y)[0, 1])


def shipped_score(texts: Sequence[Rated], rules: EaseRules) -> float:
    """Correlation of ratings with the score as it is shipped, which has seen none of them."""
    return float(np.corrcoef([value_of(t.counted, rules) for t in texts], [t.hard for t in texts])[0, 1])


def table(folder: Path) -> str:
    rules = load_library(shipped.content()).ease
    lines = ["| texts | grade alone | as shipped | fitted, five-fold |", "| --- | ---: | ---: | ---: |"]
    for name, texts in (("medical sentences", medical(folder)), ("general passages", general(folder))):
        values = (five_fold(texts, grade_alone=True), shipped_score(texts, rules), five_fold(texts))
        lines.append(f"| {len(texts):,} {name} | {' | '.join(f'{value:.2f}' for value in values)} |")
    return "\n".join(lines)


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--rated", type=Path, required=True)
    options.add_argument("--check", action="store_true")
    options.add_argument("--table", action="store_true")
    asked = options.parse_args()
    if asked.table:
        print(table(asked.rated))
        return
    now = TABLE.read_text(encoding="utf-8")
    new = written(now, asked.rated)
    if not asked.check:
        TABLE.write_text(new, encoding="utf-8")
    elif new != now:
        sys.exit(f"{TABLE} is out of date. Run: python docs/build_ease.py --rated FOLDER")


if __name__ == "__main__":
    main()
