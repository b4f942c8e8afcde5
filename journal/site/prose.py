"""An entry's Markdown becomes HTML that can do no harm and fits the page it stands on.

Raw HTML is shown as the text it is.  Links lead to the web or write a mail, nowhere else.  Pictures are the
journal's own, resized; those of other hosts are not shown.  Headings are brought under the entry's own head
without leaving a level out.  What stands in a code fence is never published.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

LINK = re.compile(r"(?:https?://|mailto:)", re.IGNORECASE)
DEEPEST = 6
BELOW_ENTRY = 3
PARAGRAPH = re.compile(r"\n*+[^\W\d_][^\n\r]*+(?:\n[^\W\d_][^\n\r]*+)*+\s*+")
"""Lines that each begin with a letter are one paragraph: most stretches need be searched for nothing else."""

_DEFINITION = re.compile(r"^ {0,3}\[[^\]\n]+\]:\s*\S.*$", re.MULTILINE)

ALIGNED = {"text-align:right": "n", "text-align:center": "centred"}
"""The class of a cell by the style that markdown-it gives it; what stands left does so anyway."""

Picture = Callable[[str, str, str], str | None]
"""Source as written, alternative text and title to a picture's HTML; None where it is not to be shown."""


@lru_cache(maxsize=1)
def _parser() -> MarkdownIt:
    from markdown_it import MarkdownIt

    parser = MarkdownIt("commonmark", {"html": False, "linkify": False}).enable(["table", "strikethrough"])
    parser.disable(["html_block", "html_inline"])
    # Every link is looked at below, where its words are kept.
    parser.validateLink = lambda url: True  # type: ignore[method-assign]  # noqa: ARG005
    return parser


def render(text: str, picture: Picture | None = None) -> str:
    """Give the HTML of a stretch of Markdown; ``picture`` gives the HTML of each picture of the journal."""
    parser = _parser()
    if PARAGRAPH.fullmatch(text) is not None:
        return f"<p>{_set(parser.parseInline(text.strip()), picture)}</p>\n"
    tokens = _without_fences(parser.parse(text))
    _demote(tokens)
    return _without_empty(_set(tokens, picture))


def _set(tokens: list[Token], picture: Picture | None) -> str:
    """Give the HTML of what was parsed, with what is inside its paragraphs made harmless."""
    parser = _parser()
    for token in tokens:
        if token.type == "inline" and token.children:
            token.children = _tamed(token.children, picture)
        elif token.attrs and "style" in token.attrs:
            _align(token)
    html: str = parser.renderer.render(tokens, parser.options, {})
    return html


def _align(cell: Token) -> None:
    """Have the style sheet align a table's cell: a page's policy allows no style beside it."""
    name = ALIGNED.get(str(cell.attrs.pop("style")))
    if name:
        cell.attrSet("class", name)


def definitions(texts: list[str]) -> str:
    """Give the link definitions in any of an entry's stretches, so that each stretch can use them."""
    found = [line for text in texts if "]:" in text for line in _DEFINITION.findall(text)]
    return "\n\n" + "\n".join(found) if found else ""


def _without_fences(tokens: list[Token]) -> list[Token]:
    return [token for token in tokens if token.type != "fence"]


def _demote(tokens: list[Token]) -> None:
    """Bring headings below the entry's: the first is one level below it, each next at most one deeper."""
    seen: list[int] = []
    for token in tokens:
        if token.type == "heading_open":
            level = int(token.tag[1])
            while seen and seen[-1] >= level:
                seen.pop()
            seen.append(level)
        if token.type in {"heading_open", "heading_close"}:
            token.tag = f"h{min(DEEPEST, BELOW_ENTRY + len(seen) - 1)}"


def _tamed(children: list[Token], picture: Picture | None) -> list[Token]:
    """Unlink what leads astray, and put the journal's own pictures in."""
    kept: list[Token] = []
    open_links: list[bool] = []
    for token in children:
        if token.type == "link_open":
            safe = LINK.match(str(token.attrGet("href") or "")) is not None
            open_links.append(safe)
            if not safe:
                continue
        elif token.type == "link_close":
            if not open_links.pop():
                continue
        elif token.type == "image":
            token = _pictured(token, picture)  # noqa: PLW2901 - the picture takes the token's place
        kept.append(token)
    return kept


def _pictured(token: Token, picture: Picture | None) -> Token:
    from markdown_it.token import Token as Made

    alt = _alternative(token.children or [])
    html = (
        picture(str(token.attrGet("src") or ""), alt, str(token.attrGet("title") or "")) if picture else None
    )
    if html is None:
        return Made("text", "", 0, content=f"[{alt}]" if alt else "")
    return Made("html_inline", "", 0, content=html)


def _alternative(children: list[Token]) -> str:
    return "".join(
        " " if child.type in _BREAKS else child.content or _alternative(child.children or [])
        for child in children
    )


_BREAKS = frozenset({"softbreak", "hardbreak"})
_EMPTY = re.compile(r'<(h[1-6]|p|th)(?: class="\w+")?>\s*</\1>\n?')
_LONE_PICTURE = re.compile(r"<p>((?>\s*<figure class=\"picture\">.*?</figure>\s*)+)</p>", re.DOTALL)


def _without_empty(html: str) -> str:
    html = _EMPTY.sub(lambda found: "<td></td>" if found[1] == "th" else "", html)
    return _LONE_PICTURE.sub(r"\1", html)


_MARKS = re.compile(
    r"!\[[^\]]*\]\([^)]*\)|\[([^\]]*)\]\([^)]*\)|[*_`~#>|]+|\\(?=\W)|^\s*[-+]\s", re.MULTILINE
)

_MARKED_UP = 20  # times as long as its words are is no paragraph, with all its marks


def opening(text: str, length: int = 240) -> str:
    """Give the first paragraph's plain words, cut at a word's end, for where an entry is only announced."""
    for paragraph in re.split(r"\n\s*\n", text):
        if re.match(r"\s*(?:!\[|#|```|~~~|\||>|    )", paragraph):
            continue
        shortened = paragraph[: _MARKED_UP * length]
        words = " ".join(_MARKS.sub(lambda found: found[1] or "", shortened).split())
        if words:
            return (
                words if len(words) <= length else words[:length].rsplit(" ", 1)[0].rstrip(",;:–—-. ") + " …"
            )
    return ""


def sources(text: str) -> list[tuple[str, str]]:
    """Give the source and alternative text of each picture that a stretch of Markdown shows."""
    found: list[tuple[str, str]] = []
    render(text, lambda source, alternative, _: found.append((source, alternative)))
    return found
