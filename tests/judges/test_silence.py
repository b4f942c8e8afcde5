"""Pages ask for nothing outside the site and say nothing on the console, from a host and from file://."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.judges.folder import hand_made, pages
from tests.judges.viewing import View, looking

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

Serve = Callable[[Path], AbstractContextManager[str]]
MOMENT = 60  # milliseconds, for pictures that load when they come into sight
LONGEST = 5000  # milliseconds to wait for one of them on a busy machine
TO_THE_END = "() => window.scrollTo(0, document.body.scrollHeight)"


def strays(page_url: str, asked: str, address: str) -> list[str]:
    """A request that leaves the site; data: addresses are inside the page."""
    return [] if asked.startswith((address, "data:")) else [f"{page_url} asks for {asked}"]


def failed_answers(asked: str, status: int) -> list[str]:
    """An answer that the host could not give."""
    return [f"{asked} answers {status}"] if status >= 400 else []


def noises(browser: Browser, site: Path, address: str) -> list[str]:
    """Messages, errors, failed answers and requests that leave the site, on every page scrolled through."""
    heard: list[str] = []
    on_the_way: set[str] = set()  # a page that is left too soon breaks off what it still loads
    with looking(browser, View()) as page:
        page.on("request", lambda request: on_the_way.add(request.url))
        page.on("requestfinished", lambda request: on_the_way.discard(request.url))
        page.on("requestfailed", lambda request: on_the_way.discard(request.url))
        page.on("console", lambda message: heard.append(f"{page.url} says {message.text}"))
        page.on("pageerror", lambda error: heard.append(f"{page.url} fails: {error}"))
        page.on("requestfailed", lambda request: heard.append(f"{page.url} could not get {request.url}"))
        page.on("request", lambda request: heard.extend(strays(page.url, request.url, address)))
        page.on("response", lambda answer: heard.extend(failed_answers(answer.url, answer.status)))
        for file in pages(site):
            page.goto(address + file.relative_to(site).as_posix(), wait_until="load")
            page.evaluate(TO_THE_END)
            page.wait_for_timeout(MOMENT)
            waited = 0
            while on_the_way and waited < LONGEST:
                page.wait_for_timeout(MOMENT)
                waited += MOMENT
        page.wait_for_load_state("networkidle")
    return heard


def cookies(browser: Browser, address: str) -> int:
    """How many cookies and stored things a page leaves behind."""
    with looking(browser, View()) as page:
        page.goto(address + "index.html")
        kept: int = page.evaluate("() => localStorage.length + sessionStorage.length")
        return kept + len(page.context.cookies())


def test_pages_are_silent_on_a_host(site: Path, browser: Browser, served: Serve) -> None:
    """Served from a sub-folder of a host, no page makes a sound or a request to anywhere else."""
    with served(site) as address:
        assert not noises(browser, site, address)
        assert cookies(browser, address) == 0


def test_pages_are_silent_from_a_stick(site: Path, browser: Browser) -> None:
    """Opened as files, no page makes a sound or asks for a file that is not the site's."""
    assert not noises(browser, site, site.resolve().as_uri() + "/")


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("<script>console.log('hello')</script>", "says hello"),
        ("<script>undefined.word</script>", "fails"),
        ('<img alt="" src="gone.png">', "gone.png"),
        ('<img alt="" src="http://127.0.0.1:9/a.png">', "asks for http://127.0.0.1:9/a.png"),
        ('<img alt="" src="data:image/gif;base64,R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw==">', ""),
    ],
)
def test_a_noise_is_heard(body: str, words: str, browser: Browser, served: Serve, tmp_path: Path) -> None:
    """The judge hears a message, an error, a missing file and a request to elsewhere, else nothing."""
    site = hand_made(tmp_path / "site", body)
    with served(site) as address:
        heard = noises(browser, site, address)
    assert any(words in noise for noise in heard) if words else not heard, heard
