"""Pages fit every width and need neither script nor mouse nor colours of their own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.judges.folder import hand_made, laid_out, pages
from tests.judges.viewing import SCHEMES, View, looking, open_page
from tests.sites import published

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

# Too wide is what can be scrolled sideways; the widest element tells where to look.
OVERFLOW = """() => {
    const root = document.documentElement, excess = root.scrollWidth - root.clientWidth;
    if (excess <= 0) return null;
    const reach = element => element.getBoundingClientRect().right;
    const all = [...document.body.querySelectorAll('*')];
    const wide = all.filter(element => reach(element) > root.clientWidth + 1);
    return [excess, wide.slice(0, 3).map(element => element.outerHTML.slice(0, 90))];
}"""
FOCUSED = """() => {
    const element = document.activeElement;
    if (!element || element === document.body) return null;
    const style = getComputedStyle(element), box = element.getBoundingClientRect();
    const all = [...document.querySelectorAll('*')];
    const middle = element.getClientRects()[0] || box;
    const top = document.elementFromPoint(middle.x + middle.width / 2, middle.y + middle.height / 2);
    const outlined = style.boxShadow !== 'none'
        || (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0);
    const faults = [];
    if (!outlined) faults.push('no outline');
    if (!box.width || box.bottom <= 0 || box.top >= innerHeight) faults.push('out of sight');
    if (top && !element.contains(top) && !top.contains(element)) faults.push('covered');
    return {place: all.indexOf(element), html: element.outerHTML.slice(0, 90), faults};
}"""
# Brightness of paper and ink from 0 to 1; where nothing is painted, the browser's own paper shows.
BRIGHTNESS = """() => {
    const canvas = new OffscreenCanvas(1, 1).getContext('2d');
    const brightness = colours => {
        for (const colour of colours) { canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1); }
        return canvas.getImageData(0, 0, 1, 1).data.slice(0, 3).reduce((sum, part) => sum + part) / 765;
    };
    const style = element => getComputedStyle(element);
    const paper = [document.documentElement, document.body].map(element => style(element).backgroundColor);
    const bare = matchMedia('(prefers-color-scheme: dark)').matches ? '#121212' : '#fff';
    return [brightness([bare, ...paper]), brightness([bare, style(document.body).color])];
}"""
TEXT_SIZE = "() => parseFloat(getComputedStyle(document.querySelector('p')).fontSize)"
MOST_STOPS = 400

NARROW = [View(320), View(360), View(360, "dark"), View(768), View(1280), View(768, double_text=True)]


LONG = "Regenwassersammelbehälterabdeckung"
AWKWARD = f"""\
household: {{name: The house of the {LONG}}}
bins: {{{LONG}: {{worms: red wigglers}}, Shelf: {{worms: red wigglers}}}}
givers: {{Mira: {{shown as: the {LONG}, otherwise: landfill}}}}
plantings: {{The {LONG}: {{kind: bed}}}}
"""
AWKWARD_ENTRIES = f"""\
## 2026-02-10 {LONG}

- fed about 3 lb apple cores from Mira to Shelf
- fed 1 lb apple cores from Mira to {LONG}
- harvested 2 lb castings from {LONG}
- spread 1 lb castings on The {LONG}
- checked Shelf: 66 F, moisture 80%

Some words of the day, and a table.

| what | how many |
|------|---------:|
| worms | 12 |
"""
# Where the last words of a caption end, against the frame in which a wider table scrolls.
CUT_OFF = """() => [...document.querySelectorAll('.sheet caption')].filter(caption => {
    const range = document.createRange(), frame = caption.closest('.sheet').getBoundingClientRect();
    range.selectNodeContents(caption);
    return range.getBoundingClientRect().right > frame.right + 1;
}).map(caption => caption.innerText)"""
# Names at the heads of rows that take more than half of the frame, and a little.
NAMES = """() => [...document.querySelectorAll('.sheet tbody th')].filter(head =>
    head.offsetWidth > head.closest('.sheet').clientWidth * .6).map(head => head.innerText)"""
SQUEEZED = """() => [...document.querySelectorAll('.lines li > span:first-child')].filter(words =>
    words.offsetWidth < words.parentElement.clientWidth / 2).map(words => words.innerText)"""
# Signs that end a sentence and stand first on their line, behind a link that ends the one above.
PARTED_STOPS = """() => [...document.querySelectorAll('p a')].filter(link => {
    const after = link.nextSibling;
    if (!after || after.nodeType !== Node.TEXT_NODE || !/^[.,;:]/.test(after.data)) return false;
    const range = document.createRange();
    range.setStart(after, 0);
    range.setEnd(after, 1);
    const ends = [...link.getClientRects()].pop();
    return range.getBoundingClientRect().top > ends.bottom - 4;
}).map(link => link.innerText)"""


@pytest.fixture(scope="session")
def awkward_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site of a household whose names are of one word each, longer than a phone is wide."""
    folder = tmp_path_factory.mktemp("awkward")
    return laid_out(folder / "site", published(folder, AWKWARD_ENTRIES, AWKWARD))


def on_every_page(browser: Browser, site: Path, view: View, script: str) -> list[str]:
    """What a script finds on each page of a site, a line for each finding."""
    with looking(browser, view) as page:
        found = []
        for file in pages(site):
            open_page(page, file, view)
            found += [f"{file.name}, {view}: {one}" for one in page.evaluate(script)]
        return found


def too_wide(browser: Browser, site: Path, view: View) -> list[str]:
    """The pages that can be scrolled sideways, with what sticks out."""
    found = []
    with looking(browser, view) as page:
        for file in pages(site):
            open_page(page, file, view)
            if excess := page.evaluate(OVERFLOW):
                found.append(f"{file.name}, {view}: {excess[0]} px too wide: {excess[1]}")
    return found


def focus_faults(browser: Browser, file: Path, view: View) -> list[str]:
    """What goes wrong while the Tab key walks through one page: order, visibility, outline."""
    faults, last = [], -1
    with looking(browser, view) as page:
        open_page(page, file, view)
        for _ in range(MOST_STOPS):
            page.keyboard.press("Tab")
            stop: dict[str, Any] | None = page.evaluate(FOCUSED)
            if stop is None or stop["place"] == last:
                break
            if stop["place"] < last:
                faults.append(f"out of order: {stop['html']}")
            last = stop["place"]
            faults += [f"{file.name}, {view}: {words}: {stop['html']}" for words in stop["faults"]]
    return faults if last >= 0 else [f"{file.name}: the Tab key reaches nothing"]


@pytest.mark.parametrize("view", NARROW, ids=str)
def test_no_page_scrolls_sideways(view: View, site: Path, browser: Browser) -> None:
    """Every page fits its window; a wide table scrolls in a frame of its own."""
    found = too_wide(browser, site, view)
    assert not found, "\n".join(found[:12])


@pytest.mark.parametrize("view", NARROW, ids=str)
def test_no_name_makes_a_page_scroll_sideways(view: View, awkward_site: Path, browser: Browser) -> None:
    """A name of one long word breaks wherever it stands."""
    found = too_wide(browser, awkward_site, view)
    assert not found, "\n".join(found[:12])


@pytest.mark.parametrize("view", [View(320), View(360)], ids=str)
@pytest.mark.parametrize(
    ("script", "fault"),
    [
        (CUT_OFF, "captions are cut off"),
        (NAMES, "names leave no room for their figures"),
        (SQUEEZED, "figures squeeze the words of their lines"),
        (PARTED_STOPS, "stops begin a line"),
    ],
    ids=["captions", "names", "lines", "stops"],
)
def test_a_phone_shows_what_belongs_together(
    view: View, script: str, fault: str, site: Path, awkward_site: Path, browser: Browser
) -> None:
    """On a phone words keep their room: captions, names in tables, lines beside their figures."""
    for folder in (site, awkward_site):
        found = on_every_page(browser, folder, view, script)
        assert not found, f"{fault}:\n" + "\n".join(found[:12])


def test_text_grows_with_the_readers_setting(site: Path, browser: Browser) -> None:
    """Doubling the root's text size doubles the words on every page."""
    with looking(browser, View()) as page:
        for file in pages(site):
            open_page(page, file, View())
            usual = page.evaluate(TEXT_SIZE)
            open_page(page, file, View(double_text=True))
            assert page.evaluate(TEXT_SIZE) == pytest.approx(2 * usual, rel=0.1), file.name


@pytest.mark.parametrize("view", [View(360), View(1280, "dark"), View(768, forced_colours=True)], ids=str)
def test_the_keyboard_reaches_everything_in_order(view: View, site: Path, browser: Browser) -> None:
    """Tab moves down each kind of page in reading order, and where it stands is outlined and in sight."""
    kinds = {file.name[:4] if file.name[:4].isdigit() else file.name: file for file in pages(site)}
    found = [fault for file in kinds.values() for fault in focus_faults(browser, file, view)]
    assert not found, "\n".join(found[:20])


def test_pages_say_the_same_without_script(site: Path, browser: Browser) -> None:
    """A browser that runs no script shows every word that one with script shows."""
    for file in pages(site):
        texts = []
        for script in (True, False):
            with looking(browser, View(script=script)) as page:
                page.goto(file.resolve().as_uri())
                texts.append(page.locator("body").inner_text())
        assert texts[0].split() == texts[1].split(), file.name


@pytest.mark.parametrize("scheme", SCHEMES)
def test_the_page_follows_the_scheme(scheme: str, site: Path, browser: Browser) -> None:
    """The paper is light in the light scheme and dark in the dark one, and the ink the other way round."""
    view = View(360, "dark" if scheme == "dark" else "light")
    with looking(browser, view) as page:
        for file in pages(site):
            open_page(page, file, view)
            paper, ink = page.evaluate(BRIGHTNESS)
            assert (paper > ink) is (scheme == "light"), f"{file.name}: paper {paper:.2f}, ink {ink:.2f}"


def test_what_does_not_fit_is_found(browser: Browser, tmp_path: Path) -> None:
    """The judge sees a table that is too wide, and passes one that scrolls in its own frame."""
    table = f"<table><tr><td>{'wide' * 200}</td></tr></table>"
    assert too_wide(browser, hand_made(tmp_path / "bad", table), View(320))
    framed = f'<div role="region" aria-label="x" tabindex="0" style="overflow-x: auto">{table}</div>'
    assert not too_wide(browser, hand_made(tmp_path / "good", framed), View(320))


@pytest.mark.parametrize(
    ("body", "script"),
    [
        ('<div class="sheet"><table><caption>Of many words</caption></table></div>', CUT_OFF),
        ('<div class="sheet"><table><tbody><tr><th>A name</th></tr></tbody></table></div>', NAMES),
        ('<ul class="lines"><li><span>word</span> <span>figure</span></li></ul>', SQUEEZED),
        ('<p><a href="#a">A link that ends its line</a>.</p>', PARTED_STOPS),
    ],
    ids=["captions", "names", "lines", "stops"],
)
def test_what_does_not_stay_together_is_found(
    body: str, script: str, browser: Browser, tmp_path: Path
) -> None:
    """The judge sees each of the faults that it looks for on a phone."""
    style = (
        "<style>.sheet { width: 4rem; overflow: hidden } caption { white-space: nowrap } "
        ".sheet table { width: 100% } .lines { width: 20rem } p { width: 10rem } "
        "p a { display: inline-block; width: 10rem }</style>"
    )
    assert on_every_page(browser, hand_made(tmp_path / "site", body, style), View(), script)
    assert not on_every_page(browser, hand_made(tmp_path / "good"), View(), script)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ('<a href="#a" style="outline: none">a</a>', "no outline"),
        ('<a href="#a" tabindex="2">a</a> <a href="#a" tabindex="1">b</a>', "out of order"),
        ('<a href="#a" style="position:absolute;left:-999px;top:-999px">a</a>', "out of sight"),
        ('<a href="#a">a</a><p style="position:fixed;inset:0;background:#fff">lid</p>', "covered"),
        ("<p>No link at all.</p>", "reaches nothing"),
    ],
)
def test_lost_focus_is_found(body: str, words: str, browser: Browser, tmp_path: Path) -> None:
    """The judge sees a link without outline, out of order, out of sight or under a lid."""
    faults = focus_faults(browser, hand_made(tmp_path / "site", body) / "index.html", View())
    assert any(words in fault for fault in faults), faults
    good = hand_made(tmp_path / "good", '<a href="#a">a</a> <a href="#b">b</a>') / "index.html"
    assert not focus_faults(browser, good, View())
