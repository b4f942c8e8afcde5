"""The judges' bench: the site under judgement, a browser, a Java checker, node files, and a web server."""

from __future__ import annotations

import functools
import http.server
import os
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NODE_MODULES = Path(__file__).parent / "node_modules"

# Headless, as root in a container, and with every habit of calling home switched off.
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def site(request: pytest.FixtureRequest) -> Path:
    """The published folder to judge: MIDDENBOOK_JUDGE_SITE where it is set, else the demo, published now."""
    given = os.environ.get("MIDDENBOOK_JUDGE_SITE")
    folder: Path = Path(given).resolve() if given else request.getfixturevalue("demo_site")
    return folder


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Where the machine's Chromium lies; skips where there is none."""
    names = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
    found = os.environ.get("CHROME_PATH") or next(filter(None, map(shutil.which, names)), None)
    if not found:
        pytest.skip("no Chromium on this machine")
    return found


@pytest.fixture(scope="session")
def browser(chromium_path: str) -> Iterator[Browser]:
    """One headless Chromium for the session; each test opens contexts of its own in it."""
    playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    try:
        player = playwright.sync_playwright().start()
    except Exception as reason:  # noqa: BLE001 - whatever its driver lacks on this machine, it says so itself
        pytest.skip(f"Playwright does not start: {reason}")
    started = player.chromium.launch(executable_path=chromium_path, headless=True, args=CHROMIUM_FLAGS)
    yield started
    started.close()
    player.stop()


@pytest.fixture(scope="session")
def node_file() -> Callable[[str], Path]:
    """Gives the path of a file that `npm ci` in tests/judges has brought; skips where it has not."""

    def find(name: str) -> Path:
        if not (NODE_MODULES / name).exists():
            pytest.skip(f"no {name} here: run `npm ci` in tests/judges")
        return NODE_MODULES / name

    return find


@pytest.fixture(scope="session")
def axe(node_file: Callable[[str], Path]) -> str:
    """The source of axe-core."""
    return node_file("axe-core/axe.min.js").read_text(encoding="utf-8")


class QuietHandler(http.server.SimpleHTTPRequestHandler):
    """Serves a folder as a plain web host does, and keeps its log to itself."""

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@contextmanager
def serve(folder: Path) -> Iterator[str]:
    """Serve a folder on the loopback, below a sub-folder's name as many hosts do; gives the address."""
    handler = functools.partial(QuietHandler, directory=str(folder.parent))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/{folder.name}/"
        server.shutdown()


@pytest.fixture(scope="session")
def served() -> Callable[[Path], AbstractContextManager[str]]:
    """A way to serve any folder for a while, which gives its address."""
    return serve
