"""The Markdown subset of content files: blocks with their source lines, and runs of one block.

Everything outside the subset is a problem with file and line. Silence would be worse: text that the
parser does not understand would be missing from the form a patient signs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from markdown_it import MarkdownIt
from markdown_it.rules_block import StateBlock
from markdown_it.rules_core import StateCore
from markdown_it.token import Token

from consentpack.errors import Problem
from consentpack.limits import MARK, MOST_MARKS, OverLimit
from consentpack.tree import Block, Inline, Run, Runs

_DIRECTIVE = re.compile(r"^:::[ \t]*([a-z][a-z-]*)[ \t]*$")
_ONLY = re.compile(r"^\[only ([^\[\]]*)\]\s+(?=\S)")
"""The mark before a paragraph or a point that says when it belongs."""
_SHEET = re.compile(r"^\[sheet(?: ([a-z][a-z-]*))?\]\s+(?=\S)")
"""The mark before a point that the short sheet prints too, after that of its condition."""
SAFE_LINK = re.compile(r"^(https://|mailto:|tel:)")

ALLOWED = "headings, paragraphs, '- ' bullets, '1. ' numbers, **bold**, [links](https://…)"
_MEANT = {
    "blockquote_open": "a quotation (> …)",
    "code_block": "an indented block, which Markdown reads as program code",
    "fence": "a fenced block (```)",
    "hr": "a horizontal line",
    "html_block": "HTML",
    "html_inline": "HTML",
    "em_open": "slanted text (*…*), which is hard to read; use **bold**",
    "image": "a picture",
    "code_inline": "program code (`…`)",
    "hardbreak": "a forced line break",
    "heading_open": "a heading inside a list",
}


def _directive(state: StateBlock, start: int, _end: int, silent: bool) -> bool:
    begin, end = state.bMarks[start] + state.tShift[start], state.eMarks[start]
    found = _DIRECTIVE.match(state.src[begin:end])
    if not found:
        return False
    if not silent:
        state.line = start + 1
        token = state.push("directive", "", 0)
        token.content, token.map = found.group(1), [start, start + 1]
    return True


class TooManyMarks(OverLimit):
    """A block whose signs would keep the parser busy for minutes; `line` counts from 0."""

    def __init__(self, line: int) -> None:
        super().__init__(f"a paragraph has more than {MOST_MARKS} signs such as * and _")
        self.line = line


def _bound(state: StateCore) -> None:
    """Between finding blocks and reading what is in them: 70 kB of '*a **b' took 46 seconds."""
    for token in state.tokens:
        if token.type == "inline" and len(MARK.findall(token.content)) > MOST_MARKS:
            raise TooManyMarks(token.map[0] if token.map else 0)


def _bounded(parser: MarkdownIt) -> MarkdownIt:
    parser.core.ruler.after("block", "bound", _bound)
    return parser


def _parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark")
    parser.block.ruler.before("paragraph", "directive", _directive, {"alt": ["paragraph", "list"]})
    # reference links would hide text from the reader; a line of '===' would make a heading
    parser.disable(["reference", "lheading"])
    return parser


_PARSER = _bounded(_parser())


def parse(text: str, *, file: str, first_line: int = 1) -> tuple[tuple[Block, ...], list[Problem]]:
    """The blocks of `text`, whose first line is line `first_line` of `file`, and what is wrong.

    Blocks that could be read are returned even when others could not.
    """
    try:
        tokens = _PARSER.parse(text)
    except TooManyMarks as error:
        return (), [Problem(f"{file}, line {first_line + error.line}", f"{error}.", "Write it more plainly.")]
    blocks: list[Block] = []
    problems: list[Problem] = []
    index = 0
    while index < len(tokens):
        index = _take(tokens, index, blocks, problems, file=file, offset=first_line)
    return tuple(blocks), problems


def _take(
    tokens: list[Token],
    index: int,
    blocks: list[Block],
    problems: list[Problem],
    *,
    file: str,
    offset: int,
) -> int:
    token = tokens[index]
    line = (token.map[0] if token.map else 0) + offset
    end = _closing(tokens, index)
    if token.type in ("heading_open", "paragraph_open"):
        kind = "heading" if token.type == "heading_open" else "paragraph"
        item = _inline(tokens[index + 1], line, problems, file)
        if item.only and kind == "heading":
            what = "a heading carries a mark '[only …]'."
            fix = "Name the section under [when] in front matter instead."
            problems.append(Problem(f"{file}, line {line}", what, fix))
        if ":::" in item.text:
            problems.append(_bad_directive(tokens[index + 1].content, line, file))
        problems += _look_alikes(_unmarked(tokens[index + 1].content), line, file)
        level = int(token.tag[1]) if kind == "heading" else 0
        blocks.append(Block(kind, (item,), level))  # type: ignore[arg-type]
    elif token.type in ("bullet_list_open", "ordered_list_open"):
        items = _list_items(tokens[index:end], offset, problems, file)
        if token.type == "ordered_list_open" and token.attrGet("start") not in (None, 1):
            what = "this line begins a numbered list, and its number would be lost."
            fix = "Begin the list with 1., or write the number in words."
            problems.append(Problem(f"{file}, line {line}", what, fix))
        kind = "bullets" if token.type == "bullet_list_open" else "numbered"
        blocks.append(Block(kind, items))  # type: ignore[arg-type]
    elif token.type == "directive":
        blocks.append(Block("directive", (Inline(token.content, line),)))
    else:
        problems.append(_outside(token.type, file, line))
    return end + 1


def _closing(tokens: list[Token], index: int) -> int:
    """Index of the token that closes the one at `index` (itself when it opens nothing)."""
    depth = 0
    for position in range(index, len(tokens)):
        depth += tokens[position].nesting
        if depth == 0:
            return position
    return len(tokens) - 1


def _list_items(tokens: list[Token], offset: int, problems: list[Problem], file: str) -> tuple[Inline, ...]:
    items = []
    depth = paragraphs = 0
    for token in tokens:
        line = (token.map[0] if token.map else 0) + offset
        if token.type.endswith("_list_open"):
            depth += 1
            if depth == 2:
                problems.append(_outside("nested", file, line))
        elif token.type.endswith("_list_close"):
            depth -= 1
        elif token.type == "list_item_open":
            paragraphs = 0
        elif token.type == "inline" and depth == 1:
            paragraphs += 1
            items.append(_inline(token, line, problems, file))
            problems += _look_alikes(items[-1].text, line, file)
            if paragraphs > 1:
                problems.append(_outside("paragraphs", file, line))
        elif token.type == "heading_open" or (token.nesting == 0 and token.type != "inline"):
            problems.append(_outside(token.type, file, line))
    return tuple(items)


_LOOK_ALIKES = (
    (re.compile(r"\[only\b"), "a mark that says when a text belongs, not at its beginning or empty,"),
    (re.compile(r"\[sheet\b"), "a mark for the short sheet, not at the beginning of its text,"),
    (re.compile(r"^\s*\|.*\|\s*$", re.M), "a table"),
    (re.compile(r"\]\([^)]*:"), "a link"),
)
"""What somebody meant as structure and Markdown would print as it stands."""


def _look_alikes(text: str, line: int, file: str) -> list[Problem]:
    plain = (
        "".join(
            child.content for child in _PARSER.parseInline(text)[0].children or () if child.type == "text"
        )
        if "](" in text
        else text
    )
    return [
        Problem(f"{file}, line {line}", f"this looks like {what} and would be printed as it stands.")
        for pattern, what in _LOOK_ALIKES
        if pattern.search(plain)
    ]


def _inline(token: Token, line: int, problems: list[Problem], file: str) -> Inline:
    for child in token.children or ():
        href = str(child.attrGet("href")) if child.type == "link_open" else "https://"
        if not SAFE_LINK.match(href) or "{{" in href or "%7B" in href:
            fix = "Links start with https://, mailto: or tel: and hold no placeholder."
            problems.append(Problem(f"{file}, line {line}", f"the link goes to '{href}'.", fix))
        elif child.type in _MEANT:
            problems.append(_outside(child.type, file, line))
    text = " ".join(token.content.split())
    only = _ONLY.match(text)
    rest = text[only.end() :] if only else text
    sheet = _SHEET.match(rest)
    return Inline(
        rest[sheet.end() :] if sheet else rest,
        line,
        only.group(1).strip() if only else "",
        (sheet.group(1) or "") if sheet else None,
    )


def _unmarked(text: str) -> str:
    """A text without the marks before it."""
    return _SHEET.sub("", _ONLY.sub("", text))


def _outside(kind: str, file: str, line: int) -> Problem:
    meant = _MEANT.get(kind) or {
        "nested": "a list inside a list",
        "paragraphs": "a list item with more than one paragraph",
    }.get(kind, f"Markdown of the kind '{kind}'")
    return Problem(f"{file}, line {line}", f"this is {meant}.", f"Content files may use {ALLOWED}.")


def _bad_directive(text: str, line: int, file: str) -> Problem:
    """A directive that is misspelt, or stands right under a line of prose."""
    below, found = next((i, row) for i, row in enumerate(text.splitlines()) if ":::" in row)
    what = f"'{found[found.index(':::') :].strip()}' is not a directive."
    fix = "A directive stands alone on its line, as in '::: risk-table'."
    return Problem(f"{file}, line {line + below}", what, fix)


_LOOSE = _bounded(MarkdownIt("commonmark").enable("table"))
_LOOSE_KINDS = {
    "heading_open": "heading",
    "th_open": "label",
    "td_open": "cell",
    "bullet_list_open": "item",
    "ordered_list_open": "step",
}


def loose_blocks(text: str) -> Iterator[tuple[str, int, str]]:
    """Kind, line and bare words of the blocks of any Markdown; lines forced apart stay lines.

    Kinds: 'heading', 'paragraph', 'strong' (a paragraph all in bold), 'item' and 'step' (of a bulleted
    and a numbered list), 'more' (a further paragraph of one), 'label' and 'cell' (of a table), and
    'html', whose words are as written. For files that were not written for this program: nothing is
    rejected, but TooManyMarks is raised where a paragraph is no prose.
    """
    inside: list[str] = []
    line, begun = 0, False
    for token in _LOOSE.parse(text):
        line = token.map[0] + 1 if token.map else line
        if token.nesting:
            begun = begun and token.type != "list_item_open"
            inside.append(token.type) if token.nesting == 1 else inside.pop()
        elif token.type == "inline":
            kind = next((_LOOSE_KINDS[each] for each in reversed(inside) if each in _LOOSE_KINDS), "")
            yield _more_or(kind, begun) or _standing_out(token), line, _bare(token)
            begun = begun or kind in ("item", "step")
        elif token.type in ("code_block", "fence", "html_block"):
            yield "html" if token.type == "html_block" else "paragraph", line, token.content


def _more_or(kind: str, begun: bool) -> str:
    return "more" if begun and kind in ("item", "step") else kind


def _standing_out(token: Token) -> str:
    """'strong' for a paragraph that is bold from end to end."""
    kinds = [c.type for c in token.children or () if c.content.strip() or c.nesting]
    bold = kinds[:1] == ["strong_open"] and kinds.index("strong_close") == len(kinds) - 1
    return "strong" if bold else "paragraph"


def _bare(token: Token) -> str:
    """The words of an inline token, without marks, tags and pictures."""
    breaks = {"softbreak": " ", "hardbreak": "\n", "html_inline": "", "image": ""}
    return "".join(breaks.get(c.type, c.content) for c in token.children or ())


@lru_cache(maxsize=8192)
def runs(text: str) -> Runs:
    """The runs of one block's text: bold and links. Placeholders stay as they are.

    Parsing comes before filling, so that no value can ever become structure.
    """
    found: list[Run] = []
    strong, href = False, ""
    for child in _PARSER.parseInline(text)[0].children or ():
        if child.type in ("strong_open", "strong_close"):
            strong = child.type == "strong_open"
        elif child.type in ("link_open", "link_close"):
            href = str(child.attrGet("href")) if child.type == "link_open" else ""
        elif child.type == "softbreak":
            found.append(Run(" ", strong, href))
        elif child.content:
            found.append(Run(child.content, strong, href))
    return _joined(found)


def _joined(found: list[Run]) -> Runs:
    """Neighbours in the same style as one run, so that a placeholder is never cut in two."""
    joined: list[Run] = []
    for run in found:
        last = joined[-1] if joined else None
        if last and (last.strong, last.href) == (run.strong, run.href):
            joined[-1] = Run(last.text + run.text, run.strong, run.href)
        else:
            joined.append(run)
    return tuple(joined)
