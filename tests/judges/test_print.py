"""The yearly sheet prints on exactly one page, A4 or Letter, with everything on it."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.judges.folder import MAILED, hand_made, pages
from tests.judges.viewing import SCHEMES, Scheme, View, looking
from tests.sites import published

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

# What the print dialogue sets by itself where the page's style does not say; Chromium's own default.
MARGIN = "0.4in"


def print_to(
    browser: Browser, page_file: Path, paper: str, scheme: Scheme, pdf: Path, letters: str = ""
) -> Path:
    """Print one page as the browser's dialogue would; ``letters`` is the only font it has."""
    with looking(browser, View(1280, scheme)) as page:
        page.goto(page_file.resolve().as_uri())
        if letters:
            page.evaluate("font => document.documentElement.style.setProperty('--serif', font)", letters)
        edges = {"top": MARGIN, "right": MARGIN, "bottom": MARGIN, "left": MARGIN}
        page.pdf(path=pdf, format=paper, margin=edges, print_background=False)  # type: ignore[arg-type]
    return pdf


def told_by(tool: str, *words: str | Path) -> str:
    """What one of poppler's tools prints; skips where it is not installed."""
    if not shutil.which(tool):
        pytest.skip(f"no {tool} on this machine: install poppler's tools")
    return subprocess.run([tool, *map(str, words)], capture_output=True, encoding="utf-8", check=True).stdout


def page_count(pdf: Path) -> int:
    """How many pages a PDF has, by pdfinfo."""
    found = re.search(r"^Pages:\s+(\d+)$", told_by("pdfinfo", pdf), re.MULTILINE)
    return int(found[1]) if found else 0


def printed_words(browser: Browser, page_file: Path) -> list[str]:
    """Every word that the page shows when it is printed."""
    with looking(browser, View(1280)) as page:
        page.emulate_media(media="print")
        page.goto(page_file.resolve().as_uri())
        text: str = page.evaluate("() => document.body.innerText")
    return re.findall(r"\w{4,}", text.lower())


def sheets(site: Path) -> list[Path]:
    """The yearly sheets, those to mail included."""
    found = [page for page in pages(site) if page.name.startswith("year-") or MAILED.fullmatch(page.name)]
    assert found, "the site has no yearly sheet"
    return found


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("scheme", SCHEMES)
def test_the_yearly_sheet_takes_one_page(
    paper: str, scheme: Scheme, site: Path, browser: Browser, tmp_path: Path
) -> None:
    """Every year's sheet is one printed page, whichever paper and scheme."""
    counts = {
        sheet.name: page_count(print_to(browser, sheet, paper, scheme, tmp_path / f"{sheet.stem}.pdf"))
        for sheet in sheets(site)
    }
    assert set(counts.values()) == {1}, counts


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_sheet_with_more_than_it_has_room_for_takes_one_page(
    paper: str, browser: Browser, tmp_path: Path
) -> None:
    """Many givers, bins and plantings, every caveat, a goal and the address's code fill one page, not two."""
    household = (
        'household: {name: The house at the lane, units: us, web address: "https://lane.example.org/"}\n'
        "goals: {2026: 90 lb}\notherwise: {food scraps: landfill}\n"
        f"bins: {{{', '.join(f'Trough {at}: {{worms: red wigglers}}' for at in range(8))}}}\n"
        f"givers: {{{', '.join(f'Door {at}: {{shown as: door number {at}}}' for at in range(10))}}}\n"
        f"plantings: {{{', '.join(f'Bed {at}: {{kind: bed}}' for at in range(8))}}}\n"
    )
    lines = [f"took in {at + 1}.0 lb newspaper from Door {at}" for at in range(10)]
    lines += [f"fed about {at + 1} lb bread to Trough {at}" for at in range(8)]
    lines += [f"spread 2.0 lb castings on Bed {at}" for at in range(8)]
    lines += [f"picked 2 lb {crop} from Bed {at}" for at in range(8) for crop in ("pears", "apples")]
    lines += ["harvested 40.0 lb castings from Trough 1", "took in 3 cups leaves", "recycled 4 lb glass"]
    lines += ["bedded Trough 2 with 3.0 lb newspaper", "fed 5 eggshells to Trough 3", "threw out 2 lb trash"]
    months = [
        f"## 2026-{month:02d}-03\n" + "".join(f"- {line}\n" for line in lines) for month in range(1, 13)
    ]
    made = published(tmp_path, "\n".join(months), household)
    for name in ("year-2026.html", "sheet-2026.html"):
        file = tmp_path / name
        file.write_bytes(made[name])
        assert page_count(print_to(browser, file, paper, "light", tmp_path / "full.pdf")) == 1, name


WIDE = "DejaVu Serif"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_yearly_sheet_takes_one_page_in_wide_letters_too(
    paper: str, site: Path, browser: Browser, tmp_path: Path
) -> None:
    """Many machines have no other serif than one whose lines are a fifth longer."""
    if WIDE not in told_by("fc-list"):
        pytest.skip(f"no {WIDE} on this machine: install fonts-dejavu")
    counts = {
        sheet.name: page_count(print_to(browser, sheet, paper, "light", tmp_path / "wide.pdf", f'"{WIDE}"'))
        for sheet in sheets(site)
    }
    assert set(counts.values()) == {1}, counts


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_nothing_of_the_sheet_is_cut_off(paper: str, site: Path, browser: Browser, tmp_path: Path) -> None:
    """Every word that the printed sheet is to show can be read out of the PDF."""
    for sheet in sheets(site):
        pdf = print_to(browser, sheet, paper, "light", tmp_path / f"{sheet.stem}.pdf")
        there = set(re.findall(r"\w{4,}", told_by("pdftotext", "-layout", pdf, "-").lower()))
        lost = [word for word in printed_words(browser, sheet) if word not in there]
        assert not lost, f"{sheet.name} on {paper} lacks {lost[:20]}"


def test_print_is_dark_on_white(site: Path, browser: Browser) -> None:
    """A reader in the dark scheme prints with dark ink all the same."""
    for sheet in sheets(site):
        with looking(browser, View(1280, "dark")) as page:
            page.emulate_media(media="print", color_scheme="dark")
            page.goto(sheet.resolve().as_uri())
            ink: list[int] = page.evaluate("""() => {
                const canvas = new OffscreenCanvas(1, 1).getContext('2d');
                canvas.fillStyle = getComputedStyle(document.querySelector('p, td')).color;
                canvas.fillRect(0, 0, 1, 1);
                return [...canvas.getImageData(0, 0, 1, 1).data].slice(0, 3);
            }""")
        assert sum(ink) < 300, f"{sheet.name} prints in {ink}"


def test_a_second_page_is_counted(browser: Browser, tmp_path: Path) -> None:
    """The judge counts the pages of a long sheet, and one page for a short one."""
    long = hand_made(tmp_path / "long", "<p>line</p>" * 200) / "index.html"
    assert page_count(print_to(browser, long, "A4", "light", tmp_path / "long.pdf")) > 1
    short = hand_made(tmp_path / "short") / "index.html"
    assert page_count(print_to(browser, short, "Letter", "light", tmp_path / "short.pdf")) == 1
