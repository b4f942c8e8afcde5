"""The library axe-core finds no violation of WCAG 2.2 AA or of best practices, in any view."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.judges.folder import hand_made, pages
from tests.judges.viewing import SCHEMES, WIDTHS, View, looking, open_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = [pytest.mark.browser, pytest.mark.node]

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN_AXE = """async tags => (await axe.run(document, {
    runOnly: {type: 'tag', values: tags}, rules: {'target-size': {enabled: true}},
    resultTypes: ['violations'],
})).violations.map(({id, help, nodes}) => [id, help, nodes.length, nodes[0].html, nodes[0].failureSummary])"""

VIEWS = [
    *(View(width, scheme) for width in WIDTHS for scheme in SCHEMES),
    *(View(width, double_text=True) for width in WIDTHS),
]


def violations(browser: Browser, axe: str, site: Path, view: View) -> list[str]:
    """What axe-core finds on every page of a folder in one view, a sentence each."""
    found = []
    with looking(browser, view) as page:
        for file in pages(site):
            open_page(page, file, view)
            page.evaluate(axe)
            results: list[list[Any]] = page.evaluate(RUN_AXE, TAGS)
            found += [
                f"{file.name}, {view}: {rule}: {words} ×{n}\n  {html}\n  {why}"
                for rule, words, n, html, why in results
            ]
    return found


@pytest.mark.parametrize("view", VIEWS, ids=str)
def test_no_page_has_a_barrier(view: View, site: Path, browser: Browser, axe: str) -> None:
    """No page breaks a rule of WCAG 2.2 AA or a best practice, with every fold open."""
    found = violations(browser, axe, site, view)
    assert not found, f"{len(found)} findings\n" + "\n".join(found[:12])


BARRIERS = {
    "image-alt": '<img src="data:image/gif;base64,R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw==">',
    "color-contrast": '<p style="color: #999; background: #fff">pale words</p>',
    "target-size": '<button style="width:9px;height:9px;padding:0;border:0">a</button>' * 2,
    "heading-order": "<h4>too deep</h4>",
    "region": "</main><p>outside of every landmark</p><main>",
    "scrollable-region-focusable": '<div style="width:100px;overflow:auto"><pre>'
    + "wide " * 99
    + "</pre></div>",
}


@pytest.mark.parametrize(("rule", "body"), BARRIERS.items(), ids=BARRIERS)
def test_a_barrier_is_found(rule: str, body: str, browser: Browser, axe: str, tmp_path: Path) -> None:
    """The judge sees a missing alternative, pale words, tiny targets and the like, and passes a good page."""
    found = violations(browser, axe, hand_made(tmp_path / "site", body), View())
    assert any(f": {rule}: " in finding for finding in found), found
    assert not violations(browser, axe, hand_made(tmp_path / "good"), View())
