"""`preview`: the site on this machine while it is written, and on no other."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from journal.commands import preview
from journal.commands.console import Refusal
from journal.commands.main import middenbook
from journal.commands.preview_server import SAVES, SCRIPT, Server, listen, site_file
from journal.commands.publish import Outcome
from journal.site.draughtsman import Draughtsman
from tests.conftest import CHECKOUT

POLICY = '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'">'
PAGE = f"<!doctype html><html><head>{POLICY}<title>t</title></head><body class=x><p>worms</p></body></html>"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A small site, with something beside it that is nobody's business."""
    folder = tmp_path / "build"
    (folder / "data").mkdir(parents=True)
    (folder / "index.html").write_text(PAGE)
    (folder / "data" / "movements.csv").write_text("a,b\n")
    (folder / ".middenbook-made").write_text("index.html\n")
    (tmp_path / "secret.html").write_text("secret")
    return folder


@pytest.fixture
def server(site: Path) -> Iterator[Server]:
    """A server of that site."""
    running = Server(site, 0)
    thread = threading.Thread(target=running.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    yield running
    running.state.end()
    running.shutdown()
    running.server_close()


def ask(
    port: int, path: str, host: str | None = None, method: str = "GET"
) -> tuple[int, dict[str, str], str]:
    """Ask for a path as it stands, and give status, headers and body."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    line.putrequest(method, path, skip_host=True)
    line.putheader("Host", f"127.0.0.1:{port}" if host is None else host)
    line.endheaders()
    answer = line.getresponse()
    body = answer.read().decode("utf-8", "replace")
    line.close()
    return answer.status, {name.lower(): value for name, value in answer.getheaders()}, body


def test_a_page_is_shown_with_the_script_that_reloads_it(server: Server) -> None:
    """The page comes as published, but for the script and the policy that would forbid it."""
    status, headers, body = ask(server.port, "/")
    assert status == 200
    assert headers["content-type"] == "text/html; charset=utf-8"
    assert headers["cache-control"] == "no-store"
    assert "script-src 'self'" in headers["content-security-policy"]
    assert f'<script src="{SCRIPT}" data-seen="0"></script></body>' in body
    assert "<p>worms</p>" in body
    assert "http-equiv" not in body
    assert "EventSource" in ask(server.port, SCRIPT)[2]


def test_the_site_itself_is_not_touched(server: Server, site: Path) -> None:
    """What lies in build/ never holds the preview's script."""
    ask(server.port, "/index.html")
    assert (site / "index.html").read_text() == PAGE


def test_side_files_come_as_they_are(server: Server) -> None:
    """Data is served with its own type and not a byte more."""
    status, headers, body = ask(server.port, "/data/movements.csv")
    assert (status, headers["content-type"], body) == (200, "text/csv; charset=utf-8", "a,b\n")
    head = ask(server.port, "/data/movements.csv", method="HEAD")
    assert (head[0], head[1]["content-length"], head[2]) == (200, "4", "")


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:{port}", "", "127.0.0.1", "127.0.0.1:1", "localhost"]
)
def test_foreign_names_are_refused(server: Server, host: str) -> None:
    """A page from elsewhere that points its own name at this machine gets nothing (DNS rebinding)."""
    status, _, body = ask(server.port, "/", host=host.format(port=server.port))
    assert status == 421
    assert "worms" not in body
    assert ask(server.port, SAVES, host="evil.example")[0] == 421


def test_the_machines_own_names_are_accepted(server: Server) -> None:
    """127.0.0.1 and localhost, with the port, are the machine itself."""
    for name in ("127.0.0.1", "localhost", "LOCALHOST"):
        assert ask(server.port, "/", host=f"{name}:{server.port}")[0] == 200


OUTSIDE = (
    "/../secret.html /%2e%2e/secret.html /data/../../secret.html /..%2fsecret.html /%252e%252e/secret.html "
    "//secret.html /..\\secret.html /%5c..%5csecret.html /.middenbook-made /data /data/ /nothing.html "
    "/%00 /%ff /link.html /linked/secret.html /index.html/ /C:/secret.html http://evil.example/secret.html"
).split()


@pytest.mark.parametrize("path", OUTSIDE)
def test_no_path_leads_out_of_the_site(server: Server, site: Path, path: str) -> None:
    """Dots, escapes, double slashes, hidden files and links give nothing that is not the site's."""
    (site / "link.html").symlink_to(site.parent / "secret.html")
    (site / "linked").symlink_to(site.parent)
    status, _, body = ask(server.port, path)
    assert "secret" not in body
    assert status == 404 or (status == 200 and "worms" in body)


def test_only_named_files_are_found(site: Path) -> None:
    """A request means a plain file, and the bare address the home page."""
    assert site_file(site, "/") == site / "index.html"
    assert site_file(site, "/data/movements.csv") == site / "data" / "movements.csv"
    assert site_file(site, "/data") is None


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS"])
def test_nothing_can_be_sent(server: Server, method: str) -> None:
    """The preview only shows; it takes nothing in."""
    assert ask(server.port, "/", method=method)[0] == 501


def test_problems_stand_in_the_page_while_the_last_good_site_stays(server: Server) -> None:
    """What is wrong is shown above the page, as words and not as markup, and goes when it is mended."""
    server.state.publish(["2026.md:3:7: <b>no</b> material"])
    body = ask(server.port, "/index.html")[2]
    assert '<body class=x><pre role="alert"' in body
    assert "2026.md:3:7: &lt;b&gt;no&lt;/b&gt; material" in body
    assert "<p>worms</p>" in body
    server.state.publish(())
    assert "alert" not in ask(server.port, "/index.html")[2]


def test_problems_are_shown_even_before_there_is_a_site(tmp_path: Path) -> None:
    """Without any good site yet the address still answers, with what is wrong."""
    running = Server(tmp_path / "build", 0)
    threading.Thread(target=running.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True).start()
    try:
        running.state.publish(["there is no date"])
        status, _, body = ask(running.port, "/")
        assert status == 503
        assert "there is no date" in body
        assert SCRIPT in body
    finally:
        running.shutdown()
        running.server_close()


def test_open_pages_hear_of_each_publication(server: Server) -> None:
    """The line that pages listen on says how often the site was made, at once and after each save."""
    line = socket.create_connection(("127.0.0.1", server.port), timeout=20)
    line.sendall(f"GET {SAVES} HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n\r\n".encode())
    heard = line.makefile("rb")
    while heard.readline().strip():
        pass
    assert heard.readline() == b"data: 0\n"
    heard.readline()
    server.state.publish(())
    assert heard.readline() == b"data: 1\n"
    line.close()


def test_the_server_listens_on_this_machine_only(server: Server) -> None:
    """No other machine can reach the preview."""
    assert server.server_address[0] == "127.0.0.1"


def test_a_port_that_is_taken_is_told(server: Server, tmp_path: Path) -> None:
    """A port asked for that is taken is a sentence; where none is asked for, another is found."""
    (tmp_path / "entries").mkdir()
    done = CliRunner().invoke(middenbook, ["--journal", str(tmp_path), "preview", "--port", str(server.port)])
    assert done.exit_code == 1
    assert "something else listens there" in done.stderr
    other = listen(tmp_path, None, server.port)
    assert other.port != server.port
    other.server_close()


@pytest.mark.parametrize(
    ("failure", "said"),
    [
        (Refusal("the template cannot be read", "mend line 3"), "mend line 3"),
        (OSError(28, "No space left on device", "build/x"), "build/x: the disk is full"),
        (ZeroDivisionError("odd"), "ZeroDivisionError: odd"),
    ],
)
def test_nothing_that_goes_wrong_ends_the_preview(
    server: Server, site: Path, monkeypatch: pytest.MonkeyPatch, failure: Exception, said: str
) -> None:
    """A template with a slip, a full disk, even a fault of the program is shown, and the site stays."""

    def fail(*_words: object, **_named: object) -> None:
        raise failure

    monkeypatch.setattr(preview, "publish", fail)
    assert not preview.publish_once(site.parent, site, server)
    body = ask(server.port, "/")[2]
    assert said in body
    assert "<p>worms</p>" in body


def test_each_save_finds_somebody_ready_to_draw(
    server: Server, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another one each time, begun before the save came, and none is left behind."""
    begun: list[Draughtsman] = []
    let_go: list[Draughtsman] = []
    given: list[Draughtsman | None] = []

    def saves(_folder: Path) -> Iterator[None]:
        for number in range(4):
            assert len(begun) == number
            yield

    def published(_folder: Path, _site: Path, *, ready: Draughtsman | None = None) -> Outcome:
        given.append(ready)
        return Outcome((), None)

    monkeypatch.setattr(Draughtsman, "begin", lambda one: begun.append(one))  # noqa: PLW0108 - a method
    monkeypatch.setattr(Draughtsman, "close", lambda one: let_go.append(one))  # noqa: PLW0108 - a method
    monkeypatch.setattr(preview, "_saves", saves)
    monkeypatch.setattr(preview, "publish", published)
    preview._run(site.parent, site, server)
    assert given == [None, *begun[:3]]
    assert len(set(begun)) == 4
    assert let_go == begun


def wait_for(found: Callable[[], bool], what: str) -> None:
    """Wait until something is so."""
    until = time.monotonic() + 60
    while not found():
        assert time.monotonic() < until, f"waited in vain for {what}"
        time.sleep(0.05)


@pytest.mark.skipif(os.name == "nt", reason="this system has no SIGINT for other processes")
def test_writing_and_watching(tmp_path: Path) -> None:
    """A save shows in the page, a slip shows as a problem over the last good page, and Ctrl-C ends it all."""
    folder = tmp_path / "worms"
    assert CliRunner().invoke(middenbook, ["start", str(folder)]).exit_code == 0
    entry = next((folder / "entries").glob("*.md"))
    with subprocess.Popen(
        [sys.executable, "-m", "journal", "--journal", str(folder), "preview", "--port", "0"],
        cwd=CHECKOUT,
        env={**os.environ, "XDG_CACHE_HOME": str(tmp_path / "memory")},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    ) as running:
        try:
            assert running.stdout is not None
            lines = iter(running.stdout.readline, "")
            address = next(
                found for line in lines if (found := re.search(r"http://127\.0\.0\.1:(\d+)/", line))
            )
            port = int(address[1])
            month = re.search(r'href="(\d{4}-\d{2}\.html)"', ask(port, "/")[2])
            assert month is not None
            page = f"/{month[1]}"
            entry.write_text(entry.read_text() + "\nThe lid squeaks today.\n")
            wait_for(lambda: "The lid squeaks today." in ask(port, page)[2], "the new words")
            good = entry.read_text()
            entry.write_text(f"{good}\n- fed 1 lb gravel soup to First Bin\n")
            wait_for(lambda: "gravel soup" in ask(port, page)[2], "the problem")
            body = ask(port, page)[2]
            assert 'role="alert"' in body
            assert "The lid squeaks today." in body
            entry.write_text(good)
            wait_for(lambda: 'role="alert"' not in ask(port, page)[2], "the page without the problem")
        finally:
            running.send_signal(signal.SIGINT)
            out, err = running.communicate(timeout=30)
    assert running.returncode == 0, err
    assert "gravel soup" in err
    assert "the last good site stays" in err
    assert err.rstrip().endswith("preview ended")
    assert "Traceback" not in out + err
