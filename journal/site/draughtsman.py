"""Draws charts in a second process while the first still reads, reckons and sets the pages.

The second process is this module run by itself: it takes a chart a line on its standard input (JSON), and
answers with its name and drawing, a line each.  It ends when its input ends, so it never outlives the first.
Where it cannot be had, or fails, charts are drawn in the first process.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from queue import SimpleQueue
from threading import Thread
from typing import IO, Any, Self

from journal.site.memory import key_of

Chart = Mapping[str, Any]
"""A chart as views hold it: its kind, data, id, title and summary."""

PARTS = ("kind", "data", "id", "title", "summary")
PROGRAM = (
    "import os, sys; sys.path.insert(0, sys.argv[1]); os.environ['FONTCONFIG_FILE'] = sys.argv[2]; "
    "from journal.site.draughtsman import serve; serve()"
)
NO_FONTS = Path(__file__).with_name("no-fonts.conf")
"""Keeps the renderer from measuring letters, which no chart needs, where it asks fontconfig for fonts."""


def chart_key(chart: Chart) -> str:
    """Name a drawing by all that it rests on."""
    return key_of("drawing", *(chart[part] for part in PARTS))


def drawn(chart: Chart) -> bytes:
    """Draw a chart as SVG, here and now."""
    from journal.site import charts, drawing

    specification = charts.specification(chart["kind"], chart["data"])
    return drawing.draw(specification, chart["id"], chart["title"], chart["summary"]).encode()


def charts_in(value: object) -> Iterator[Chart]:
    """Find the charts in a view; tables, of which there are many, hold none."""
    if isinstance(value, dict):
        if "summary" in value and all(part in value for part in PARTS):
            yield value
        elif "rows" not in value:
            for each in value.values():
                yield from charts_in(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from charts_in(each)


class Draughtsman:
    """The second process, as the first sees it."""

    def __init__(self) -> None:
        self._drawn: dict[str, bytes] = {}
        self._asked: set[str] = set()
        self._process: subprocess.Popen[bytes] | None = None
        self._questions: SimpleQueue[bytes | None] = SimpleQueue()
        self._threads: list[Thread] = []

    def begin(self) -> None:
        """Start the second process, unless that is done; until then charts are drawn in the first."""
        if self._process is not None:
            return
        package = Path(__file__).resolve().parent.parent.parent
        try:
            self._process = subprocess.Popen(  # noqa: S603 - this program itself
                [sys.executable, "-c", PROGRAM, str(package), str(NO_FONTS)],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                cwd=package,
            )  # fmt: skip
        except (OSError, ValueError):
            return
        for work in (self._write, self._read):
            thread = Thread(target=work, args=(self._process,), daemon=True)
            try:
                thread.start()
            except RuntimeError:  # none can be had
                self.close()
                return
            self._threads.append(thread)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def ask(self, key: str, chart: Chart) -> None:
        """Have a chart drawn; ``key`` is the drawing's, as ``chart_key`` gives it."""
        if key not in self._asked:
            self._asked.add(key)
            self._questions.put(json.dumps([key, {part: chart[part] for part in PARTS}]).encode() + b"\n")

    def has(self, key: str) -> bool:
        """Whether a drawing that was asked for is there by now."""
        return key in self._drawn or key not in self._asked

    def take(self, key: str, chart: Chart) -> bytes:
        """Give a chart's drawing, once it is there."""
        if not self.has(key):
            self._finish()
        found = self._drawn.get(key)
        return drawn(chart) if found is None else found

    def close(self) -> None:
        """Let the second process go; what it still draws is not wanted."""
        if self._process is not None:
            self._process.kill()
            self._finish()
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
            self._process = None

    def _finish(self) -> None:
        """Tell the second process that nothing more will be asked, and wait for its answers."""
        self._questions.put(None)
        for thread in self._threads:
            thread.join()

    def _write(self, process: subprocess.Popen[bytes]) -> None:
        """Hand the questions on; the second process reads one when it has answered the one before."""
        with contextlib.suppress(OSError, ValueError):
            while (line := self._questions.get()) is not None and process.stdin is not None:
                process.stdin.write(line)
                process.stdin.flush()
        with contextlib.suppress(OSError, ValueError):
            if process.stdin is not None:
                process.stdin.close()

    def _read(self, process: subprocess.Popen[bytes]) -> None:
        if process.stdout is None:
            return
        with contextlib.suppress(OSError, ValueError):  # the pipe is closed: nobody waits for what it held
            for line in process.stdout:
                with contextlib.suppress(ValueError):
                    key, text = json.loads(line)
                    if isinstance(text, str):
                        self._drawn[key] = text.encode()


def serve() -> None:
    """Draw what is asked for on standard input until it ends."""
    answers = sys.stdout.buffer
    sys.stdout = sys.stderr  # whatever a library prints is no answer
    _warm_up()
    _answer(sys.stdin.buffer, answers)


def _warm_up() -> None:
    """Load what draws, and let it draw nothing once: that takes as long as a dozen charts."""
    from journal.site import charts, drawing

    with contextlib.suppress(Exception):
        charts.specification("bars", {"rows": [], "left": 2, "right": 4})
    with contextlib.suppress(Exception):
        drawing.draw({"data": {"values": []}, "mark": "bar"}, "none", "", "")


def _answer(questions: IO[bytes], answers: IO[bytes]) -> None:
    for line in questions:
        key, chart = json.loads(line)
        try:
            text: str | None = drawn(chart).decode()
        except Exception:  # noqa: BLE001 - the first process draws it then, and tells what is wrong
            text = None
        answers.write(json.dumps([key, text]).encode() + b"\n")
        answers.flush()
