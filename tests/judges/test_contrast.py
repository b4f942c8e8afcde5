"""Words inside drawings can be read in both schemes and in forced colours, and are not set too small."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.judges.folder import hand_made, pages
from tests.judges.viewing import SCHEMES, View, looking, open_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

MEASURE = (Path(__file__).parent / "svg_contrast.js").read_text(encoding="utf-8")
SMALLEST_WORDS = 9.0  # CSS pixels on a phone, 360 wide; a matter of taste, no published source

VIEWS = [
    *(View(1280, scheme) for scheme in SCHEMES),
    *(View(360, scheme, forced_colours=True) for scheme in SCHEMES),
]


def words_in_drawings(browser: Browser, site: Path, view: View) -> list[dict[str, Any]]:
    """Each text in each drawing of a folder, with its contrast, what it needs, and its size in pixels."""
    found: list[dict[str, Any]] = []
    with looking(browser, view) as page:
        for file in pages(site):
            open_page(page, file, view)
            found += [{"page": file.name, **words} for words in page.evaluate(MEASURE)]
    return found


def pale_words(browser: Browser, site: Path, view: View) -> list[str]:
    """The texts whose contrast is less than WCAG 2.2, 1.4.3 asks for."""
    return [
        f"{word['page']}, {view}: {word['words']!r} has {word['ratio']:.2f} of {word['needed']}"
        f" ({word['fill']} on {word['ground']})"
        for word in words_in_drawings(browser, site, view)
        if word["ratio"] < word["needed"]
    ]


@pytest.mark.parametrize("view", VIEWS, ids=str)
def test_words_in_drawings_can_be_read(view: View, site: Path, browser: Browser) -> None:
    """Every word in every chart has the contrast of WCAG 2.2 AA against what lies beneath it."""
    found = pale_words(browser, site, view)
    assert not found, f"{len(found)} findings\n" + "\n".join(found[:20])


def test_words_in_drawings_are_large_enough_on_a_phone(site: Path, browser: Browser) -> None:
    """No word in a chart shrinks below nine pixels on a narrow phone."""
    words = words_in_drawings(browser, site, View(360))
    small = {
        f"{word['page']}: {word['words']} {word['size']:.1f}"
        for word in words
        if word["size"] < SMALLEST_WORDS
    }
    assert not small, "\n".join(sorted(small)[:20])


DRAWING = """<svg role="img" width="200" height="60" style="background: #fff">
<rect x="0" y="0" width="200" height="60" fill="{ground}"/>
<text x="10" y="40" font-size="14" fill="{ink}" opacity="{opacity}">words</text></svg>"""


@pytest.mark.parametrize(
    ("ground", "ink", "opacity", "ratio"),
    [
        ("#fff", "#000", 1, 21.0),
        ("none", "#767676", 1, 4.54),
        ("#000", "#fff", 1, 21.0),
        ("#777", "#777", 1, 1.0),
        ("#fff", "#000", 0.5, 3.95),
        ("color-mix(in srgb, #fff 50%, #000)", "#808080", 1, 1.0),
    ],
)
def test_contrast_is_measured_as_the_standard_does(
    ground: str, ink: str, opacity: float, ratio: float, browser: Browser, tmp_path: Path
) -> None:
    """Black on white is 21, #767676 on white the well-known 4.54; transparency and shapes beneath count."""
    drawing = DRAWING.format(ground=ground, ink=ink, opacity=opacity)
    (word,) = words_in_drawings(browser, hand_made(tmp_path / "site", drawing), View())
    assert word["ratio"] == pytest.approx(ratio, abs=0.03)
    assert bool(pale_words(browser, tmp_path / "site", View())) is (ratio < 4.5)
