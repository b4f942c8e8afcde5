"""What is remembered between publications may be gone, damaged, locked or hostile: results stay right."""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from journal.commands import kept as kept_module
from journal.commands import memory as memory_module
from journal.commands.kept import cache_folder, kept
from journal.commands.memory import Memory, memory_of

ROUNDS = int(os.environ.get("MIDDENBOOK_DAMAGES", "120"))
KEPT = {f"key {number}": bytes([number]) * (40 * number) for number in range(60)}


def fill(path: Path) -> None:
    """Keep some values in a memory."""
    with Memory(path) as memory:
        for key, data in KEPT.items():
            memory.put(key, data)


def right_or_nothing(path: Path) -> int:
    """See that a memory gives what was kept or nothing, takes new values, and closes; count what it gave."""
    given = 0
    with Memory(path) as memory:
        for key, data in KEPT.items():
            found = memory.get(key)
            assert found in (data, None)
            given += found is not None
        memory.put("new", b"new")
        assert memory.get("new") == b"new"
    return given


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A memory with values in it."""
    fill(tmp_path / "memory.sqlite")
    return tmp_path / "memory.sqlite"


def test_a_whole_memory_gives_everything(path: Path) -> None:
    """What was kept is there in the next run."""
    assert right_or_nothing(path) == len(KEPT)


def test_flipped_bytes_are_never_believed(path: Path) -> None:
    """Wherever bytes of the file are flipped, each value is right or is made again."""
    whole, chance = path.read_bytes(), random.Random(1)
    for _ in range(ROUNDS):
        damaged = bytearray(whole)
        start = chance.choice([0, 0, chance.randrange(len(whole))])
        for _ in range(chance.choice([1, 2, 8, 64, 1000])):
            at = min(len(whole) - 1, start + chance.randrange(4096)) if chance.random() < 0.7 else None
            damaged[chance.randrange(len(whole)) if at is None else at] = chance.randrange(256)
        path.write_bytes(damaged)
        right_or_nothing(path)
        right_or_nothing(path)


def test_a_memory_cut_short_is_begun_again(path: Path) -> None:
    """Wherever the file ends too early, each value is right or is made again."""
    whole = path.read_bytes()
    for length in range(0, len(whole), max(1, len(whole) // 40)):
        path.write_bytes(whole[:length])
        right_or_nothing(path)


def _table(columns: str, row: tuple[object, ...]) -> Callable[[Path], None]:
    def make(path: Path) -> None:
        base = sqlite3.connect(path)
        with base:
            base.execute(f"CREATE TABLE kept ({columns})")
            base.execute(f"INSERT INTO kept VALUES ({', '.join('?' * len(row))})", row)
        base.close()

    return make


OTHERS: dict[str, Callable[[Path], object]] = {
    "a folder": lambda path: path.mkdir(),
    "a link to nowhere": lambda path: path.symlink_to("/nowhere/at/all"),
    "a link in a circle": lambda path: path.symlink_to(path),
    "words": lambda path: path.write_text("no database at all, but a long enough text " * 100),
    "nothing": lambda path: path.write_bytes(b""),
    "another table": _table("a INTEGER", (1,)),
    "a view": lambda path: _script(path, "CREATE VIEW kept AS SELECT 1 AS key"),
    "a trigger": lambda path: _script(
        path,
        "CREATE TABLE kept (key BLOB PRIMARY KEY, digest BLOB, data BLOB);"
        "CREATE TRIGGER t BEFORE INSERT ON kept BEGIN SELECT RAISE(ABORT, 'no'); END",
    ),
}


def _script(path: Path, statements: str) -> None:
    base = sqlite3.connect(path)
    base.executescript(statements)
    base.close()


@pytest.mark.parametrize("name", OTHERS)
def test_something_else_in_its_place_does_no_harm(tmp_path: Path, name: str) -> None:
    """Whatever lies where the memory should, nothing fails, and nothing wrong is given."""
    path = tmp_path / "memory.sqlite"
    OTHERS[name](path)
    right_or_nothing(path)
    fill(path)
    right_or_nothing(path)


def test_a_key_never_leads_to_another_keys_value(path: Path) -> None:
    """Where damage has mixed up which value belongs to which key, all of them are made again."""
    base = sqlite3.connect(path)
    with base:
        rows = base.execute("SELECT key, digest, data FROM kept ORDER BY key").fetchall()
        for (key, *_), (_, *other) in zip(rows, rows[1:] + rows[:1], strict=True):
            base.execute("UPDATE kept SET digest = ?, data = ? WHERE key = ?", (*other, key))
    base.close()
    assert right_or_nothing(path) == 0


@pytest.mark.parametrize(
    "row",
    [("digest", "words"), (None, None), (5, 7), (b"x", 2**40), (b"", b"")],
)
def test_values_of_other_kinds_are_never_believed(path: Path, row: tuple[object, ...]) -> None:
    """A row that holds words, numbers or nothing where bytes are to be is made again."""
    base = sqlite3.connect(path)
    with base:
        base.execute("UPDATE kept SET digest = ?, data = ?", row)
    base.close()
    assert right_or_nothing(path) == 0


def test_a_memory_that_another_run_holds_is_done_without(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While another program writes in it, values are read or made again, and nothing fails or is deleted."""
    monkeypatch.setattr(memory_module, "LONGEST_WAIT", 0.2)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    began = Memory(path)
    assert began.get("key 3") in (KEPT["key 3"], None)
    began.put("new", b"new")
    began.close()
    other.execute("ROLLBACK")
    other.close()
    assert right_or_nothing(path) == len(KEPT)


@pytest.mark.parametrize("home", ["/dev/null/x", "/proc/nothing/here", "relative"])
def test_no_place_for_a_memory_is_no_reason_to_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, home: str
) -> None:
    """Where the cache folder cannot be made, a run remembers only within itself."""
    monkeypatch.setenv("XDG_CACHE_HOME", home)
    with memory_of(tmp_path) as memory:
        memory.put("a", b"a")
        assert memory.get("a") == b"a"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.delenv("HOME")
    assert cache_folder() is None


def test_what_the_program_keeps_of_its_own_is_made_again_where_it_is_damaged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cut short, flipped, or a folder in its place: the value is right, and kept again where it can be."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    made: list[int] = []

    def make() -> dict[str, list[int]]:
        made.append(1)
        return {"a": list(range(100))}

    value = kept("thing", make)
    (file,) = (tmp_path / "middenbook").iterdir()
    assert kept("thing", make) == value
    assert len(made) == 1
    whole, chance = file.read_bytes(), random.Random(1)
    for number in range(ROUNDS):
        damaged = bytearray(whole)
        damaged[chance.randrange(len(whole))] ^= 1 << chance.randrange(8)
        file.write_bytes(damaged if number % 3 else whole[: chance.randrange(len(whole))])
        assert kept("thing", make) == value
        assert len(made) == 2 + number
        assert file.read_bytes() == whole
    file.unlink()
    file.mkdir()
    assert kept("thing", make) == value


def test_a_value_is_kept_for_each_of_a_few_texts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each text has its own value; only the oldest are let go, and nothing that bears another name."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    folder = tmp_path / "middenbook"
    folder.mkdir()
    (folder / "thingamajig-1").write_bytes(b"another")
    seen: set[Path] = set()
    for number in range(2 * kept_module.MOST):
        assert kept("thing", partial(int, number), f"text {number}") == number
        (new,) = set(folder.glob("thing-*")) - seen
        seen.add(new)
        os.utime(new, (number, number))  # a disk may not tell two writings a moment apart
    for number in range(kept_module.MOST, 2 * kept_module.MOST):
        assert kept("thing", partial(int, -1), f"text {number}") == number
    assert len(list(folder.glob("thing-*"))) == kept_module.MOST
    assert (folder / "thingamajig-1").exists()


@pytest.mark.skipif(os.name != "posix", reason="elsewhere names are text")
def test_a_program_in_a_folder_whose_name_is_no_text_knows_its_version(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own files are named by bytes, and one that vanishes meanwhile is passed over."""
    folder = os.fsdecode(os.fsencode(tmp_path) + b"/\xff/commands")
    Path(folder).mkdir(parents=True)
    monkeypatch.setattr(kept_module, "__file__", f"{folder}/kept.py")
    first = kept_module.program_version()
    Path(folder, "kept.py").write_bytes(b"pass")
    assert kept_module.program_version() != first
    Path(folder, "gone.py").symlink_to("nowhere")
    kept_module.program_version()


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path], dict[str, bytes]]:
    """A function that publishes one small journal with a given memory and gives the site's files."""
    folder = tmp_path_factory.mktemp("journal")
    checkout = Path(__file__).resolve().parent.parent

    def run(*words: str, memory: Path) -> None:
        surroundings = {**os.environ, "PYTHONPATH": str(checkout), "XDG_CACHE_HOME": str(memory)}
        done = subprocess.run(
            [sys.executable, "-m", "journal", *words],
            env=surroundings, cwd=checkout, capture_output=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr.decode()

    run("start", str(folder / "worms"), memory=folder / "m")

    def publish(memory: Path) -> dict[str, bytes]:
        to = tmp_path_factory.mktemp("site")
        run("--journal", str(folder / "worms"), "publish", "--to", str(to), memory=memory)
        return {
            file.relative_to(to).as_posix(): file.read_bytes() for file in to.rglob("*") if file.is_file()
        }

    return publish


def test_a_site_from_a_damaged_memory_is_the_same_site(
    tmp_path: Path, site: Callable[[Path], dict[str, bytes]]
) -> None:
    """Published cold, warm, and from a memory full of holes, a journal gives the same bytes."""
    cold = site(tmp_path)
    assert site(tmp_path) == cold
    chance = random.Random(2)
    for file in (tmp_path / "middenbook").glob("*.sqlite"):
        data = bytearray(file.read_bytes())
        for at in range(200, len(data), 701):
            data[at] = chance.randrange(256)
        file.write_bytes(data)
    assert site(tmp_path) == cold
