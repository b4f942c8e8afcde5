"""Does a list of tasks in two processes at once: this one, and one that starts as a copy of it.

The copy costs next to nothing to make, and knows all that was read and reckoned so far.  Both take the next
task from one pile until none is left, so neither waits for the other.  What the copy makes goes into a
nameless file that this process reads between its own tasks.  The copy changes nothing else on the disk, and
ends when this process does.  What it fails in, or never comes to, is done here; where a process cannot be
copied safely (only Linux promises that) or a second processor is not there, all of it is.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import struct
import sys
import tempfile
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import IO, Any, Self, TypeVar

from journal.notes.tasks import one_by_one

Made = TypeVar("Made")

_NUMBER = struct.Struct("I")
_LENGTH = struct.Struct("Q")
MOST_TASKS = 65536 // _NUMBER.size
"""As many numbers as a pipe holds without anybody reading."""


def can_copy() -> bool:
    """Whether a second process is worth having on this machine."""
    return sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1


@dataclass(eq=False)
class _Mate:
    """One second process: its number, the pile it takes from, and the file it lays what it makes into."""

    process: int
    pile: int
    made: IO[bytes]
    has_ended: bool = False
    read: int = 0

    def finished(self) -> Iterator[tuple[int, Any]]:
        """Give number and result of the tasks that it has finished since it was last asked."""
        while True:
            head = os.pread(self.made.fileno(), _LENGTH.size, self.read)
            if len(head) < _LENGTH.size:
                return
            (length,) = _LENGTH.unpack(head)
            if not length:
                return
            packed = os.pread(self.made.fileno(), length, self.read + _LENGTH.size)
            if len(packed) < length:
                return
            self.read += _LENGTH.size + length
            yield pickle.loads(packed)  # noqa: S301 - this program wrote it, into a file without a name

    def wait(self) -> None:
        """Wait until it has ended; from then on its number may be anybody's."""
        if not self.has_ended:
            with contextlib.suppress(ChildProcessError):
                os.waitpid(self.process, 0)
            self.has_ended = True

    def dismiss(self) -> None:
        """End it, whatever it does, and close what was shared with it."""
        if not self.has_ended:
            with contextlib.suppress(OSError):
                os.kill(self.process, signal.SIGKILL)
            self.wait()
        os.close(self.pile)
        self.made.close()


class Workmates:
    """The second processes of one run; leaving the ``with`` lets those go that are still at work."""

    def __init__(self) -> None:
        self._working: list[_Mate] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for mate in self._working:
            mate.dismiss()

    def divided(self, tasks: Sequence[Callable[[], Made]]) -> Iterator[Made]:
        """Begin on the tasks in a second process; what is given back does the rest and gives every result.

        Results come in any order, each once.  They must be plain enough to be pickled.
        """
        mate = self._begin(tasks) if can_copy() and 1 < len(tasks) <= MOST_TASKS else None
        return one_by_one(tasks) if mate is None else self._results(tasks, mate)

    def _begin(self, tasks: Sequence[Callable[[], Made]]) -> _Mate | None:
        """Begin in a second process, or give None where the machine has none to spare."""
        with contextlib.ExitStack() as opened:
            try:
                pile, laid = os.pipe()
                opened.callback(os.close, pile)
                os.write(laid, b"".join(map(_NUMBER.pack, range(len(tasks)))))
                os.close(laid)
                made = opened.enter_context(tempfile.TemporaryFile())
                process = _copied()
            except OSError:
                return None
            if process == 0:
                _work(tasks, pile, made)
            opened.pop_all()
        mate = _Mate(process, pile, made)
        self._working.append(mate)
        return mate

    def _results(self, tasks: Sequence[Callable[[], Made]], mate: _Mate) -> Iterator[Made]:
        done = set()
        for number in _taken(mate.pile):
            done.add(number)
            yield tasks[number]()
            for number_there, result in mate.finished():
                done.add(number_there)
                yield result
        mate.wait()
        for number, result in mate.finished():
            done.add(number)
            yield result
        for number, task in enumerate(tasks):
            if number not in done:
                yield task()


def _copied() -> int:
    """Copy this process: 0 in the copy, its number here."""
    with warnings.catch_warnings():
        # Threads that carry charts are not copied; nothing that they hold is used in the copy.
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def _taken(pile: int) -> Iterator[int]:
    """Take numbers from the pile; the system gives each to one process only."""
    while len(number := os.read(pile, _NUMBER.size)) == _NUMBER.size:
        yield _NUMBER.unpack(number)[0]


def _work(tasks: Sequence[Callable[[], object]], pile: int, made: IO[bytes]) -> None:
    """Be the second process; never returns."""
    status = 1
    try:
        first = os.getppid()
        _close_all_but(pile, made.fileno())
        for number in _taken(pile):
            if os.getppid() != first:  # it was killed: nobody wants this any more
                break
            result = tasks[number]()
            start = made.tell()
            made.write(_LENGTH.pack(0))
            pickle.dump((number, result), made, 5)
            made.flush()
            length = made.tell() - start - _LENGTH.size
            os.pwrite(made.fileno(), _LENGTH.pack(length), start)  # now it is whole, and may be read
        status = 0
    finally:
        os._exit(status)  # without a word: what failed here is done, and told, by the first process


def _close_all_but(*kept: int) -> None:
    """Let go of locks and pipes that are the first process's own, so that they end when it does."""
    for name in os.listdir("/proc/self/fd"):  # noqa: PTH208 - numbers, not files; a range could be endless
        descriptor = int(name)
        if descriptor > 2 and descriptor not in kept:  # noqa: PLR2004 - in, out and errors stay
            with contextlib.suppress(OSError):  # the one that listed them
                os.close(descriptor)
