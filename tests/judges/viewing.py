"""Ways of looking at a page: width, scheme, text size, forced colours, script."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

Scheme = Literal["light", "dark"]

WIDTHS = (360, 768, 1280)
SCHEMES: tuple[Scheme, ...] = ("light", "dark")
DOUBLE_TEXT = "document.documentElement.style.setProperty('font-size', '200%', 'important')"
OPEN_ALL_DETAILS = "document.querySelectorAll('details').forEach(element => { element.open = true })"


class View(NamedTuple):
    """How a page is looked at; widths in CSS pixels."""

    width: int = 360
    scheme: Scheme = "light"
    double_text: bool = False
    forced_colours: bool = False
    script: bool = True

    def __str__(self) -> str:
        """`360 px, dark, text 200 %`."""
        extras = [("text 200 %", self.double_text), ("forced colours", self.forced_colours)]
        return ", ".join([f"{self.width} px", self.scheme, *(words for words, on in extras if on)])


@contextmanager
def looking(browser: Browser, view: View) -> Iterator[Page]:
    """A fresh window of the browser with this view, closed afterwards."""
    context = browser.new_context(
        viewport={"width": view.width, "height": 900},
        color_scheme=view.scheme,
        forced_colors="active" if view.forced_colours else "none",
        reduced_motion="reduce",
        java_script_enabled=view.script,
    )
    try:
        yield context.new_page()
    finally:
        context.close()


def open_page(page: Page, file: Path, view: View) -> None:
    """Show one file of the site, with every fold open so that nothing escapes judgement."""
    page.goto(file.resolve().as_uri())
    page.evaluate(OPEN_ALL_DETAILS)
    if view.double_text:
        page.evaluate(DOUBLE_TEXT)
