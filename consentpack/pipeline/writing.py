"""The fifth stage of a pack: the files of it, with their manifest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from consentpack.errors import OutputError, Problem
from consentpack.export import EXPORTERS, Paper
from consentpack.export.look import Look
from consentpack.export.pdf import export_pdf, refuse_losses
from consentpack.manifest import MANIFEST, manifest, with_documents
from consentpack.pipeline.judging import Judged
from consentpack.talk_back import as_json
from consentpack.tree import Document

_WORD = ".docx"


@dataclass(frozen=True)
class Pack(Judged):
    """Everything made from one plan, before anything is written."""

    files: Mapping[str, bytes] = field(default_factory=dict)
    """File name -> content, the manifest among them."""


def export(judged: Judged) -> Pack:
    """The files of a pack: each document in each format that is always made or was asked for.

    Raises OutputError when two would have one name.
    """
    paper = Paper(judged.plan.prepared, Look(judged.prepared.place.clinic.brand))
    asked, only = judged.prepared.wanted.formats, _kinds(judged)
    wanted = [
        (f"{document.kind}{exporter.ending}", name, document)
        for name, exporter in EXPORTERS.items()
        if exporter.always or name in asked
        for document in judged.documents
        if not only or document.kind in only
    ]
    _refuse_one_name_for_two([name for name, _, _ in wanted])
    files = {name: _content(judged, form, document, paper) for name, form, document in wanted}
    text = _manifest(judged, files)
    return Pack(**vars(judged), files={**files, MANIFEST: text.encode()})


def _content(judged: Judged, form: str, document: Document, paper: Paper) -> bytes:
    """One file of a pack; the one that was measured, where its document is still the same."""
    measured = judged.measures.files.get((form, document.kind))
    same = measured is not None and measured.document == document
    return measured.content if measured and same else EXPORTERS[form].export(document, paper)


def _kinds(judged: Judged) -> frozenset[str]:
    """The kinds of document that were asked for, in both languages where both were; none for all."""
    only = judged.prepared.wanted.only
    return only | {f"{kind}-side-by-side" for kind in only}


def _refuse_one_name_for_two(names: list[str]) -> None:
    """One file would be lost under the other, such as a document called 'consent-large-print'."""
    what = "two documents of this pack would be kept in one file. Nothing was written."
    fix = "Give the document of your own in content/documents/ another name."
    problems = [Problem(name, what, fix) for name, times in Counter(names).items() if times > 1]
    if problems:
        raise OutputError(problems)


def _manifest(judged: Judged, files: Mapping[str, bytes]) -> str:
    return manifest(
        judged.plan,
        inputs=_inputs(judged),
        documents=files,
        matches=judged.matches,
        rates=judged.rates,
        scores=judged.scores,
        lengths=judged.measures.lengths,
        states={judged.prepared.place.named(file): state for file, state in judged.states.items()},
        draft=judged.draft,
        checklists=judged.checklists,
        findings=judged.decided.seen.findings,
        not_asked=tuple(factor.id for factor in judged.decided.seen.not_asked),
        moved=judged.drafted.moved,
        given=judged.prepared.wanted.given,
        talk_back=as_json(judged.prepared.catalogue.language, judged.drafted.asked),
    )


def _inputs(judged: Judged) -> dict[str, str]:
    """Digest of all that went in, as it was read: plan, settings, approvals, modules, tables, audit."""
    library = judged.prepared.place.library
    tables = {name: d for name, d in library.digests.items() if not name.endswith(".md")}
    modules = {file: module.digest for file, module in judged.drafted.printed.used.items()}
    named = {**judged.prepared.read, **tables, **modules, **judged.decided.audit}
    return {judged.prepared.place.named(name): digest for name, digest in named.items()}


def with_pdf(pack: Pack) -> Pack:
    """The pack with a PDF beside each Word file, named in the manifest too.

    Raises OutputError, with nothing written, when a PDF does not say all that its document says.
    """
    drawn = export_pdf({name: data for name, data in pack.files.items() if name.endswith(_WORD)})
    refuse_losses({name: _document_of(name, pack) for name in drawn}, drawn)
    listed = with_documents(pack.files[MANIFEST].decode(), drawn)
    return replace(pack, files={**pack.files, **drawn, MANIFEST: listed.encode()})


def _document_of(name: str, pack: Pack) -> Document:
    """The document that a PDF was drawn from."""
    stem = name.removesuffix(".pdf")
    endings = [e.ending.removesuffix(_WORD) for e in EXPORTERS.values() if e.ending.endswith(_WORD)]
    return next(d for d in pack.documents for ending in endings if stem == f"{d.kind}{ending}")
