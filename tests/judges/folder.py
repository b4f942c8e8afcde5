"""A published folder as its judges see it: pages, the files they name, and a broken one to be found out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import NamedTuple
from urllib.parse import unquote, urlsplit

from bs4 import BeautifulSoup, Tag

PICTURES = frozenset({".png", ".jpg", ".jpeg", ".webp", ".avif", ".gif"})
URL_IN_CSS = re.compile(r"""url\(\s*["']?([^"')]+)["']?\s*\)|@import\s+["']([^"']+)["']""")
MAILED = re.compile(r"sheet-\d{4}\.html")

# Where a page may name a file, and whether the browser fetches it by itself while showing the page.
NAMING_ATTRIBUTES = (
    ("href", False),
    ("xlink:href", True),
    ("src", True),
    ("srcset", True),
    ("imagesrcset", True),
    ("poster", True),
    ("data", True),
    ("action", False),
    ("formaction", False),
    ("cite", False),
    ("background", True),
)
FETCHED_LINKS = frozenset({"stylesheet", "icon", "preload", "modulepreload", "apple-touch-icon", "manifest"})


class Reference(NamedTuple):
    """One `target` that a page names, and whether it is `fetched` just by looking at the page."""

    target: str
    fetched: bool
    where: str


def pages(site: Path) -> list[Path]:
    """Every HTML file of the folder."""
    return sorted(site.rglob("*.html"))


@cache
def soup(page: Path) -> BeautifulSoup:
    """The page as a tree, read once a session."""
    return BeautifulSoup(page.read_text(encoding="utf-8"), "lxml")


def files_named(attribute: str, value: str) -> list[str]:
    """The addresses in an attribute: one, or those of a `srcset`."""
    if attribute.endswith("srcset"):
        return [part.split()[0] for part in value.split(",") if part.strip()]
    return [value.strip()]


def is_fetched(tag: Tag, attribute: str, *, usually: bool) -> bool:
    """Whether showing the page asks for this file; `link` does for some relations only, `use` does."""
    if tag.name == "link":
        return bool(FETCHED_LINKS & {str(word).lower() for word in tag.get_attribute_list("rel")})
    if attribute in ("href", "xlink:href"):
        return tag.name in ("image", "use", "feimage", "base")
    return usually


def references(page: Path) -> Iterator[Reference]:
    """Everything that an HTML page names: links, pictures, styles, and addresses inside its CSS."""
    for tag in soup(page).find_all(name=True):
        for attribute, usually in NAMING_ATTRIBUTES:
            value = tag.get(attribute)
            if isinstance(value, str):
                fetched = is_fetched(tag, attribute, usually=usually)
                for target in files_named(attribute, value):
                    yield Reference(target, fetched, f"{page.name}: <{tag.name} {attribute}>")
        style = tag.get("style")
        if isinstance(style, str):
            yield from references_in_css(style, f"{page.name}: style of <{tag.name}>")
        if tag.name == "style":
            yield from references_in_css(tag.get_text(), f"{page.name}: <style>")


def references_in_css(text: str, where: str) -> Iterator[Reference]:
    """Every file that a style sheet asks for."""
    for match in URL_IN_CSS.finditer(text):
        yield Reference((match[1] or match[2]).strip(), fetched=True, where=where)


def anchors(page: Path) -> set[str]:
    """Every place in a page that a link can point at."""
    return {str(tag[key]) for key in ("id", "name") for tag in soup(page).select(f"[{key}]")}


def file_of(site: Path, base: Path, target: str) -> tuple[Path, str]:
    """The file that a relative address means, seen from `base`, and the fragment behind it."""
    parts = urlsplit(target)
    path = base if not parts.path else base.parent / unquote(parts.path)
    return (site / path.resolve().relative_to(site.resolve())), unquote(parts.fragment)


def needed_by(site: Path, page: Path) -> set[Path]:
    """The page itself and every file of the site that showing it asks for, style sheets followed."""
    wanted, found = [page], set()
    while wanted:
        file = wanted.pop()
        if file in found or not file.is_file():
            continue
        found.add(file)
        named: list[Reference] = []
        if file.suffix == ".html":
            named = list(references(file))
        elif file.suffix == ".css":
            named = list(references_in_css(file.read_text(encoding="utf-8"), file.name))
        for reference in named:
            is_ours = not urlsplit(reference.target).scheme and not reference.target.startswith(("//", "#"))
            if reference.fetched and is_ours:
                wanted.append(file_of(site, file, reference.target)[0])
    return found


GOOD_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="description" content="A page with nothing wrong.">
<title>{title}</title>
<link rel="icon" href="data:,">
{head}
</head>
<body>
<header><p>A header</p></header>
<main>
<h1>{title}</h1>
{body}
</main>
</body>
</html>
"""


def laid_out(folder: Path, files: Mapping[str, bytes]) -> Path:
    """Write a site's files into a folder and give the folder."""
    for name, data in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(data)
    return folder


def hand_made(
    folder: Path, body: str = "<p>Nothing is wrong here.</p>", head: str = "", **others: str
) -> Path:
    """A small site to try a judge on: index.html with this body and head, and other files by their names."""
    folder.mkdir(parents=True, exist_ok=True)
    page = GOOD_PAGE.format(title="Hand-made", body=body, head=head)
    (folder / "index.html").write_text(page, encoding="utf-8")
    for name, text in others.items():
        (folder / name.replace("__", ".")).write_text(text, encoding="utf-8")
    return folder
