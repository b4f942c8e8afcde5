"""The yearly sheet prints on exactly one page, A4 or Letter, with everything on it."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.judges.folder import MAILED, hand_made, laid_out, pages
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


GIVERS = (
    "the bakery on Copper Street", "the bicycle shop at the corner", "the choir of the old chapel",
    "the dentist on the second floor", "the evening school canteen", "the family with two rabbits",
    "the lock keeper and his sister", "the night porter of the hotel", "the tailor under the arches",
)  # fmt: skip
BINS = (
    "Coal Cellar", "Crate behind the stove", "Green Drum", "Laundry Shelf",
    "Old Wash Tub", "Potting Bench", "Stone Trough", "Wine Box by the back door",
)  # fmt: skip
PLANTINGS = (
    "Apricot against the kitchen wall", "Bean Poles", "Currants along the lane", "Gooseberry Corner",
    "Quince by the water butt", "Rhubarb", "Tubs on the landing", "Two Hazels",
)  # fmt: skip
ADDRESS = "https://example.org/the-worms-of-the-upper-lane/"


def full_journal() -> tuple[str, str]:
    """A journal whose sheet has every table at its longest: its entries, and its household.yaml."""
    givers = "".join(
        f"  G{at}: {{shown as: {name}, otherwise: landfill}}\n" for at, name in enumerate(GIVERS)
    )
    bins = "".join(f"  {name}: {{worms: red wigglers}}\n" for name in BINS)
    plantings = "".join(f"  {name}: {{kind: bed}}\n" for name in PLANTINGS)
    household = (
        "household: {name: The household above the ferry landing, place: a lane of plum trees and sheds, "
        f'web address: "{ADDRESS}"}}\n'
        f"givers:\n{givers}bins:\n{bins}plantings:\n{plantings}"
        "otherwise: {food scraps: landfill, paper: landfill, garden: landfill}\ngoals: {2025: 900 lb}\n"
    )
    entries = []
    for month in range(1, 13):
        fed = [
            f"- fed {at + 2}.5 lb apple cores from G{at} to {BINS[(at + month) % len(BINS)]}"
            for at in range(len(GIVERS))
        ]
        bin_name, planting = BINS[month % len(BINS)], PLANTINGS[month % len(PLANTINGS)]
        entries.append(
            f"## 2025-{month:02d}-10\n\n"
            + "\n".join([
                *fed, f"- bedded {bin_name} with 2 lb newspaper", f"- fed about 1 lb leaves to {bin_name}",
                "- recycled 2 lb glass", "- threw out 4 lb trash",
                f"- harvested 2 lb castings from {bin_name}",
                f"- spread 1 lb castings on {planting}", f"- picked 3 lb pears from {planting}",
                f"- picked 22 oz tomatoes from {planting}",
            ])
        )  # fmt: skip
    return "\n\n".join(entries) + "\n", household


@pytest.fixture(scope="session")
def full_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site of a year of many givers, bins and plantings, on disk."""
    folder = tmp_path_factory.mktemp("full")
    return laid_out(folder / "site", published(folder, *full_journal()))


@pytest.fixture(scope="session")
def picture_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site of an entry with a picture far taller than wide, on disk."""
    from PIL import Image

    folder = tmp_path_factory.mktemp("picture")
    (folder / "entries").mkdir()
    Image.new("RGB", (900, 2000), "tan").save(folder / "entries" / "tall.jpg")
    entries = (
        "## 2026-02-10 A tall one\n\n- fed 1 lb apple cores to Box\n\n![A post of tan wood](tall.jpg)\n\n"
        "The words that follow it.\n"
    )
    household = "household: {name: Test house}\nbins: {Box: {worms: red wigglers}}\n"
    return laid_out(folder / "site", published(folder, entries, household))


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


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_fullest_sheet_takes_one_page(
    paper: str, full_site: Path, browser: Browser, tmp_path: Path
) -> None:
    """Many givers, bins and plantings with names of some length leave no second page, empty or not."""
    for sheet in sheets(full_site):
        pdf = print_to(browser, sheet, paper, "light", tmp_path / f"{sheet.stem}.pdf")
        assert page_count(pdf) == 1, sheet.name
        there = set(re.findall(r"\w{4,}", told_by("pdftotext", "-layout", pdf, "-").lower()))
        lost = [word for word in printed_words(browser, sheet) if word not in there]
        assert not lost, f"{sheet.name} on {paper} lacks {lost[:20]}"


WIDE = "DejaVu Serif"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_yearly_sheet_takes_one_page_in_wide_letters_too(
    paper: str, site: Path, full_site: Path, browser: Browser, tmp_path: Path
) -> None:
    """Many machines have no other serif than one whose lines are a fifth longer."""
    if WIDE not in told_by("fc-list"):
        pytest.skip(f"no {WIDE} on this machine: install fonts-dejavu")
    counts = {
        sheet.name: page_count(print_to(browser, sheet, paper, "light", tmp_path / "wide.pdf", f'"{WIDE}"'))
        for sheet in [*sheets(site), *sheets(full_site)]
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


HEADS = "() => [...document.querySelectorAll('h1, h2, h3, h4, caption, thead')].map(one => one.innerText)"
"""What must not stand alone at the foot of a page."""

PRINTED = ("index.html", "givers.html", "bins.html", "garden.html", "bedding.html")


def on_paper(pdf: Path) -> list[list[str]]:
    """The lines of each page of a PDF, from top to foot, without their spaces and in small letters."""
    text = told_by("pdftotext", "-layout", pdf, "-").lower()
    return [
        [line for one in page.splitlines() if (line := "".join(one.split()))]
        for page in text.removesuffix("\f").split("\f")
    ]


def heads_at_the_foot(browser: Browser, page_file: Path, paper: str, pdf: Path) -> list[str]:
    """The heads that end a page, so that what they head stands on the next."""
    with looking(browser, View(1280)) as page:
        page.emulate_media(media="print")
        page.goto(page_file.resolve().as_uri())
        heads = {"".join(words.lower().split()) for words in page.evaluate(HEADS)}
    printed = on_paper(print_to(browser, page_file, paper, "light", pdf))
    return [lines[-1] for lines in printed[:-1] if lines and lines[-1] in heads]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_head_ends_a_page(
    paper: str, site: Path, full_site: Path, browser: Browser, tmp_path: Path
) -> None:
    """Headings, captions and the heads of tables stand on one page with what follows them."""
    months = [page.name for page in pages(full_site) if re.fullmatch(r"\d{4}-0[1-4]\.html", page.name)]
    files = [*(site / name for name in PRINTED), *(full_site / name for name in (*PRINTED, *months))]
    found = {
        f"{file.parent.parent.name} {file.name}": alone
        for file in files
        if (alone := heads_at_the_foot(browser, file, paper, tmp_path / "page.pdf"))
    }
    assert not found, found


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_tall_picture_leaves_no_page_empty_and_covers_no_words(
    paper: str, picture_site: Path, browser: Browser, tmp_path: Path
) -> None:
    """A portrait fits the rest of a page's words on its page, however tall it is on the screen."""
    month = picture_site / "2026-02.html"
    printed = on_paper(print_to(browser, month, paper, "light", tmp_path / "month.pdf"))
    assert all(printed), f"page {printed.index([]) + 1} of {len(printed)} is empty"
    assert any("thewordsthatfollowit." in lines for lines in printed)
    with looking(browser, View(700)) as page:
        page.emulate_media(media="print")
        page.goto(month.resolve().as_uri())
        height: float = page.evaluate("() => document.querySelector('.picture img').offsetHeight")
    assert height / 96 * 25.4 < 150, "taller than half a page"


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


def test_a_head_at_the_foot_is_found(browser: Browser, tmp_path: Path) -> None:
    """The judge sees a heading that ends a page, and passes one that moves on with its words."""
    lines = "<p>line</p>" * 60
    body = f'{lines}<h2>Parted from</h2><div style="break-before: page">its words</div>'
    apart = hand_made(tmp_path / "apart", body) / "index.html"
    assert heads_at_the_foot(browser, apart, "A4", tmp_path / "apart.pdf") == ["partedfrom"]
    together = hand_made(tmp_path / "together", f"{lines}<h2>Together</h2><p>with its words</p>")
    assert not heads_at_the_foot(browser, together / "index.html", "A4", tmp_path / "together.pdf")


def test_a_second_page_is_counted(browser: Browser, tmp_path: Path) -> None:
    """The judge counts the pages of a long sheet, and one page for a short one."""
    long = hand_made(tmp_path / "long", "<p>line</p>" * 200) / "index.html"
    assert page_count(print_to(browser, long, "A4", "light", tmp_path / "long.pdf")) > 1
    short = hand_made(tmp_path / "short") / "index.html"
    assert page_count(print_to(browser, short, "Letter", "light", tmp_path / "short.pdf")) == 1
