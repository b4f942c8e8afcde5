"""Draws charts in processes of its own while the first still reads, reckons and sets the pages.

They are two, since each takes as long to make ready as a dozen charts to draw: one makes a chart into a
specification, the next makes that into a drawing.  Each is this module run by itself: it takes a chart a line
on its standard input (JSON), and gives a line for it on its standard output, which is the next one's input.
They end when their input ends, so they never outlive the first process.  Where they cannot be had, or fail,
charts are drawn in the first process.
"""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
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
    "from journal.site import draughtsman; draughtsman.serve(sys.argv[3])"
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
    """The processes that draw, as the first sees them."""

    def __init__(self) -> None:
        self._drawn: dict[str, bytes] = {}
        self._asked: set[str] = set()
        self._processes: list[subprocess.Popen[bytes]] = []
        self._between: int | None = None
        self._questions: SimpleQueue[bytes | None] = SimpleQueue()
        self._threads: list[Thread] = []

    def begin_drawing(self) -> None:
        """Start the process that takes longer to make ready, unless that is done."""
        if self._processes:
            return
        try:
            taken, self._between = os.pipe()
            try:
                drawing = self._started("draw", taken, subprocess.PIPE)
            finally:
                os.close(taken)
        except (OSError, ValueError):
            return
        self._attend(self._read, drawing.stdout)

    def begin(self) -> None:
        """Start the processes, unless that is done; until then charts are drawn in the first."""
        self.begin_drawing()
        given, self._between = self._between, None
        if given is None or not self._threads:
            return
        try:
            specifying = self._started("specify", subprocess.PIPE, given)
        except (OSError, ValueError):
            return
        finally:
            os.close(given)  # held here too, it would keep the one that reads from it waiting
        self._attend(self._write, specifying.stdin)

    def _started(self, stage: str, taken: int, given: int) -> subprocess.Popen[bytes]:
        package = Path(__file__).resolve().parent.parent.parent
        process = subprocess.Popen(  # noqa: S603 - this program itself
            [sys.executable, "-c", PROGRAM, str(package), str(NO_FONTS), stage],
            stdin=taken, stdout=given, stderr=subprocess.DEVNULL, cwd=package,
        )  # fmt: skip
        self._processes.append(process)
        return process

    def _attend(self, work: Callable[[IO[bytes]], None], pipe: IO[bytes] | None) -> None:
        """Have a thread hand on what a process takes or gives; where none can be had, let all go."""
        thread = Thread(target=work, args=(pipe,), daemon=True)
        try:
            thread.start()
        except RuntimeError:
            self.close()
        else:
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
        """Let the processes go; what they still draw is not wanted."""
        for process in self._processes:
            process.kill()
        self._finish()
        for process in self._processes:
            process.wait()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
        self._processes = []

    def _finish(self) -> None:
        """Say that nothing more will be asked, and wait for the answers."""
        if self._between is not None:
            os.close(self._between)
            self._between = None
        self._questions.put(None)
        for thread in self._threads:
            thread.join()

    def _write(self, pipe: IO[bytes]) -> None:
        """Hand the questions on; one is read when those before it are answered."""
        with contextlib.suppress(OSError, ValueError):
            while (line := self._questions.get()) is not None:
                pipe.write(line)
                pipe.flush()
        with contextlib.suppress(OSError, ValueError):
            pipe.close()

    def _read(self, pipe: IO[bytes]) -> None:
        with contextlib.suppress(OSError, ValueError):  # the pipe is closed: nobody waits for what it held
            for line in pipe:
                with contextlib.suppress(ValueError):
                    key, text = json.loads(line)
                    if isinstance(text, str):
                        self._drawn[key] = text.encode()


def serve(stage: str) -> None:
    """Be the process of a stage until its input ends: load what it works with, and answer."""
    answers = sys.stdout.buffer
    sys.stdout = sys.stderr  # whatever a library prints is no answer
    make_ready, answer = STAGES[stage]
    with contextlib.suppress(Exception):
        make_ready()
    for line in sys.stdin.buffer:
        key, *asked = json.loads(line)
        try:
            given = answer(*asked)
        except Exception:  # noqa: BLE001 - the first process draws it then, and tells what is wrong
            given = [None]
        answers.write(json.dumps([key, *given]).encode() + b"\n")
        answers.flush()


def _ready_to_specify() -> None:
    from journal.site import charts

    charts.specification("bars", {"rows": [], "left": 2, "right": 4})


def _specified(chart: Chart) -> list[object]:
    """Make a chart into all that its drawing is made of."""
    from journal.site import charts

    return [charts.specification(chart["kind"], chart["data"]), chart["id"], chart["title"], chart["summary"]]


def _ready_to_draw() -> None:
    """Draw nothing once: that takes as long as a dozen charts."""
    from journal.site import drawing

    drawing.draw({"data": {"values": []}, "mark": "bar"}, "none", "", "")


def _drawn(specification: Mapping[str, Any] | None, *more: str) -> list[object]:
    """Make a specification into a drawing; there is none where the chart could not be specified."""
    from journal.site import drawing

    return [None if specification is None else drawing.draw(specification, *more)]


STAGES: Mapping[str, tuple[Callable[[], None], Callable[..., list[object]]]] = {
    "specify": (_ready_to_specify, _specified),
    "draw": (_ready_to_draw, _drawn),
}
"""What each process in turn makes ready and answers."""
