"""HTML and Markdown as clinics have them: the right sentences, each with its line."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from readings import headings, lines, lists, read_as, told

from consentpack.markdown import loose_blocks
from consentpack.readability.scoring import left_out


@pytest.fixture
def read(tmp_path: Path):
    """Read words or bytes as a file of some name."""
    return partial(read_as, tmp_path)


# --- HTML -------------------------------------------------------------------------------------


def test_a_page_gives_headings_paragraphs_and_points_with_their_lines(read):
    page = "<h1>Form</h1>\n<p>We clean\nyour skin.</p>\n<h2>Risks</h2>\n<ul>\n<li>Bruising</li>\n</ul>\n"
    document = read("f.html", page)
    assert headings(document) == {"Form": 1, "Risks": 4}
    assert lines(document) == {"We clean your skin.": 2, "Bruising": 6}


def test_a_list_in_a_list_is_read_and_what_follows_a_list_is_no_point_of_it(read):
    page = "<ul><li>one<ul><li>two</li><li>three</li></ul></li><li>four</li></ul><p>The end is near.</p>"
    document = read("f.html", page)
    assert lists(document) == [(False, 4)]
    assert told(document) == ["one", "two", "three", "four", "The end is near."]


def test_numbers_in_order_are_told_from_bullets(read):
    assert lists(read("f.html", "<ol><li>Press.<li>Wait.</ol><ul><li>Bruise</ul>")) == [(True, 2), (False, 1)]
    inner = "<ol><li>Press.<ul><li>With a pad.</ul><li>Wait.</ol>"
    assert lists(read("f.html", inner)) == [(True, 1), (False, 1), (True, 1)]


def test_a_point_of_two_paragraphs_is_one_point(read):
    document = read("f.html", "<ul><li><p>Keep it dry</p><p>Wash it.</p></li><li>Rest.</li></ul>")
    assert lists(document) == [(False, 2)] and told(document)[0] == "Keep it dry. Wash it."


def test_end_tags_may_be_missing(read):
    page = (
        "<h1>Form<p>First one.<p>Second one.<ul><li>a point<ul><li>inner</ul><li>last</ul>"
        "<table><tr><td>A cell.<td>Another.<tr><td>Below.</table><p>The end is near."
    )
    document = read("f.html", page)
    assert list(headings(document)) == ["Form"]
    assert told(document) == [
        "First one.", "Second one.", "a point", "inner", "last", "A cell.", "Another.", "Below.",
        "The end is near.",
    ]  # fmt: skip


def test_the_head_of_a_table_is_a_label_and_its_cells_are_scored(read):
    page = "<table><tr><th>Risk<th>How often</tr>\n<tr><td>Skin Loss</td><td>It is rare.</td></tr></table>"
    document = read("f.html", page)
    assert lines(document) == {"Skin Loss": 2, "It is rare.": 2}
    assert left_out(document) == {"headings": 2}


def test_a_forced_break_joins_a_sentence_and_parts_lines(read):
    page = (
        "<p>You will be asked to lie on your back for the<br>whole time.</p>\n<p>No alcohol<br>\nNo sport</p>"
    )
    assert lines(read("f.html", page)) == {
        "You will be asked to lie on your back for the whole time.": 1, "No alcohol": 2, "No sport": 3,
    }  # fmt: skip


def test_what_nobody_sees_is_not_read(read):
    page = (
        "<title>Not this</title><style>p { color: red }</style><script>if (a < b) { '<p>Not' }</script>"
        "<!-- not this --><p hidden>Seen, for its end may be missing.</p>"
        "<div style='display: none'>Not <b>this</div>"
        "<div hidden><p>Not this</div><select><option>Not this</select><p>We clean it."
    )
    document = read("f.html", page)
    assert told(document) == ["Seen, for its end may be missing.", "We clean it."]
    assert headings(document) == {}


def test_entities_are_letters(read):
    assert told(read("f.html", "<p>You &amp; we aren&rsquo;t&nbsp;done &lt;5&#160;mm &#x2014; yet.")) == [
        "You & we aren’t done <5 mm — yet."
    ]


def test_a_form_on_a_page_is_read(read):
    """A consent form on a website stands inside <form>."""
    page = "<form><legend>You</legend><label>I agree to it.<input></label><button>Send</button></form>"
    assert told(read("f.html", page)) == ["I agree to it."]


def test_what_stands_round_the_text_is_kept_and_not_scored(read):
    page = (
        "<nav>Our other pages are here.</nav><p>We clean it.</p><address>1 Hazel Street</address><footer>Foot"
    )
    document = read("f.html", page)
    assert told(document) == ["We clean it."]
    assert left_out(document) == {"names, contacts and references": 3}


def test_a_bold_line_is_a_heading_and_a_bold_word_is_not(read):
    document = read("f.html", "<p><b>What are the risks?</b></p><p>You <b>may</b> bruise.</p>")
    assert list(headings(document)) == ["What are the risks?"] and told(document) == ["You may bruise."]


def test_a_missing_end_of_bold_makes_no_headings_of_what_follows(read):
    assert told(read("f.html", "<p>You <b>may bruise.<p>No alcohol<p>No sport")) == [
        "You may bruise.", "No alcohol", "No sport",
    ]  # fmt: skip


def test_lines_of_preformatted_text_are_lines(read):
    assert lines(read("f.html", "<pre>\nNo alcohol\nNo sport\n</pre>")) == {"No alcohol": 2, "No sport": 3}


# --- Markdown -----------------------------------------------------------------------------------


def test_loose_markdown_gives_every_block_with_its_kind_and_line():
    text = (
        "# Head\n\nPara *one*\ngoes on.\n\n**Bold**\n\n- a\n  - b\n\n    more\n\n1. first\n\n"
        "| Risk | How |\n|---|---|\n| Bruise | often |\n\n<p>html</p>\n\n    set in\n"
    )
    assert list(loose_blocks(text)) == [
        ("heading", 1, "Head"),
        ("paragraph", 3, "Para one goes on."),
        ("strong", 6, "Bold"),
        ("item", 8, "a"),
        ("item", 9, "b"),
        ("more", 11, "more"),
        ("step", 13, "first"),
        ("label", 15, "Risk"),
        ("label", 15, "How"),
        ("cell", 17, "Bruise"),
        ("cell", 17, "often"),
        ("html", 19, "<p>html</p>\n"),
        ("paragraph", 21, "set in\n"),
    ]


def test_tags_and_pictures_inside_a_line_are_no_words():
    assert list(loose_blocks("We <b>clean</b> ![a photo](x.png)it `now`.")) == [
        ("paragraph", 1, "We clean it now.")
    ]


def test_markdown_gives_sections_lists_tables_and_places(read):
    table = "| Risk | How |\n|---|---|\n| Skin Loss | It is rare. |\n"
    text = f"# Form\n\nWe clean\nit.\n\n{table}\n- a point\n  - inner\n"
    document = read("f.md", text)
    assert headings(document) == {"Form": 1}
    assert lines(document) == {
        "We clean it.": 3,
        "Skin Loss": 8,
        "It is rare.": 8,
        "a point": 10,
        "inner": 11,
    }
    assert left_out(document) == {"headings": 3}


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("fence", ["---", "+++"])
def test_front_matter_is_passed_over_and_the_lines_stay_those_of_the_file(read, fence, end):
    inside = 'title: "A form"' if fence == "---" else 'title = "A form"'
    text = f"{fence}\n{inside}\nsources: a\n{fence}\n\nWe clean it.\n"
    assert lines(read("f.md", text.replace("\n", end))) == {"We clean it.": 6}


def test_a_line_at_the_top_is_no_front_matter(read):
    """Else all text up to the next line would go unread."""
    assert told(read("f.md", "---\n\nWe clean it.\n\n---\n\nThen we stop.\n")) == [
        "We clean it.",
        "Then we stop.",
    ]


def test_lines_that_are_forced_apart_have_their_own_places(read):
    assert lines(read("f.md", "No alcohol  \nNo sport\\\nNo sun\n")) == {
        "No alcohol": 1,
        "No sport": 2,
        "No sun": 3,
    }


def test_a_bold_line_of_markdown_is_a_heading_but_no_shouted_order(read):
    document = read("f.md", "**Risks**\n\nYou may bruise.\n\n**You must not smoke**\n")
    assert list(headings(document)) == ["Risks"] and told(document) == [
        "You may bruise.",
        "You must not smoke",
    ]


def test_html_inside_markdown_is_read_with_its_line(read):
    assert lines(read("f.md", "Before it.\n\n<div>\n<p>We clean it.</p>\n</div>\n")) == {
        "Before it.": 1, "We clean it.": 4,
    }  # fmt: skip
