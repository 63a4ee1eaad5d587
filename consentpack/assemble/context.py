"""What every part of a document is built from, and the few ways of turning words into nodes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from consentpack import markdown
from consentpack.assemble.inputs import Inputs, Printed
from consentpack.catalogues import LACKING, N_, Catalogue, Status, name_in_both
from consentpack.errors import ContentError, Problem
from consentpack.fill import Filler, Unfilled
from consentpack.library import Library
from consentpack.model import (
    Clinic,
    Match,
    Matches,
    Module,
    Plan,
    RateAnswer,
    Technique,
)
from consentpack.rates import Comparing
from consentpack.signs import root
from consentpack.tree import (
    Block,
    Body,
    Cell,
    Content,
    Heading,
    Inline,
    Items,
    Paragraph,
    Run,
    Runs,
    Source,
)
from consentpack.wording import Words, in_sentence

DRAFT = N_("DRAFT – not approved for patients")


@dataclass
class _Notes:
    """Notes down what is printed while one document is built. Lives no longer than that."""

    used: dict[str, Module] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    lacking: dict[str, Status] = field(default_factory=dict)

    def heard(self, text: str, status: Status) -> None:
        if status in LACKING:
            self.lacking[text] = status


@dataclass(frozen=True)
class Context:
    """The pen of one document: turns words of plan, library and program into nodes, and notes them down."""

    inputs: Inputs
    words: Words
    filler: Filler
    _notes: _Notes

    @property
    def plan(self) -> Plan:
        return self.inputs.plan

    @property
    def library(self) -> Library:
        return self.inputs.library

    @property
    def clinic(self) -> Clinic:
        return self.inputs.clinic

    @property
    def matches(self) -> Matches:
        return self.inputs.matches

    @property
    def rates(self) -> Mapping[str, RateAnswer]:
        return self.inputs.rates

    @property
    def beside(self) -> tuple[Comparing, ...]:
        return self.inputs.beside

    def moved(self, kind: str) -> frozenset[str]:
        """What a document has no room for, and leaves to the one behind it."""
        return self.inputs.moved.get(kind, frozenset())

    @property
    def checked(self) -> tuple[str, ...]:
        return self.inputs.checked

    @property
    def catalogue(self) -> Catalogue:
        return self.words.catalogue

    @property
    def printed(self) -> Printed:
        """What has been printed so far."""
        n = self._notes
        return Printed(dict(n.used), tuple(n.texts), tuple(dict.fromkeys(n.left)), dict(n.lacking))

    def uses(self, module: Module) -> None:
        """Note down that words of a module are printed."""
        self._notes.used[module.file] = module

    # --- phrases of the program -----------------------------------------------------------

    def say(self, message: str, **values: object) -> str:
        return self.catalogue.phrase(message, **values)

    def para(self, message: str, *, strong: bool = False, **values: object) -> Paragraph:
        return Paragraph((Run(self.say(message, **values), strong),))

    # --- words of the clinician and the clinic ---------------------------------------------

    def own_words(self, name: str) -> str:
        """Words of the plan in the patient's language; as they were written where nobody put them into it."""
        written: str = getattr(self.plan, name)
        if not written or self._in_own_language:
            return written
        tag = self.catalogue.language
        words = self.plan.translated.get(tag) or self.plan.translated.get(root(tag), {})
        if name not in words:
            self._notes.left.append(name)
        return words.get(name, written)

    @property
    def _in_own_language(self) -> bool:
        """Whether the document is in the language that the clinic writes its plans in."""
        return self.catalogue.locale.language == root(self.clinic.language)

    @property
    def hours(self) -> str:
        """The clinic's opening hours, which its own catalogue may translate."""
        return self.clinic.hours if self._in_own_language else self.catalogue.block(self.clinic.hours).text

    @property
    def patients_language(self) -> str:
        """The language an interpreter speaks: as the plan says, or the patient's where it is another."""
        own = root(self.plan.language) == root(self.clinic.language)
        return self.plan.interpreter_language or ("" if own else name_in_both(self.plan.language))

    # --- words of the library -------------------------------------------------------------

    def runs(self, item: Inline, file: str) -> Runs:
        """Translate, parse, then fill one piece of text: a value can never become structure."""
        translated = self.catalogue.block(item.text)
        self._notes.texts.append(item.text)
        try:
            return tuple(
                Run(self.filler.fill(run.text), run.strong, run.href)
                for run in markdown.runs(translated.text)
            )
        except Unfilled as error:
            where = f"{file}, line {item.line}"
            raise ContentError(Problem(where, f"a placeholder has no value ({error}).")) from None

    def paragraph(self, item: Inline, module: Module, *, scored: bool = True) -> Paragraph:
        source = Source(module.file, item.line, module.id)
        return Paragraph(self.runs(item, module.file), source, scored)

    def bodies(
        self, blocks: Iterable[Block], module: Module, *, level: int = 3, scored: bool = True
    ) -> list[Body]:
        """The nodes of some blocks, in order. Headings come out at `level`."""
        self.uses(module)
        found: list[Body] = []
        for block in blocks:
            items = tuple(self.paragraph(item, module, scored=scored) for item in block.items)
            if block.kind == "heading":
                found.append(Heading(items[0].runs, level, items[0].source))
            elif block.kind == "paragraph":
                found.append(items[0])
            elif block.kind in ("bullets", "numbered"):
                found.append(Items(items, numbered=block.kind == "numbered"))
        return found

    def section(self, module: Module, label: str, *, scored: bool = True) -> list[Body]:
        """The nodes of one section of a module; none when it has no such section."""
        return self.bodies(module.sections.get(label, ()), module, scored=scored)

    def lines(self, module: Module, label: str) -> list[Paragraph | Items]:
        """The paragraphs and lists of a section, for a table cell."""
        return [b for b in self.section(module, label) if isinstance(b, Paragraph | Items)]

    def title(self, module: Module, *, strong: bool = False) -> Runs:
        """A module's title in the patient's language."""
        self.uses(module)
        runs = self.runs(Inline(module.title, module.title_line), module.file)
        return tuple(Run(run.text, strong or run.strong) for run in runs)

    def title_text(self, module: Module) -> str:
        return "".join(run.text for run in self.title(module))

    def phrase_of(self, technique: Technique) -> str:
        """A technique's plain words inside a sentence."""
        self.uses(technique)
        return self.catalogue.block(technique.phrase).text

    def heading(self, module: Module, *, level: int = 3) -> Heading:
        source = Source(module.file, module.title_line, module.id)
        return Heading(self.title(module), level, source)

    def techniques(self, matches: Iterable[Match]) -> list[Technique]:
        return [self.library.techniques[match.id] for match in matches]


def cell(*content: Content | str, head: bool = False) -> Cell:
    """A table cell; words alone become a paragraph."""
    made = (Paragraph((Run(c),)) if isinstance(c, str) else c for c in content)
    return Cell(tuple(made), head)


def make_context(inputs: Inputs) -> Context:
    """The pen of one document, with nothing printed yet."""
    notes = _Notes()
    words = Words(inputs.catalogue.heard_by(notes.heard), inputs.library.field.units)
    bare = Context(inputs, words, Filler({}), notes)
    calls: dict[str, Callable[[str], str]] = {"rate": lambda id: _headline(inputs.rates, words, id)}
    return replace(bare, filler=Filler(_values(bare), calls))


def _values(ctx: Context) -> dict[str, Mapping[str, str]]:
    """What placeholders stand for: the names of `library.schema.PLACEHOLDERS`."""
    clinic, plan = ctx.clinic, ctx.plan
    return {
        "clinic": {
            "name": clinic.name,
            "phone": clinic.phone,
            "phone_out_of_hours": clinic.phone_out_of_hours,
            "hours": ctx.hours,
            "emergency_number": clinic.emergency_number,
        },
        "plan": {
            "site": ctx.own_words("site"),
            "sessions": ctx.words.number(plan.sessions),
            "reference": plan.reference,
            "condition": ctx.own_words("condition"),
        },
        "care": _care(ctx),
    }


def _care(ctx: Context) -> dict[str, str]:
    """The times of care settings: a technique's longer one where it has one, then the clinic's, then ours."""
    longer = {wait.setting: wait.longest for wait in ctx.matches.waits}
    settings = {name: ctx.library.settings[longer.get(name, name)] for name in ctx.library.settings}
    return {
        name: ctx.words.span(ctx.clinic.care.get(setting.name, setting.value), setting.unit)
        for name, setting in settings.items()
    }


def _headline(rates: Mapping[str, RateAnswer], words: Words, id: str) -> str:
    """The figure of an outcome inside a sentence."""
    answer = rates.get(id)
    if answer and answer.seen:
        return in_sentence(words.seen(answer.seen))
    if answer is None or answer.rate is None:
        return words.catalogue.phrase("a number we do not know")
    headline = words.headline(answer.rate)
    return in_sentence(headline)
