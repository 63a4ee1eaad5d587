"""Builds docs/why/readability-calibration.md: our scores beside others', and what a difference means.

python docs/build_calibration.py            writes the page
python docs/build_calibration.py --check    says whether it is out of date, exit code 1
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterable, Sequence
from math import ceil
from pathlib import Path

from calibration import compare, small_edits
from calibration.passages import MODULES, passages, scorer, sentences_of
from calibration.published import WORKED, printed

from consentpack.readability import words_of

PAGE = Path(__file__).parent / "why" / "readability-calibration.md"
_MADE = "<!-- Built by docs/build_calibration.py. Do not edit. -->\n\n"
FK = "flesch-kincaid"
PER_SENTENCE, PER_WORD = 0.39, 11.8
"""Of the Flesch-Kincaid formula: what one word a sentence, and one syllable a word, are worth."""
EXAMPLES = ("anaesthetist", "antihistamine", "haematoma", "ibuprofen", "paracetamol", "telangiectasia")
"""Clinical words of other modules, shown beside those of our three."""


def table(head: Sequence[str], rows: Iterable[Sequence[str]], *, words: Sequence[int] = (0,)) -> str:
    """A Markdown table; the columns `words` hold words, the others numbers, which stand to the right."""
    rule = ["---" if i in words else "---:" for i in range(len(head))]
    return "\n".join(f"| {' | '.join(row)} |" for row in (head, rule, *rows)) + "\n"


def number(value: float, places: int = 2, *, sign: bool = False) -> str:
    """A number as it is printed, with a real minus and no minus zero."""
    value = round(value, places) + 0.0
    return f"{value:{'+' if sign and value else ''}.{places}f}".replace("-", "−")


def up(value: float) -> str:
    """Rounded up to a tenth: what is called too small must not be made smaller."""
    return f"{ceil(round(value, 6) * 10) / 10:.1f}"


# --- others ---------------------------------------------------------------------------------------


def printed_values() -> str:
    rows = [
        (p.what, p.measure, p.who, number(p.printed), number(p.ours), number(p.ours - p.printed), p.why)
        for p in printed()
    ]
    head = ("text", "measure", "printed by", "printed", "ours", "apart", "why")
    return table(head, rows, words=(0, 1, 2, 6))


def worked_values() -> str:
    rows = [(name, number(value, 4), number(formula(counts), 4)) for name, formula, counts, value in WORKED]
    return table(("measure", "on paper", "ours"), rows)


def side_by_side() -> str:
    """Each passage and measure: ours, textstat's, the second program's."""
    rows = []
    for passage in passages():
        cells = [passage.name, f"{passage.counts.words:,}"]
        for measure in compare.MEASURES:
            others = (compare.value(program, measure, passage) for program in PROGRAMS)
            cells.append(" / ".join(number(v, 1) for v in (measure.formula(passage.counts), *others)))
        rows.append(cells)
    return table(("passage", "words", *(m.name for m in compare.MEASURES)), rows)


PROGRAMS = (compare.TEXTSTAT, compare.SECOND)


def causes(program: str) -> str:
    """What each cause moves, on average and at most, over all passages."""
    found: defaultdict[tuple[str, str], list[float]] = defaultdict(list)
    for moved in compare.all_moved():
        if moved.program == program and moved.cause != compare.LEFT_OVER:
            found[moved.measure, moved.cause].append(moved.by)
    names = {measure.id: measure.name for measure in compare.MEASURES}
    rows = [
        (names[id], cause, number(sum(by) / len(by), sign=True), number(max(by, key=abs), sign=True))
        for (id, cause), by in found.items()
    ]
    return table(("measure", "cause", "on average", "at most"), rows, words=(0, 1))


def left_over() -> str:
    most = max(abs(moved.by) for moved in compare.all_moved() if moved.cause == compare.LEFT_OVER)
    return number(most, 6)


def undercounted() -> str:
    """Words of our three modules, and examples, of which textstat counts fewer syllables than are said."""
    words = {*EXAMPLES, *(word for sentence in sentences_of(MODULES) for word in words_of(sentence))}
    said = {word.lower(): scorer().syllables.of(word) for word in words}
    short = {word: n for word, n in said.items() if n.textstat < n.corrected}
    rows = [(word, str(n.textstat), str(n.corrected)) for word, n in sorted(short.items())]
    return table(("word", "textstat", "as it is said"), rows)


def apart(program: str) -> str:
    """The mean distance of another program's Flesch-Kincaid from ours."""
    measure = next(m for m in compare.MEASURES if m.id == FK)
    found = [abs(compare.value(program, measure, p) - measure.formula(p.counts)) for p in passages()]
    return number(sum(found) / len(found), 1)


# --- small edits ----------------------------------------------------------------------------------


def cell(change: small_edits.Change | None) -> str:
    if change is None:
        return "–"
    low, high = number(change.low, sign=True), number(change.high, sign=True)
    return f"{number(change.spread)} ({low} to {high})"


def study_table(by_length: dict[int, dict[str, small_edits.Change]]) -> str:
    rows = [(m.name, *(cell(found.get(m.id)) for found in by_length.values())) for m in compare.MEASURES]
    return table(("measure", *(f"{words:,} words" for words in by_length)), rows)


def study() -> str:
    parts = []
    for name in small_edits.EDITS:
        by_length = {words: small_edits.results()[name, words] for words in small_edits.LENGTHS}
        parts.append(f"### {name}\n\n{study_table(by_length)}")
    return "\n".join(parts)


def one_edit(words: int) -> float:
    """The furthest that one small edit moves Flesch-Kincaid, in 95 of 100 trials."""
    single = [name for name in small_edits.EDITS if name.startswith("One ")]
    return max(small_edits.results()[name, words][FK].most for name in single)


def five_words(words: int) -> float:
    name = next(name for name in small_edits.EDITS if name.startswith("Five "))
    return small_edits.results()[name, words][FK].most


def another_passage(words: int) -> str:
    found = small_edits.chance().get(words)
    return up(found[FK].most) if found else "–"


def small_is() -> str:
    """Flesch-Kincaid alone: how large a difference says nothing."""
    rows = [
        (f"{words:,}", up(one_edit(words)), up(five_words(words)), another_passage(words))
        for words in small_edits.LENGTHS
    ]
    return table(("words", "one small edit", "five words in 200", "another passage"), rows)


# --- the page -------------------------------------------------------------------------------------


def jump() -> str:
    """How far Dale-Chall goes at most when one sentence of a short text is left out."""
    return up(small_edits.results()["One sentence is left out", small_edits.LENGTHS[0]]["dale-chall"].most)


def split_in_news(words: int = 100) -> str:
    """What one split does to the Flesch-Kincaid grade of so many words of the hard news."""
    sentences = words / small_edits.plain_and_hard()[1]
    return number(PER_SENTENCE * words * (1 / sentences - 1 / (sentences + 1)), 1)


def fillings() -> dict[str, str]:
    """What stands for each name in braces in page.txt."""
    mine, hard = small_edits.plain_and_hard()
    return {
        "printed_values": printed_values(),
        "worked_values": worked_values(),
        "worked_count": str(len(WORKED)),
        "side_by_side": side_by_side(),
        "causes_textstat": causes(compare.TEXTSTAT),
        "causes_second": causes(compare.SECOND),
        "left_over": left_over(),
        "undercounted": undercounted(),
        "apart_textstat": apart(compare.TEXTSTAT),
        "apart_second": apart(compare.SECOND),
        "trials": f"{small_edits.TRIALS:,}",
        "mine": number(mine, 0),
        "hard": number(hard, 0),
        "study": study(),
        "chance": study_table(small_edits.chance()),
        "jump": jump(),
        "small_is": small_is(),
        "hard_split": split_in_news(),
        "split": up(small_edits.results()["One sentence is split in two", 100][FK].most),
        "split_long": up(small_edits.results()["One sentence is split in two", 1000][FK].most),
        "short_edit": up(one_edit(100)),
        "short_chance": another_passage(100),
        "middle_chance": another_passage(300),
        "long_chance": another_passage(1000),
        "grade_words": number(1 / PER_SENTENCE, 1),
        "grade_syllables": number(100 / PER_WORD, 0),
        "fifth_words": number(0.2 / PER_SENTENCE, 1),
        "fifth_syllables": number(0.2 * 100 / PER_WORD, 1),
    }


def page() -> str:
    words = (Path(__file__).parent / "calibration" / "page.txt").read_text(encoding="utf-8")
    return _MADE + words.format_map(fillings())


def main() -> int:
    text, check = page(), "--check" in sys.argv
    if PAGE.is_file() and PAGE.read_text(encoding="utf-8") == text:
        return 0
    if not check:
        PAGE.write_text(text, encoding="utf-8")
    print(
        f"docs/why/{PAGE.name} {'is out of date: python docs/build_calibration.py' if check else 'written'}"
    )
    return int(check)


if __name__ == "__main__":
    sys.exit(main())
