"""Opens what a club is given: published sites, their data folders, zips of either, and journals.

Nothing in them is trusted.  Only two tables and their description are taken out, each read to a bound that is
counted while reading; links, paths that leave the package, encrypted members and bombs are refused.
"""

from __future__ import annotations

import hashlib
import io
import os
import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, NamedTuple

DESCRIPTOR = "datapackage.json"
TABLES = ("movements.csv", "figures.csv")
MOST_BYTES: Mapping[str, int] = {DESCRIPTOR: 1 << 20, "movements.csv": 512 << 20, "figures.csv": 64 << 20}
"""More than a long life of diary: a thousand movements a week for fifty years are 520 MB."""

MOST_MEMBERS = 100_000
MOST_RATIO = 200
"""A table of ours packs ten- to thirtyfold; whatever packs tighter than this is a bomb."""

RATIO_FROM = 1 << 20
CHUNK = 1 << 20

Open = Callable[[], "IO[bytes]"]


class Refused(ValueError):
    """A package that is not taken in; the message is a sentence that names it."""


class Source(NamedTuple):
    """Where a package's files are: how to open each, and the most bytes that each may have."""

    label: str
    opens: Mapping[str, Open]
    most: Mapping[str, int]

    def copy(self, name: str, into: Path) -> str:
        """Copy one file out and give its SHA-256.  Raises Refused where it is missing or too large."""
        if name not in self.opens:
            raise Refused(f"{self.label} has no {name} beside its {DESCRIPTOR}")
        digest = hashlib.sha256()
        taken = 0
        with _reading(self.label, name, self.opens[name]) as stream, (into / name).open("xb") as copy:
            while chunk := stream.read(CHUNK):
                taken += len(chunk)
                if taken > self.most[name]:
                    raise Refused(f"{self.label}: {name} is larger than any diary makes it")
                digest.update(chunk)
                copy.write(chunk)
        return digest.hexdigest()


@contextmanager
def _reading(label: str, name: str, opens: Open) -> Iterator[IO[bytes]]:
    try:
        with opens() as stream:
            yield stream
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as fault:
        raise Refused(f"{label}: {name} cannot be unpacked: {fault}") from None


def find(path: Path, label: str, made: Callable[[Path], Mapping[str, bytes]]) -> Source:
    """Say where the files of the package at ``path`` are; ``made`` makes a journal's package in memory.

    Raises Refused with a sentence.
    """
    if path.is_dir():
        return _in_folder(path, label, made)
    if not path.exists():
        raise Refused(f"{label} is not there")
    if not stat.S_ISREG(path.stat().st_mode):
        raise Refused(f"{label} is neither a folder nor a file")
    try:
        with zipfile.ZipFile(path) as archive:
            return _in_zip(path, label, archive)
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as fault:
        if isinstance(fault, Refused):
            raise
        raise Refused(f"{label} is no zip that can be read: {fault}") from None


def _in_folder(path: Path, label: str, made: Callable[[Path], Mapping[str, bytes]]) -> Source:
    for folder in (path / "data", path):
        if folder.is_symlink() and folder != path:
            raise Refused(f"{label}: {folder.name} is a link, and links are not followed")
        if (folder / DESCRIPTOR).exists() or (folder / DESCRIPTOR).is_symlink():
            opens = {name: _plain_file(folder / name, label) for name in (DESCRIPTOR, *TABLES)}
            return Source(label, opens, MOST_BYTES)
    if (path / "entries").is_dir():
        files = {PurePosixPath(name).name: data for name, data in made(path).items()}
        return Source(label, {name: _in_memory(data) for name, data in files.items()}, MOST_BYTES)
    raise Refused(f"{label} holds neither data/{DESCRIPTOR} nor entries/")


def _in_memory(data: bytes) -> Open:
    return lambda: io.BytesIO(data)


def _plain_file(path: Path, label: str) -> Open:
    def opened() -> IO[bytes]:
        try:
            if not stat.S_ISREG(path.lstat().st_mode):
                raise Refused(f"{label}: {path.name} is no plain file, and links are not followed")
            return os.fdopen(os.open(path, os.O_RDONLY | _NO_LINK), "rb")
        except FileNotFoundError:
            raise Refused(f"{label} has no {path.name} beside its {DESCRIPTOR}") from None

    return opened


_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)


def _in_zip(path: Path, label: str, archive: zipfile.ZipFile) -> Source:
    members = archive.infolist()
    if len(members) > MOST_MEMBERS:
        raise Refused(f"{label} holds {len(members):,} files, more than any site")
    for member in members:
        _judge(member, label)
    names = [member.filename for member in members]
    if len(set(names)) != len(names):
        raise Refused(f"{label} holds one name twice")
    room = _room_of_package(names, label)
    by_name = {member.filename: member for member in members}
    wanted = {name: by_name.get(f"{room}{name}") for name in (DESCRIPTOR, *TABLES)}
    opens = {name: _member(path, member) for name, member in wanted.items() if member is not None}
    most = {
        name: min(MOST_BYTES[name], max(RATIO_FROM, MOST_RATIO * member.compress_size))
        for name, member in wanted.items()
        if member is not None
    }
    return Source(label, opens, most)


def _judge(member: zipfile.ZipInfo, label: str) -> None:
    """Refuse a zip one of whose members leads out of it, is a link, is locked, or is a bomb."""
    parts = PurePosixPath(member.filename.replace("\\", "/")).parts
    if not parts or parts[0].startswith("/") or ".." in parts or ":" in parts[0] or "\0" in member.filename:
        raise Refused(f'{label} holds the path "{member.filename[:80]}", which leads out of it')
    if stat.S_ISLNK(member.external_attr >> 16):
        raise Refused(f'{label} holds the link "{member.filename[:80]}", and links are not followed')
    if member.flag_bits & 0x1:
        raise Refused(f"{label} is locked with a password")
    if member.file_size > RATIO_FROM and member.file_size > MOST_RATIO * max(1, member.compress_size):
        raise Refused(
            f'{label}: "{member.filename[:80]}" would unpack to {member.file_size:,} bytes, which is a bomb'
        )


def _room_of_package(names: list[str], label: str) -> str:
    """Give the folder of the one package in a zip, as the beginning of its names."""
    rooms = {
        name.removesuffix(DESCRIPTOR)
        for name in names
        if name == DESCRIPTOR or name.endswith(f"/{DESCRIPTOR}")
    }
    if not rooms:
        raise Refused(f"{label} holds no {DESCRIPTOR}")
    if len(rooms) > 1:
        raise Refused(f"{label} holds {len(rooms)} packages; give each by itself")
    return rooms.pop()


def _member(path: Path, member: zipfile.ZipInfo) -> Open:
    def opened() -> IO[bytes]:
        archive = zipfile.ZipFile(path)
        stream = archive.open(member)
        archive.close()  # the open member keeps the file until it is read
        return stream

    return opened
