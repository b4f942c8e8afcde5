"""``preview``: show the site on this machine while the keeper writes, and make it again at each save."""

from __future__ import annotations

import datetime as dt
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

import click

from journal.commands.console import (
    Refusal,
    journal_folder,
    problem_lines,
    remark,
    say,
    sentence_of,
    show_problems,
    unforeseen,
    way_out_of,
)
from journal.commands.preview_server import Server, is_taken, listen
from journal.commands.publish import publish, told
from journal.site.draughtsman import Draughtsman

USUAL_PORT = 8475
_QUIET = 30  # milliseconds without a further change after which a save is taken to be over
_LOOK = 100  # milliseconds between looks at whether anything has changed
_ENDED = object()
_LONGEST = 300  # milliseconds after which a long row of changes is taken up all the same


@click.command(
    epilog="""\b
For example:
  middenbook preview
  middenbook preview --port 8080 --to /tmp/try"""
)
@click.option("--port", type=click.IntRange(0, 65535), help=f"Where to listen (default: {USUAL_PORT}).")
@click.option(
    "--to",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="Where the site is laid (default: build/ in the journal).",
)
def command(port: int | None, to: Path | None) -> int:
    """Show the site in a browser on this machine, and make it again at each save.

    Nobody else can see it. What is wrong appears in the page and here, while the last good site stays.
    Ctrl-C ends it.
    """
    folder = journal_folder()
    site = to or folder / "build"
    try:
        server = listen(site, port, USUAL_PORT)
    except OSError as failure:
        words = "something else listens there" if is_taken(failure) else sentence_of(failure)
        raise Refusal(
            f"port {port} cannot be had: {words}", "name another with --port, or leave it out"
        ) from None
    try:
        _run(folder, site, server)
    except KeyboardInterrupt:
        pass
    finally:
        server.state.end()
        server.shutdown()
        server.server_close()
    remark("preview ended")
    return 0


def _run(folder: Path, site: Path, server: Server) -> None:
    """Serve and publish until stopped."""
    signal.signal(signal.SIGTERM, _stop)
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True).start()
    saves = _saves(folder)
    next(saves)  # watching begins before the first publication, so that no save is missed
    publish_once(folder, site, server)
    say(f"{server.address}  (Ctrl-C ends it)", "green")
    for ready in _draughtsmen(saves):
        publish_once(folder, site, server, ready)


def _draughtsmen(saves: Iterator[None]) -> Iterator[Draughtsman]:
    """Give at each save somebody who has made ready to draw: that takes longer than most saves to publish."""
    while True:
        with Draughtsman() as ready:
            ready.begin()
            if next(saves, _ENDED) is _ENDED:
                return
            yield ready


def _stop(_number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def publish_once(folder: Path, site: Path, server: Server, ready: Draughtsman | None = None) -> bool:
    """Publish, and tell the terminal and every open page what came of it; a keeper's slip ends nothing."""
    began = time.perf_counter()
    try:
        outcome = publish(folder, site, ready=ready)
    except Refusal as refused:
        refused.show()
        server.state.publish([refused.sentence, *filter(None, [refused.advice])])
        return False
    except OSError as failure:
        Refusal(sentence_of(failure), way_out_of(failure)).show()
        server.state.publish([sentence_of(failure), *filter(None, [way_out_of(failure)])])
        return False
    except Exception as failure:  # noqa: BLE001 - a fault met while writing must not end the preview
        unforeseen(failure)
        server.state.publish([f"This is a fault of the program: {type(failure).__name__}: {failure}"])
        return False
    show_problems(outcome.problems)
    if outcome.published is None:
        remark(
            f"{_clock()} not published: {len(outcome.problems)} to mend; the last good site stays", "yellow"
        )
        lines = [line for problem in outcome.problems for line in (*problem_lines(problem), "")]
        server.state.publish(["Not published yet. What is shown is the last good site.", "", *lines])
        return False
    say(f"{_clock()} {told(outcome.published, site)}, {time.perf_counter() - began:.2f} s")
    server.state.publish(())
    return True


def _clock() -> str:
    return f"{dt.datetime.now().astimezone():%H:%M:%S}"


def _saves(folder: Path) -> Iterator[None]:
    """Give a sign when watching has begun, and one for each save in the entries or the templates."""
    from watchfiles import watch

    watched = [place for place in (folder / "entries", folder / "site_templates") if place.is_dir()]
    changes = watch(*watched, debounce=_LONGEST, step=_QUIET, yield_on_timeout=True, rust_timeout=_LOOK)
    next(changes)
    yield
    for changed in changes:
        if changed:
            yield
