"""Entries' Markdown on a page: safe whatever it says, at the right depth, and as CommonMark reads it."""

from __future__ import annotations

import re

import nh3
import pytest
from bs4 import BeautifulSoup
from hypothesis import given
from hypothesis import strategies as st

from journal.site import prose

LINE = st.text(alphabet="abé *_[]()!#`-+1=|:<&\\\t\r\x0b\u00a0", max_size=30)
LETTERS = st.text(alphabet="abc def\n*_[]()!#`>-+.1&;<\\\"'~|=:/", max_size=120)


@pytest.mark.parametrize(
    ("markdown", "html"),
    [
        ("*slow* and **strong**", "<p><em>slow</em> and <strong>strong</strong></p>"),
        ("a\nb", "<p>a\nb</p>"),
        ("> said", "<blockquote>\n<p>said</p>\n</blockquote>"),
        ("1. one\n2. two", "<ol>\n<li>one</li>\n<li>two</li>\n</ol>"),
        (
            "[site](https://example.org/a?b=1&c=2)",
            '<p><a href="https://example.org/a?b=1&amp;c=2">site</a></p>',
        ),
        ("~~gone~~", "<p><s>gone</s></p>"),
    ],
)
def test_markdown_reads_as_it_is_meant(markdown: str, html: str) -> None:
    """Emphasis, quotations, lists and links are CommonMark's; struck-out words are common practice."""
    assert prose.render(markdown).strip() == html


@pytest.mark.parametrize(
    "markdown",
    [
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "a <b onmouseover='x()'>bold</b>",
        "<!-- secret -->\n\n<style>p{}</style>",
        "<svg onload=alert(1)>",
    ],
)
def test_html_of_an_entry_is_shown_as_the_text_it_is(markdown: str) -> None:
    """No element of an entry's own gets into the page."""
    page = BeautifulSoup(prose.render(markdown), "html.parser")
    assert {tag.name for tag in page.find_all()} <= {"p"}


@pytest.mark.parametrize(
    "target",
    [
        "javascript:alert(1)", "JaVaScRiPt:alert(1)", "data:text/html,x", "file:///etc/passwd", "vbscript:x",
        "2026-03.html", "//evil.example/x", "/etc/passwd", "&#106;avascript:alert(1)",
    ],
)  # fmt: skip
def test_a_link_leads_to_the_web_or_to_a_mail_or_nowhere(target: str) -> None:
    """The words of any other link are kept, the link is not."""
    page = BeautifulSoup(prose.render(f"see [the words]({target}) there"), "html.parser")
    assert page.find("a") is None
    assert "see the words there" in page.get_text()


def test_a_link_to_the_web_stays() -> None:
    """https, http and mailto are followed."""
    for target in ("https://example.org/", "http://example.org/", "mailto:a@example.org"):
        assert BeautifulSoup(prose.render(f"[x]({target})"), "html.parser").find("a") is not None


@given(LETTERS)
def test_what_nh3_would_take_out_never_gets_in(markdown: str) -> None:
    """The sanitiser nh3, as an outside judge, finds nothing to remove in any rendered text."""
    html = prose.render(markdown)
    tags = set(
        "p em strong s a ul ol li blockquote pre code hr br table thead tbody tr th td h3 h4 h5 h6".split()
    )
    found = BeautifulSoup(html, "html.parser")
    cleaned = BeautifulSoup(
        nh3.clean(html, tags=tags, attributes={"a": {"href", "title"}, "ol": {"start"}}, link_rel=None),
        "html.parser",
    )
    assert [tag.name for tag in found.find_all()] == [tag.name for tag in cleaned.find_all()]
    for tag in found.find_all("a"):
        assert re.match(r"(?i)https?://|mailto:", str(tag["href"]))


@given(LETTERS)
def test_another_reader_of_commonmark_reads_the_same(markdown: str) -> None:
    """Marko, a second implementation of CommonMark, gives the same words (without HTML, links)."""
    import marko

    if any(sign in markdown for sign in "<&[]|~`#=\\") or re.search(
        r"^ {0,3}[-_*+>\d]", markdown, re.MULTILINE
    ):
        return
    ours = BeautifulSoup(prose.render(markdown), "html.parser").get_text()
    theirs = BeautifulSoup(marko.convert(markdown), "html.parser").get_text()
    assert ours.split() == theirs.split()


@given(st.lists(st.tuples(st.sampled_from(["a", "é", ""]), LINE).map("".join), min_size=1, max_size=5))
def test_a_paragraph_is_set_as_if_all_kinds_of_block_had_been_looked_for(lines: list[str]) -> None:
    """Lines that begin with a letter are a paragraph in CommonMark 0.31, whatever else they hold."""
    markdown = "\n".join(lines)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(prose, "PARAGRAPH", re.compile(r"(?!)"))
        whole = prose.render(markdown)
    assert prose.render(markdown) == whole


@pytest.mark.parametrize(
    ("markdown", "levels"),
    [
        ("# one", ["h3"]),
        ("#### deep\n\n# top\n\n### third", ["h3", "h3", "h4"]),
        ("# a\n\n###### b\n\n## c", ["h3", "h4", "h4"]),
        ("# a\n\n## b\n\n### c\n\n#### d\n\n##### e", ["h3", "h4", "h5", "h6", "h6"]),
    ],
)
def test_headings_stand_below_the_entry_and_leave_no_level_out(markdown: str, levels: list[str]) -> None:
    """The page's outline has no gap, however an entry numbers its headings (WCAG 2.2, 1.3.1)."""
    found = BeautifulSoup(prose.render(markdown), "html.parser").find_all(re.compile("^h"))
    assert [tag.name for tag in found] == levels


def test_a_column_stands_as_its_table_says_by_class_and_not_by_style() -> None:
    """A page's policy lets no element bear a style of its own; the style sheet aligns by class."""
    markdown = "| left | right | middle | plain | |\n|:--|--:|:-:|---|--:|\n| 1 | 2 | 3 | 4 | 5 |"
    html = prose.render(markdown)
    found = BeautifulSoup(html, "html.parser")
    assert "style" not in html
    assert [cell.get("class") for cell in found.select("tbody td")] == [None, ["n"], ["centred"], None, ["n"]]
    assert [cell.name for cell in found.select("thead tr > *")] == ["th", "th", "th", "th", "td"]


def test_an_empty_heading_is_no_heading() -> None:
    """A heading without words would be an empty entry in the outline."""
    assert BeautifulSoup(prose.render("#\n\nwords"), "html.parser").find("h3") is None


def test_what_stands_in_a_code_fence_is_not_published() -> None:
    """A fence is the keeper's own, like a comment; indented code is published."""
    assert "hidden" not in prose.render("```\nhidden\n```\n\nshown\n\n    also shown")
    assert "also shown" in prose.render("```\nhidden\n```\n\nshown\n\n    also shown")


def test_a_picture_is_the_journals_own_or_its_words() -> None:
    """Pictures of other hosts, and those that are not there, leave their words in the text."""
    html = prose.render("![a worm](https://evil.example/w.png) and ![b](gone.png)")
    assert "<img" not in html
    assert "[a worm]" in html


def test_a_link_defined_elsewhere_in_the_entry_is_found() -> None:
    """Link definitions below a record line serve the words above it."""
    shared = prose.definitions(["see [the book][b]", "[b]: https://example.org/book"])
    assert 'href="https://example.org/book"' in prose.render("see [the book][b]" + shared)


@pytest.mark.parametrize(
    ("markdown", "words"),
    [
        ("# Head\n\n![p](x.jpg)\n\nThe *first* [words](https://example.org).", "The first words."),
        ("word " * 100, "word " * 47 + "word …"),
        ("", ""),
        ("> quoted\n\nplain", "plain"),
    ],
)
def test_an_entry_is_announced_by_its_first_words(markdown: str, words: str) -> None:
    """The first paragraph, without marks, cut at the end of a word."""
    assert prose.opening(markdown) == words
