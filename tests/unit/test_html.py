"""One tree node at a time as HTML, and what clinics type that must not break a patient's page."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.export import html
from consentpack.export.html import export_html
from consentpack.export.look import Look
from consentpack.export.text import export_text
from consentpack.model import Brand, Logo
from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Paragraph,
    Pictograph,
    Run,
    Section,
    Source,
    Table,
)

VOID = {"meta", "img", "col"}
LABELS = {
    "page": "Page",
    "of": "of",
    "reference": "Ref",
    "version": "Version 1",
    "subject": "s",
    "draft": "DRAFT",
}


def para(words: str, **style) -> Paragraph:
    return Paragraph((Run(words, **style),))


def document(*nodes, lead=(), labels=LABELS, **more) -> Document:
    values = {"clinic_name": "Invented Clinic", "reference": "R-1", "issued": "1 May 2026"} | more
    sections = (Section("part", "Part", tuple(nodes)),) if nodes else ()
    return Document(
        "consent", "Title", "en-GB", "patient", sections=sections, lead=lead, labels=labels, **values
    )


def made(*nodes, **more) -> str:
    return export_html(document(*nodes, **more)).decode()


def main_of(*nodes, **more) -> str:
    """What stands in <main>, without line ends."""
    found = re.search("<main>(.*)</main>", made(*nodes, **more), re.S)
    assert found
    return found[1].replace("\n", "")


class Outline(HTMLParser):
    """Elements in order, the text outside captions and style, and whether all that opens closes."""

    def __init__(self, page: str):
        super().__init__()
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not {"style", "caption", "head", "script"} & set(self.open) and {"main", "h1"} & set(self.open):
            self.words.append(data)


def letters(text: str) -> str:
    """Text with everything but letters and digits taken out, so that layout does not matter."""
    return re.sub(r"[\W_]+", "", text)


TABLE = Table(
    ("Sign", "Do this"),
    ((Cell((para("It bleeds"),), head=True), Cell((para("Press"),))),),
    (60, 40),
    "Signs.",
)
EVERY_KIND = (
    Heading((Run("Steps"),), 3),
    para("Words."),
    Items((para("one"), para("two"))),
    Items((para("first"), para("second")), numbered=True),
    TABLE,
    Choice((Run("I agree."),), tag="agree"),
    Fields("Patient", (Field("Name"), Field("Date", "date")), (Run("I was told."),)),
    Facts((("Where", "left cheek"),)),
    Box("The older way", (para("It cuts."), Heading((Run("Its risks"),), 4))),
)


@pytest.mark.parametrize(
    ("node", "expected"),
    [
        (Heading((Run("Steps"),), 3), "<h3>Steps</h3>"),
        (Paragraph((Run("Ring "), Run("now", strong=True))), "<p>Ring <strong>now</strong></p>"),
        (para("020", href="tel:+442079460101"), '<p><a href="tel:+442079460101">020</a></p>'),
        (Items((para("a"), para("b"))), "<ul><li>a</li><li>b</li></ul>"),
        (Items((para("a"), para("b")), numbered=True), "<ol><li>a</li><li>b</li></ol>"),
        (Facts((("Where", "cheek"),)), "<dl><div><dt>Where</dt> <dd>cheek</dd></div></dl>"),
        (
            Choice((Run("I agree."),), tag="agree"),
            '<li class="choice"><span class="tick" aria-hidden="true"></span><span>I agree.</span></li>',
        ),
        (
            Fields("Patient", (Field("Name"),), (Run("I was told."),)),
            '<div class="fields"><p class="legend"><strong>Patient</strong></p><p>I was told.</p>'
            '<p class="field">Name: <span class="line" aria-hidden="true"></span></p></div>',
        ),
        (
            Box("The older way", (para("It cuts."),)),
            '<div class="box" role="group" aria-labelledby="box-1"><h3 id="box-1">The older way</h3>'
            "<p>It cuts.</p></div>",
        ),
    ],
    ids=lambda value: type(value).__name__ if not isinstance(value, str) else "",
)  # fmt: skip
def test_each_kind_of_node_is_the_element_that_means_it(node, expected):
    assert expected in main_of(node)


def test_a_table_has_caption_column_and_row_headers_and_each_cell_its_columns_label():
    page = main_of(TABLE)
    assert "<caption>Signs.</caption>" in page
    assert '<th scope="col" role="columnheader">Do this</th>' in page
    assert '<th scope="row" role="rowheader" data-label="Sign"><p>It bleeds</p></th>' in page
    assert '<td role="cell" data-label="Do this"><p>Press</p></td>' in page


def test_only_the_emergency_table_is_framed():
    urgent = Table(TABLE.columns, TABLE.rows, TABLE.widths, "Emergency signs.", urgent=True)
    assert "<table" in main_of(TABLE) and "urgent" not in main_of(TABLE)
    assert '<table role="table" class="urgent"><caption>Emergency signs.</caption>' in main_of(urgent)


def test_a_pictograph_is_drawn_where_there_is_something_to_draw_it_with(monkeypatch):
    table = Table(("How many",), ((Cell((Pictograph(4, 100, "4 of 100 & more"),)),),), (100,), "s")
    monkeypatch.setattr(html, "_drawing", lambda: lambda p: f"<svg><title>{p.marked}</title></svg>")
    assert "<svg><title>4</title></svg></td>" in main_of(table)
    table = Table(("How many",), ((Cell((Pictograph(4, 100, "4 \x00of 100 & more"),)),),), (100,), "s")
    monkeypatch.setattr(html, "_drawing", lambda: lambda p: f"<svg><title>{p.alt}</title></svg>")
    assert "<svg><title>4 of 100 & more</title></svg>" in main_of(table), "it draws words that are clean"
    monkeypatch.setattr(html, "_drawing", lambda: None)
    assert "<p>4 of 100 &amp; more</p></td>" in main_of(table)


def test_every_word_of_the_tree_is_in_the_page_once_and_in_order():
    tree = document(*EVERY_KIND, lead=(para("First of all."), TABLE))
    in_tree = re.sub(r"^\d+\. ", "", export_text(tree), flags=re.M)
    assert letters("".join(Outline(export_html(tree).decode()).words)) == letters(in_tree)


def test_headings_begin_at_one_and_skip_no_level_in_boxes_too():
    tree = document(*EVERY_KIND, lead=(Box("Read this", (para("x"),)),))
    levels = [int(tag[1]) for tag, _ in Outline(export_html(tree).decode()).elements if re.match(r"h\d", tag)]
    assert levels == [1, 2, 2, 3, 3, 4]


def test_every_id_is_used_once_and_every_label_points_at_one():
    page = Outline(made(*EVERY_KIND, *EVERY_KIND))
    ids = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    named = [attrs[n] for _, attrs in page.elements for n in ("for", "aria-labelledby") if n in attrs]
    assert len(ids) == len(set(ids))
    assert named and set(named) <= set(ids)


def test_tick_boxes_that_follow_each_other_are_one_list_named_by_their_heading():
    page = main_of(para("Tick."), *(Choice((Run(word),)) for word in "ab"), para("End."))
    assert page.count('<ul class="choices" aria-labelledby="part-1">') == 1
    assert (
        page.index("choices")
        < page.index("<span>a</span>")
        < page.index("<span>b</span>")
        < page.index("End.")
    )


@pytest.mark.parametrize("audience", ["patient", "clinician"])
def test_nothing_looks_as_if_it_could_be_filled_in_that_is_not_kept(audience):
    """A form on a phone saved nothing: who filled it in had agreed to nothing, and lost it."""
    page = Outline(export_html(replace(document(*EVERY_KIND), audience=audience)).decode())
    assert not {"input", "select", "textarea", "form", "button", "label"} & {tag for tag, _ in page.elements}


def test_language_direction_and_title_are_set():
    page = made(para("x"), rtl=True)
    assert '<html lang="en-GB" dir="rtl">' in page
    assert "<title>Title – R-1</title>" in page
    assert 'dir="ltr"' in made(para("x"))


def test_header_and_footer_name_clinic_title_reference_version_and_day():
    page = made(para("x"))
    assert '<header>\n<p class="whose"><bdi>Invented Clinic</bdi></p>\n<h1>Title</h1>\n</header>' in page
    assert "<footer><p>Ref R-1 · Version 1 · 1 May 2026</p></footer>" in page


def test_a_draft_says_so_first_and_on_each_printed_page_and_others_do_not():
    draft = made(para("x"), draft=("not approved",))
    rules = draft[draft.index("@page") : draft.index("</style>")]
    assert '<header>\n<p class="draft">DRAFT</p>' in draft
    assert '"DRAFT"' in rules
    assert "DRAFT" not in made(para("x"))


def test_an_invented_clinic_is_called_invented():
    assert '<p class="whose">All invented</p>' in made(
        para("x"), labels=LABELS | {"invented": "All invented"}
    )


OUTSIDE = (
    r"<link|<iframe|<form|@import|url\(|\son\w+=|https?:|fetch\(|XMLHttp|WebSocket|sendBeacon|\simport\W"
)
LOGO = Logo(b"\x89PNG dots", 40, 20, "Two leaves")


def test_the_file_needs_nothing_from_outside_and_runs_nothing_but_its_own():
    """Not one address in it, and the browser is told to open none."""
    tree = document(*EVERY_KIND, ring=RING, labels=LABELS | {"ring": "Whom to ring"})
    page = export_html(tree, Look(Brand(logo=LOGO))).decode()
    assert not re.search(OUTSIDE, page)
    assert set(re.findall(r'(?:src|href)="(\w+:)', page)) == {"data:", "tel:"}
    policy = unescape(re.findall(r'Policy" content="([^"]*)"', page)[0])
    assert (
        policy.startswith("default-src 'none'; script-src 'sha256-")
        and "'unsafe" not in policy.split("style")[0]
    )
    (script,) = re.findall(r"<script>(.*?)</script>", page, re.S)
    assert base64.b64encode(hashlib.sha256(script.encode()).digest()).decode() in policy, (
        "or it would not run"
    )


def test_a_clinicians_page_runs_nothing():
    page = export_html(replace(document(*EVERY_KIND), audience="clinician")).decode()
    assert "<script" not in page and "script-src" not in page and "<details" not in page


RING = (("In an emergency", "999"), ("In opening hours", "020 7946 0101"))
LINK = '<a href="tel:02079460101">020 7946 0101</a>'
SOS = '<a href="tel:999">999</a>'


def test_the_numbers_stand_at_the_foot_of_a_patients_screen():
    page = made(para("x"), ring=RING, labels=LABELS | {"ring": "Whom to ring"})
    assert '<nav class="ring" aria-label="Whom to ring">' in page
    assert f"<p><span>In an emergency</span> {SOS}</p>" in page and f"{LINK}</p>\n</nav>" in page
    assert "<nav" not in made(para("x")), "nobody rings from the clinic's own record"


WRITTEN = Source("content/aftercare/x.md", 3, "x")


@pytest.mark.parametrize(
    ("node", "expected"),
    [
        (Paragraph((Run("Ring 020 7946 0101 now."),)), f"<p>Ring {LINK} now.</p>"),
        (Paragraph((Run("Ring 999. Or 020 7946 0101."),)), f"<p>Ring {SOS}. Or {LINK}.</p>"),
        (Paragraph((Run("After 30 minutes ring 999."),), WRITTEN), f"<p>After 30 minutes ring {SOS}.</p>"),
        (Paragraph((Run("拨打999。"),)), f"<p>拨打{SOS}。</p>"),
        (Facts((("Ambulance", "999"),)), f"<dd>{SOS}</dd>"),
        # counts, and longer numbers that only have it inside
        (Paragraph((Run("About 4 of 999 treatments."),)), "<p>About 4 of 999 treatments.</p>"),
        (Paragraph((Run("999.5 and 1,999 and +999"),)), "<p>999.5 and 1,999 and +999</p>"),
        (Paragraph((Run("020 7946 01012"),)), "<p>020 7946 01012</p>"),
        (Paragraph((Run("999", href="https://example.org"),)), '<a href="https://example.org">999</a>'),
    ],
)  # fmt: skip
def test_exactly_the_numbers_of_the_tree_can_be_tapped(node, expected):
    assert expected in main_of(node, ring=RING, labels=LABELS | {"ring": "Whom to ring"})


def test_a_number_among_arabic_words_is_a_link_inside_its_isolate():
    page = main_of(para("اتصل 020 7946 0101 الآن"), rtl=True, ring=RING, labels=LABELS | {"ring": "x"})
    assert f'<bdi dir="ltr">{LINK}</bdi>' in page


def test_the_first_part_is_open_and_the_others_are_opened_with_a_tap():
    tree = replace(document(), sections=tuple(Section(n, n, (para(n),)) for n in ("First", "Second")))
    page = export_html(tree).decode()
    assert page.index("<h2") < page.index("First</h2>") < page.index('<details class="part">')
    assert '<summary><h2 id="part-2">Second</h2></summary>\n<p>Second</p>\n</details>' in page


def test_words_against_the_page_say_their_direction():
    other = Table(
        ("العربية (Arabic)", "English"),
        (
            (
                Cell((Paragraph((Run("نص", language="ar"),)),)),
                Cell((Items((Paragraph((Run("نص", language="ar"),)),)),)),
            ),
        ),
        (50, 50),
        "s",
    )
    page = main_of(other)
    assert '<p dir="rtl"><span lang="ar" dir="rtl">نص' in page and '<ul dir="rtl">' in page
    assert 'role="columnheader" dir="auto">' in page and 'role="columnheader">English' in page


DIARY = Table(
    ("Question", "Day 1", "Day 3"),
    ((Cell((para("Is there a bruise?"),), head=True), Cell((para("Y / N"),)), Cell((para("–"),))),),
    (60, 20, 20),
    "Your diary.",
)
KEPT = LABELS | {
    "answers": "Y / N", "yes": "Y", "no": "N", "kept": "Kept here.", "chosen": "Chosen", "clear": "Clear",
}  # fmt: skip


def test_the_diary_is_a_table_on_paper_and_says_to_the_script_what_it_asks():
    tree = replace(document(labels=KEPT), sections=(Section("d", "Diary", (DIARY,), parts=("diary",)),))
    page = export_html(tree).decode()
    assert '<div class="diary" data-yes="Y" data-no="N" data-kept="Kept here."' in page
    assert page.count(" data-asked data-label") == 1 and "<p>Y / N</p>" in page
    assert "data-asked data" not in made(DIARY, labels=KEPT), "only the diary is asked"


def test_the_logo_is_on_paper_and_the_draft_mark_stands_once_there():
    page = export_html(document(para("x"), draft=("x",)), Look(Brand(logo=LOGO))).decode()
    data = base64.b64encode(LOGO.data).decode()
    assert f'<img class="logo" alt="Two leaves" src="data:image/png;base64,{data}">' in page
    printed = page.split("@media print")[1].split("</style>")[0]
    assert ".draft, .whose, footer p, .ring, .asked, .kept, .chosen button { display: none; }" in printed


NASTY = "<script>alert(1)</script> & \"quoted\" 'too' </style> </title> {{ x }} \\ --> ]]>"


def everywhere(words: str) -> Document:
    """The same words in every place that holds words."""
    cell = (Cell((para(words), Items((para(words),)), Pictograph(1, 100, words)), head=True),)
    nodes = (
        Heading((Run(words),), 3), para(words, strong=True), para(words, href="https://example.org/?a=1&b=\"<"),
        Items((para(words),)), Table((words,), (cell,), (100,), words), Choice((Run(words),), tag=words),
        Fields(words, (Field(words),), (Run(words),)), Facts(((words, words),)), Box(words, (para(words),)),
    )  # fmt: skip
    return Document(
        "consent", words, "en-GB", "patient", clinic_name=words, reference=words, issued=words,
        sections=(Section("x", words, nodes),), lead=(para(words),), draft=("x",),
        labels=dict.fromkeys((*LABELS, "invented"), words),
    )  # fmt: skip


def test_what_a_clinic_types_never_becomes_markup():
    page = Outline(export_html(everywhere(NASTY)).decode())
    plain = Outline(export_html(everywhere("plain")).decode())
    assert [tag for tag, _ in page.elements] == [tag for tag, _ in plain.elements]
    assert [set(attrs) for _, attrs in page.elements] == [set(attrs) for _, attrs in plain.elements]
    assert NASTY in "".join(page.words)


@given(st.text(alphabet=st.characters(), max_size=30))
def test_no_text_breaks_the_page(words):
    page = export_html(everywhere(words)).decode("utf-8")
    assert (
        page.count("</style>") == 1
        and page.count("</script>") == 1
        and page.count("</title>") == 1 + page.count("<svg")
    )
    Outline(page)


@pytest.mark.parametrize("href", ["javascript:alert(1)", " javascript:x", "data:text/html,x", "//x", ""])
def test_an_address_that_could_run_something_is_no_link(href):
    assert main_of(para("here", href=href)).endswith("<p>here</p></section>")


def test_telephone_numbers_are_links_only_where_the_tree_says_so():
    assert "<a" not in main_of(para("Ring 020 7946 0101."))
    assert "telephone=no" in made(para("x")), "or phones make links of figures"


def test_the_same_tree_gives_the_same_bytes():
    assert export_html(everywhere("x")) == export_html(everywhere("x"))
