"""Builds docs/reference/ from the program itself, so that the two cannot differ.

python docs/build_reference.py            writes the pages
python docs/build_reference.py --check    says which pages are out of date, exit code 1
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from consentpack import clinic, pipeline, plans, shipped
from consentpack.check.checklists import CHECKLISTS, Checklist, Item
from consentpack.cli.main import main as program
from consentpack.errors import EXIT_CODES
from consentpack.library import Library, schema
from consentpack.library.field_table import chain
from consentpack.library.ticks_table import TICKS
from consentpack.library.whole_documents import NEEDED, SIGNED_NEEDS
from consentpack.markdown import ALLOWED
from consentpack.model import LengthTarget, SuitabilityRule
from consentpack.pipeline.place import library_of, shipped_library
from consentpack.rates import fits, reliability
from consentpack.register import limits, timing
from consentpack.register.answers import NO, UNKNOWN, YES
from consentpack.register.cells import GRADES
from consentpack.register.columns import FIELDS, REQUIRED
from consentpack.register.headings import LOOK
from consentpack.strict import Key

sys.path.insert(0, str(Path(__file__).parent))
from figure_sentences import table as sentences

FOLDER = Path(__file__).parent / "reference"
_MADE = "<!-- Built by docs/build_reference.py. Do not edit. -->\n\n"
_TYPES = {str: "words", int: "whole number", float: "number", bool: "true/false", list: "list", dict: "table"}


def keys_table(keys: Mapping[str, Key]) -> str:
    """The keys of one table as Markdown."""
    lines = ["| key | holds | needed | meaning |", "|---|---|---|---|"]
    for name, key in keys.items():
        holds = _TYPES.get(key.type, "date")
        holds = ", ".join(f"`{word}`" for word in key.allowed) or holds
        if key.refers_to:
            holds += f" of ids in `{key.refers_to}`"
        lines.append(f"| `{name}` | {holds} | {'yes' if key.required else ''} | {key.meaning} |")
    return "\n".join(lines) + "\n"


def commands() -> str:
    """Every command's help."""
    parts = ["# Commands\n"]
    for names, command in _walk(program, ("consentpack",)):
        ctx = click.Context(command, info_name=" ".join(names), terminal_width=90)
        parts.append(f"## {' '.join(names)}\n\n```text\n{command.get_help(ctx)}\n```\n")
    return "\n".join(parts)


def _walk(command: click.Command, names: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    yield names, command
    if isinstance(command, click.Group):
        ctx = click.Context(command)
        for name in command.list_commands(ctx):
            found = command.get_command(ctx, name)
            if found:
                yield from _walk(found, (*names, name))


def exit_codes() -> str:
    rows = "\n".join(f"| {code} | {meaning} |" for code, meaning in EXIT_CODES.items())
    return f"# Exit codes\n\n| code | meaning |\n|---|---|\n{rows}\n"


def content_format() -> str:
    """Front matter, sections, directives, conditions and placeholders."""
    parts = [
        "# Content files\n",
        "A content file is TOML front matter between two lines of `+++`, then Markdown. It may use "
        f"{ALLOWED}. Anything else is an error with file and line.\n",
        "A clinic folder's own `content/` goes before the shipped one, by folder and id.\n",
        "## Keys of every file\n",
        keys_table(schema.COMMON),
    ]
    for folder, kind in schema.SCHEMA.items():
        parts += [f"## {folder}/\n", keys_table(kind.keys)]
        if kind.sections:
            names = (f"`## {name}`{_needed(folder, name, needed)}" for name, needed in kind.sections.items())
            parts.append(f"Sections: {', '.join(names)}.\n")
        if folder == "techniques":
            parts.append(
                "A list of `risks`, `aftercare` or `warnings` may not be empty, nor one of `benefits` or "
                "`options` unless it only numbs: no form may be without them.\n"
            )
    parts.append(_needed_directives())
    parts += ["## Directives of documents\n", "Each stands alone on its line, as in `::: risk-table`.\n"]
    parts.append(_pairs("directive", schema.DIRECTIVES))
    parts += [
        "## Conditions\n",
        "A mark `[only …]`, the key `only` and the table `[when]` hold facts joined by `and`, `or`, `not` "
        "and brackets: `technique:ID`, `kind:`, `trait:`, `region:`, `indication:`, `factor:`, the strata "
        "of the field, and of the plan as a whole:\n",
        _pairs("fact", {f"plan:{name}": meaning for name, meaning in schema.PLAN_FACTS.items()}),
        "Traits that the program itself asks about; a field adds its own:\n",
        _pairs("trait", schema.TRAITS),
    ]
    parts += [
        "## Placeholders\n",
        "`{{ care.NAME }}` prints a number of `settings.toml` with its unit; `{{ rate('ID') }}` the "
        "figure of a risk or benefit.\n",
        _pairs("placeholder", schema.PLACEHOLDERS),
    ]
    parts += [
        "## What a patient ticks\n",
        "`tick_boxes.toml` words each line of the form's tick boxes. A clinic's own file may hold some of "
        "them; none can be left out, and none added. Tables stand for the headings “I have”, “When I sign, "
        "I say this too”, “I say yes to” and “I say no to”.\n",
    ]
    for name, lines in TICKS.items():
        parts += [f"### [{name}]\n", _pairs("line", lines)]
    return "\n".join(parts)


def _needed(folder: str, section: str, needed: bool) -> str:
    if folder == "techniques" and section in schema.TREATING_SECTIONS:
        return " (needed, unless it only numbs)"
    return " (needed)" if needed else ""


def _needed_directives() -> str:
    """What each document may not be without."""
    rows = [
        f"| `{document}` | {', '.join(f'`{directive}`' for directive in needed)} |"
        for document, needed in NEEDED.items()
    ]
    return "\n".join(
        [
            "No pack is made of a document that lacks one of these, or prints it only under a condition that "
            "does not belong to it:\n",
            "| document | directives |\n|---|---|",
            *rows,
            "",
            "Any other document that somebody signs (one with `signatures`, `agreement` or `mark-one`) must "
            f"tell {_signed()}.\n",
        ]
    )


def _signed() -> str:
    """What a document that somebody signs must tell, and with which directives."""
    return ", ".join(
        f"{what} ({' or '.join(f'`{d}`' for d in parts)})" for what, parts in SIGNED_NEEDS.items()
    )


def _pairs(name: str, pairs: Mapping[str, str]) -> str:
    rows = "\n".join(f"| `{key}` | {meaning} |" for key, meaning in pairs.items())
    return f"| {name} | meaning |\n|---|---|\n{rows}\n"


def clinic_settings() -> str:
    parts = [
        "# clinic.toml\n",
        "`[care]` holds the numbers of `content/settings.toml` that the clinic sets itself.\n",
    ]
    for name, keys in clinic.KEYS.items():
        parts += [f"## [{name}]\n", keys_table(keys)]
    parts += [
        "## [length.DOCUMENT]\n",
        "How long a kind of document may be, as in `[length.form]`; what is not set here is as shipped. "
        "Numbers are for one treatment with its anaesthetic, and, without the `any_plan_…` of the same name, "
        "for every plan. Over a limit no pack is made, but as a draft ([why](../why/length.md)).\n",
        keys_table(clinic.LENGTH_KEYS),
        _shipped_lengths(),
    ]
    return "\n".join(parts)


def _shipped_lengths() -> str:
    """The limits of length_targets.toml, with what they rest on."""
    lengths = library_of(None).lengths
    rows = [
        f"| `{kind}` | {_limits(each)} | {each.why} | {', '.join(each.sources)} |"
        for kind, each in lengths.items()
    ]
    return "\n".join(
        [
            "Shipped limits (`length_targets.toml`):\n",
            "| document | limits | why | sources |\n|---|---|---|---|",
            *rows,
            "",
        ]
    )


def _limits(target: LengthTarget) -> str:
    limits = ", ".join(f"`{name}` {number:,}" for name, number in target.limits.items())
    return f"{limits}{'; before its annex' if target.before_annex else ''}"


def plan_files() -> str:
    return "\n".join(
        [
            "# Plan files\n",
            "One TOML file per patient. It carries the clinic's own reference and never a name, a "
            "birth date or a record number.\n",
            keys_table(plans.keys_of(library_of(None))),
            "## [done]\n",
            "When it is there, aftercare and warning signs follow what was done.\n",
            keys_table(plans.DONE_KEYS),
            "## [reasons.RULE]\n",
            "Why something is done all the same, where a rule of [suitability](suitability-rules.md) says "
            "that it does not go together.\n",
            keys_table(plans.REASON_KEYS),
        ]
    )


def _columns() -> dict[str, str]:
    """What a column may hold, with what the shipped field adds."""
    medicine = library_of(None).field
    strata = {id: f"{each.title}: {', '.join(each.values)}" for id, each in medicine.strata.items()}
    return {**FIELDS, **strata, **{id: each.title for id, each in medicine.measurements.items()}}


def _some(words: Iterable[str]) -> str:
    return ", ".join(f"`{word}`" for word in sorted(words))


def _as_it_is() -> str:
    """What of a sheet is found, and read otherwise than it is typed."""
    return (
        "## Where the table is\n\n"
        "A first row that names all that is needed is the headers. Or else the sheet and row are taken that "
        f"name most of it, among the first {LOOK} rows of each sheet; two lines of headers are joined, and "
        "merged ones spread to the right. Sheet and row are named in the answer, and so is another sheet "
        "that looks like an audit; `--sheet` and `--header-row` say which it is. Empty rows, rows of totals, "
        "notes alone in a row and the headers once more are left out and counted: only rows that could not "
        "go in are ever taken for one of these.\n\n"
        "## What is read otherwise than it is typed\n\n"
        "All of it is told in the answer, by word and with its number.\n\n"
        "| cell | read as |\n|---|---|\n"
        f"| {_some(YES)} | yes |\n| {_some(NO)} | no |\n"
        f"| {_some(UNKNOWN)} | *not recorded*, in any cell that may be blank |\n"
        "| `8.9.23` | a day with its year last, in your order; never where `dates` is `year-first` |\n"
        "| `07 Nov 2023`, `7 de noviembre de 2023` | a day: the month by its name, in English and "
        "the languages of our catalogues |\n"
        "| `45237` | the day of that number, as spreadsheet programs count (in a workbook that counts from "
        "1904, only where the cell is a number) |\n"
        "| `20231107`, `07/11/2023 14:30` | that day |\n"
        "| `2.0`, `2nd`, `visit 2` | 2, as a session; `22 gauge`, `.02`, `0,02 ml` as a measurement |\n"
        "| `2`, `type 2` | the second value, where the [field](field.md) says `numbered` |\n"
        "| `Blunt cannula, LA` | techniques and outcomes by id, name or own word, in any capitals, with `;`, "
        "`+`, `,`, `/`, `and`, `with` or `then` between, when every word is accounted for |\n\n"
        "`[audit.words]` goes before all of this. On its right stand one id or several with `;` between, "
        "`yes`, `no`, a grade, or `not recorded`.\n\n"
        "## Day and month\n\n"
        "`dates` in `[audit]` says which stands first. Without it, each column must tell it as a whole: all "
        "its dates fit one order only. Where they do not, nothing goes in, and the answer asks, with rows. "
        "No date is ever read by itself.\n\n"
    )


def audit_columns() -> str:
    rows = "\n".join(
        f"| `{name}` | {'yes' if name in REQUIRED else ''} | {meaning} |"
        for name, meaning in _columns().items()
    )
    return (
        "# The audit spreadsheet\n\n"
        "One row per treatment session, in a `.csv` file (UTF-8) or a sheet of an `.xlsx` file. "
        "`[audit.columns]` of clinic.toml says which header holds what: a field of this table, the id "
        "of a risk or benefit, or `ignore`; `consentpack audit map` proposes it. Columns that are not "
        "named are never read.\n\n"
        f"| field | needed | holds |\n|---|---|---|\n{rows}\n\n"
        "An outcome column holds yes, no or a grade: "
        f"{', '.join(f'`{word}`' for word in GRADES)}. Blank means *not recorded* and is never read as "
        "no.\n\n"
        "A column whose meaning is `noticed:` and the id of a risk or benefit, such as `noticed:bruising`, "
        "holds the day on which it was first noticed. What has a day was seen, also where its own column is "
        "blank. `retreated` is the day on which the same place was treated again: what is seen after it may "
        "be of the later treatment, so watching ends there. [How a figure is chosen](figures.md) says what "
        "the days, and `last_seen`, are for.\n\n"
        "A column of the field `outcomes_seen` lists what was seen instead. `list_covers` in "
        "`[audit]` names the outcomes it speaks of: those not listed were then looked for and not "
        "seen; a blank cell is not recorded. `[audit.words]` maps the clinic's own words in cells to "
        "ids, in capital or small letters alike.\n\n"
        f"{_as_it_is()}"
        "## What is the same\n\n"
        "Cells and headers are compared as they look: invisible signs are left out, any run of white "
        "space is one space, and a letter with its mark is one letter however it was typed. A case that "
        "differs from another in capital letters alone is set aside: it may be a slip, or a case of its "
        "own. In a workbook the case is read as the sheet shows it: 7 in the format `000` is `007`; a "
        "format that cannot be followed sets the row aside.\n\n"
        "## What is set aside, and what is refused\n\n"
        "A row is set aside for a cell that cannot be read, also for a formula whose value the file does "
        "not hold, and for an error such as `#REF!`. The whole file is refused when it is damaged, locked "
        "with a password, or holds no sheet with cells; and when more of its dates fit only the other "
        "order of day and month than fit only the declared one.\n\n"
        f"Limits: {limits.ROWS:,} rows; {limits.CELLS:,} cells; {limits.CELL_LETTERS:,} letters in a cell "
        f"(the row is set aside); {limits.LINE_LETTERS:,} in a line of a CSV file; "
        f"{limits.UNPACKED_BYTES // 10**6:,} MB for a sheet when it is unpacked. "
        f"At most {limits.DETAILS:,} reasons are listed; all rows are "
        "counted.\n"
    )


def figures() -> str:
    r = reliability
    return (
        "# How a figure is chosen\n\n"
        "1. **Counted**: treatment sessions of the plan's window (`window_months`, up to the plan's "
        "`prepared` day). A session counts for an outcome when its watching time (`watch_days`) is over and "
        "it was watched to the end, whether the outcome was seen or not; being treated again ends watching. "
        "What was seen in other sessions is told in the record. It is counted in, with all of them of which "
        "something is written down, where it was seen in those alone, or more in those (Fisher's exact "
        "test, one-sided, 5%): a harm worse, a gain never better. A harm of which every one that was seen "
        "has the day it was first noticed (`noticed:`) is told by these days: Kaplan and Meier's product "
        "limit, where some were treated again Aalen and Johansen's estimate, with Wilson's interval for the "
        "number of sessions that would tell as much (Rothman 1978). Without days the form says *at least* "
        f"the watching time; where fewer than {timing.FEW} last-seen days are known, and more are lacking, "
        "*at some time*, and no gain is counted ([why](../why/when-not-only-whether.md)).\n"
        "2. **Compared**, from close to distant: the same techniques together, same group of sites and "
        "skin; the same techniques together; the leading technique in any combination; a published "
        "figure; none. What an anaesthetic brings is compared by anaesthetic. Where the figure is for "
        "one technique alone and several are planned, the record gives the bounds for all: at least the "
        "largest single figure, at most their sum. "
        "Outcomes that are read together come from one comparison: gains and that there was none "
        "(`may_not_work`), of the treatments in which all of them are known; what is told in one row "
        "(`told_with`); a whole and its parts (`part_of`). It is the closest of which all may be quoted, "
        "else the closest with enough treatments for all, those too open for a share as counts. "
        "A part that was seen counts as its whole, and no part is told as more than its whole: where a "
        "study would say so, "
        "the form points to the other figure instead.\n"
        f"3. **Reliable** (NCHS 2017, Parker et al., Vital Health Stat 2(175)): at least {r.FEWEST} "
        f"watched; exact 95% interval no wider than {r.NARROW_WIDTH:.0%}, or narrower than "
        f"{r.WIDE_WIDTH:.0%} and no wider than {r.RELATIVE_WIDTH:.0%} of the figure.\n"
        f"4. **Followed up**: over {r.LOSS_BLOCKS}% of the due sessions lost blocks a figure; from "
        f"{r.LOSS_WARNS}% on it is noted for the clinician.\n"
        "5. **Published figures** must have printed counts, read in the source itself, fit the sentence "
        "and pass the same rule. Of several the least favourable is taken. A figure fits when it counts "
        "people, treatments or places, and the outcome itself; a harm, when it is not from old notes, "
        "from recall or of suspects; a gain, when it was judged at half its `watch_days` or later, and "
        f"at {fits.SELF_RATED_FROM} days or later where people rated it themselves. The record names "
        "each that is not shown, with the reason. Without a rate, the worst harm a study saw is told as "
        "what it saw ([why](../why/published-figures.md)).\n"
        "6. **Nothing worse hides**: each own group closer than what is printed, however thin, is tested "
        "against it, a wider own group or a study (Fisher's exact test, one-sided, 5%; a wider group "
        "without the treatments of the closer one). What is worse is told to the patient as the count of "
        "the closest such group, and to the clinician with the difference (Newcombe 1998) and the ratio "
        "(Katz 1978); what is worse than a wider own group that is not printed, to the clinician. *Higher* "
        "and *lower* than published are said only where the two-sided exact test and both intervals say "
        "so; where they disagree the record says which does, and worse is told all the same.\n"
        "7. **Too open for a share** (rule 3 or 4) and no published figure: the counts are told, *we saw it "
        "in 8 of 234 treatments*, of the closest own group with enough that were followed up, else of the "
        "widest; the range is Wilson's 95% interval, and where over "
        f"{r.LOSS_BLOCKS}% were lost it holds the worst case (Horowitz and Manski 2000 [M]). *No reliable "
        "figure* is left for what nobody has counted. A harm that none had is counted in every wider own "
        "group in which the exact test (one-sided, 5%) does not find the others worse, and the form says "
        "so; a gain never is.\n"
        "8. **Shown** as a whole number in every 100, with the other side, Wilson's 95% interval "
        "rounded outwards, the number of sessions and the watching time.\n\n"
        "## What patients read\n\n"
        "Each way of saying a figure, beside the counts it is made of. All counts are invented; a test reads "
        "each sentence back to them.\n\n"
    ) + sentences()


def field_of_medicine() -> str:
    """What the usual field adds."""
    return _field(library_of(None))


def another_field(name: str) -> str:
    """What a field that is shipped beside it adds, and its rules."""
    library = shipped_library(name)
    head, _, rules = suitability_rules(library).partition("\n\n")
    chosen = f'A clinic picks it with `[library] field = "{name}"` in clinic.toml.\n\n'
    return f"{_field(library)}{chosen}#{head}\n\n{rules}"


def _field(library: Library) -> str:
    """Kinds, indications, traits, strata, regions."""
    field = library.field
    within = {
        id: " in ".join(("", *chain(r.within, library.regions)))[1:] for id, r in library.regions.items()
    }
    regions = [
        f"| `{id}` | {r.title} | {within[id]} | {', '.join(r.words)} | {r.nerves} | {r.supply} |"
        for id, r in library.regions.items()
    ]
    return "\n".join(
        [
            f"# The field: {field.name}\n",
            "All of this is content: `field.toml`, `regions.toml`. The program knows none of it by name.\n",
            _pairs("kind of technique", {id: kind.meaning for id, kind in field.kinds.items()}),
            _pairs("indication", field.indications),
            _pairs("trait", field.traits),
            _pairs(
                "stratum",
                {id: f"{s.title}: {', '.join(s.values)}; {s.meaning}" for id, s in field.strata.items()},
            ),
            "## Regions\n",
            "A plan names one. What holds for a larger region holds for those within it.\n",
            "| region | in a sentence | lies | places | nerves at risk | blood supply |",
            "|---|---|---|---|---|---|",
            *regions,
            "",
        ]
    )


def suitability_rules(library: Library | None = None) -> str:
    """What may not be done, or only after talking of it."""
    library = library or library_of(None)
    rows = [
        f"| `{rule.id}` | {rule.strength} | `{rule.when}`{_most(rule)} | {rule.what} | {rule.why} "
        f"| {', '.join(rule.sources)} |"
        for rule in library.suitability.values()
    ]
    return "\n".join(
        [
            "# What may not be done together\n",
            f"{len(rows)} rules of `suitability.toml`. *not-together*: no pack without a named clinician's "
            "written reason. *talk-first*: in the terminal and in the first lines of the record. *note*: in "
            "the record. A licensed clinician decides; no list is whole. Marks: [S] seen in the source, [2] "
            "second hand, [M] memory or common practice, ≠ sources differ.\n",
            "| rule | strength | when | what | why | sources |\n|---|---|---|---|---|---|",
            *rows,
            "",
        ]
    )


def _most(rule: SuitabilityRule) -> str:
    return "".join(f", more than {most} with `{fact}`" for fact, most in rule.most.items())


def checklists() -> str:
    """Every published list, item by item."""
    parts = [
        "# Published checklists\n",
        "Each pack is held against these lists. `consentpack library check --checklists` prints every item "
        "with its finding and the document that holds it; the annex of the record counts them, names what "
        "fails and which document holds what; the manifest has them all.\n",
        "A program looks for tick boxes, lines, tables and modules, not for words, so that a translated "
        "document is judged alike. That a place is there does not mean that it was filled in, or that the "
        "talk was held. Items are said in our own words.\n",
        "Marks: S, seen on the issuer's page; S2, seen in a secondary account; M, from memory and to be "
        "verified before anybody relies on it.\n",
        "*Held by*: the first document that alone holds the item, in the packs of the invented clinic "
        "(`consentpack demo`). *The set together*: no single document does. *Any*: it holds whatever the "
        "documents are. A dash: no plan of the invented clinic shows it.\n",
    ]
    by = _holders()
    parts += [_checklist(each, by) for each in CHECKLISTS]
    return "\n".join(parts)


def _holders() -> dict[tuple[str, str], list[str]]:
    """List and item -> the documents that hold it in the packs of the invented clinic."""
    found: dict[tuple[str, str], list[str]] = {}
    with TemporaryDirectory() as folder:
        place = pipeline.open_workplace(pipeline.copy_demo(Path(folder) / "demo"))
        pipeline.import_audit(place, place.folder / "audit.csv", now=datetime(2026, 11, 20), by="docs")
        for _, results in pipeline.checklists_of_plans(place):
            for each in (each for each in results if each.status == "holds"):
                named = found.setdefault((each.checklist, each.item), [])
                named += [each.held_by or "any"] if (each.held_by or "any") not in named else []
    return found


def _checklist(checklist: Checklist, by: Mapping[tuple[str, str], list[str]]) -> str:
    rows = "\n".join(
        f"| {i.id} | {i.says} | {i.where if i.needs else '*a person must judge*'} | "
        f"{', '.join(by.get((checklist.id, i.id), ['–' if i.needs else '']))} | {_when(i)} | {i.source} |"
        for i in checklist.items
    )
    head = "| item | says | looked for in | held by | not where | source |\n|---|---|---|---|---|---|"
    return f"## {checklist.title}\n\n{head}\n{rows}\n"


def _when(item: Item) -> str:
    return item.unless.__name__.replace("_", " ") if item.unless else ""


PAGES = {
    "commands.md": commands,
    "exit-codes.md": exit_codes,
    "content-format.md": content_format,
    "clinic-toml.md": clinic_settings,
    "plan-files.md": plan_files,
    "audit-spreadsheet.md": audit_columns,
    "figures.md": figures,
    "field.md": field_of_medicine,
    "suitability-rules.md": suitability_rules,
    "published-checklists.md": checklists,
    **{f"field-{name}.md": partial(another_field, name) for name in shipped.fields()},
}


def main() -> int:
    stale = []
    for name, page in PAGES.items():
        text, path = _MADE + page(), FOLDER / name
        if not path.is_file() or path.read_text(encoding="utf-8") != text:
            stale.append(name)
            if "--check" not in sys.argv:
                path.write_text(text, encoding="utf-8")
    for name in stale:
        print(f"docs/reference/{name} {'is out of date' if '--check' in sys.argv else 'written'}")
    return int(bool(stale) and "--check" in sys.argv)


if __name__ == "__main__":
    sys.exit(main())
