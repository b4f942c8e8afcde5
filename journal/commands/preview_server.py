"""Serves the site to this machine alone while the keeper writes, and tells open pages when it has changed."""

from __future__ import annotations

import html
import re
import socket
import sys
import threading
from collections.abc import Sequence
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path, PurePosixPath
from urllib.parse import unquote_to_bytes, urlsplit

LOOPBACK = "127.0.0.1"
SAVES = "/.preview/saves"
SCRIPT = "/.preview/reload.js"
_PULSE = 10.0  # seconds after which a silent line is given a sign of life, and a closed one is noticed

_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json; charset=utf-8",
    ".xml": "application/xml; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".webp": "image/webp",
    ".gif": "image/gif",
    ".ico": "image/x-icon",
    ".ics": "text/calendar; charset=utf-8",
}
# The published page forbids every script; the page that is previewed may load the one that reloads it.
_POLICY = re.compile(rb"<meta\b[^>]*http-equiv=[\"']?content-security-policy[\"']?[^>]*>", re.IGNORECASE)
_PREVIEW_POLICY = (
    "default-src 'none'; script-src 'self'; connect-src 'self'; img-src 'self' data:; "
    "style-src 'self' 'unsafe-inline'; font-src 'self'; base-uri 'none'; form-action 'none'"
)
_RELOAD = f"""\
(function () {{
  var seen = null;
  function listen() {{
    var line = new EventSource("{SAVES}");
    line.onmessage = function (event) {{
      if (seen !== null && event.data !== seen) {{ location.reload(); }}
      seen = event.data;
    }};
  }}
  var told = document.currentScript && document.currentScript.getAttribute("data-seen");
  if (told) {{ seen = told; }}
  listen();
}})();
"""
_PANEL_STYLE = (
    "position:sticky;top:0;z-index:9;max-height:50vh;overflow:auto;margin:0;padding:.75rem 1rem;"
    "background:#7a1f10;color:#fff;font:1rem/1.45 ui-monospace,monospace;white-space:pre-wrap"
)


class State:
    """What open pages wait for: how often the site was made, and what stands in the way of the newest one."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self.times = 0
        self.problems: Sequence[str] = ()
        self.ended = False

    def publish(self, problems: Sequence[str]) -> None:
        """Tell all open pages that the site was made again, or why it was not."""
        with self._changed:
            self.times += 1
            self.problems = problems
            self._changed.notify_all()

    def end(self) -> None:
        """Let go of everyone who waits."""
        with self._changed:
            self.ended = True
            self._changed.notify_all()

    def wait(self, seen: int) -> int:
        """Wait a while for a newer site than the one seen; give how often it was made."""
        with self._changed:
            self._changed.wait_for(lambda: self.ended or self.times != seen, timeout=_PULSE)
            return self.times


class Server(ThreadingHTTPServer):
    """A server that listens on the loopback address only."""

    daemon_threads = True
    block_on_close = False
    allow_reuse_address = sys.platform != "win32"

    def __init__(self, site: Path, port: int) -> None:
        self.site = site
        self.state = State()
        super().__init__((LOOPBACK, port), Handler)

    @property
    def port(self) -> int:
        """The port that it listens on."""
        return int(self.server_address[1])

    @property
    def address(self) -> str:
        """The address to type into a browser."""
        return f"http://{LOOPBACK}:{self.port}/"

    def handle_error(self, request: object, client_address: object) -> None:
        """Pass over what a browser breaks off."""


class Handler(BaseHTTPRequestHandler):
    """Answers one request: a file of the site, the line that tells of saves, or the script that listens."""

    server: Server
    server_version = "middenbook"
    sys_version = ""
    protocol_version = "HTTP/1.1"
    timeout = 60

    def do_GET(self) -> None:
        """Answer a request for a file."""
        self._answer(with_body=True)

    def do_HEAD(self) -> None:
        """Answer a request for what a file would be."""
        self._answer(with_body=False)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the library's own name
        """Keep the terminal quiet."""

    def _answer(self, *, with_body: bool) -> None:
        port = self.server.port
        if self.headers.get("Host", "").lower() not in {f"{LOOPBACK}:{port}", f"localhost:{port}"}:
            self._send(
                HTTPStatus.MISDIRECTED_REQUEST, b"this preview is for its own machine\n", ".txt", with_body
            )
            return
        path = urlsplit(self.path if not self.path.startswith("//") else "/").path
        if path == SAVES:
            self._tell_of_saves(with_body=with_body)
        elif path == SCRIPT:
            self._send(HTTPStatus.OK, _RELOAD.encode(), ".js", with_body)
        else:
            self._send_file(path, with_body=with_body)

    def _send_file(self, path: str, *, with_body: bool) -> None:
        state = self.server.state
        file = site_file(self.server.site, path)
        if file is None and state.problems and (path == "/" or path.endswith(".html")):
            page = self._preview_page(b"<!doctype html><title>Not published yet</title><body></body>")
            self._send(HTTPStatus.SERVICE_UNAVAILABLE, page, ".html", with_body)
            return
        try:
            data = None if file is None else file.read_bytes()
        except OSError:
            data = None
        if file is None or data is None:
            self._send(HTTPStatus.NOT_FOUND, b"there is no such page\n", ".txt", with_body)
            return
        if file.suffix == ".html":
            data = self._preview_page(data)
        self._send(HTTPStatus.OK, data, file.suffix, with_body)

    def _preview_page(self, data: bytes) -> bytes:
        """Give a page the script that reloads it and, while something is wrong, the list of what it is."""
        state = self.server.state
        problems = "\n".join(state.problems)
        panel = f'<pre role="alert" style="{_PANEL_STYLE}">{html.escape(problems)}</pre>' if problems else ""
        script = f'<script src="{SCRIPT}" data-seen="{state.times}"></script>'
        data = _POLICY.sub(b"", data)
        body = re.search(rb"<body\b[^>]*>", data, re.IGNORECASE)
        if body is not None:
            data = data[: body.end()] + panel.encode() + data[body.end() :]
        at = data.rfind(b"</body>")
        return data[:at] + script.encode() + data[at:] if at >= 0 else data + script.encode()

    def _send(self, status: HTTPStatus, data: bytes, suffix: str, with_body: bool) -> None:  # noqa: FBT001 - one of two
        self.send_response(status)
        self.send_header("Content-Type", _TYPES.get(suffix.lower(), "application/octet-stream"))
        self.send_header("Content-Length", str(len(data)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Referrer-Policy", "no-referrer")
        self.send_header("Content-Security-Policy", _PREVIEW_POLICY)
        self.end_headers()
        if with_body:
            self.wfile.write(data)

    def _tell_of_saves(self, *, with_body: bool) -> None:
        """Keep the line open (server-sent events) and say each time how often the site was made."""
        self.close_connection = True
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        state, seen = self.server.state, -1
        while with_body and not state.ended:
            times = state.wait(seen)
            self.wfile.write(b": here\n\n" if times == seen else f"data: {times}\n\n".encode())
            self.wfile.flush()
            seen = times


def site_file(site: Path, path: str) -> Path | None:
    """Give the plain file of the site that a request means, or None: no way leads out, and no link does."""
    try:
        name = unquote_to_bytes(path).decode("utf-8")
    except UnicodeDecodeError:
        return None
    name = name.removeprefix("/") or "index.html"
    parts = PurePosixPath(name).parts
    if not name.isprintable() or "\\" in name or ":" in name or name.startswith("/"):
        return None
    if not parts or any(part.startswith(".") for part in parts):
        return None
    file = site
    for part in parts:
        file /= part
        if file.is_symlink():
            return None
    return file if file.is_file() else None


def listen(site: Path, port: int | None, usual: int) -> Server:
    """Listen on the port asked for; where none is, on the usual one or, if that is taken, on any.

    Raises OSError where it cannot.
    """
    if port is not None:
        return Server(site, port)
    try:
        return Server(site, usual)
    except OSError:
        return Server(site, 0)


def is_taken(failure: OSError) -> bool:
    """Whether a port cannot be had because something else listens there."""
    return failure.errno in {98, 48, 10048} or isinstance(failure, socket.gaierror)
