"""A broken or hostile package is refused with a sentence that names it, and the others go on."""

from __future__ import annotations

import json
import os
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from journal.commands.club import packages
from journal.commands.club.adding import Adding
from journal.commands.club.joining import Joining
from journal.commands.club.roster import Roster
from journal.reckoning.club import Club
from tests.club_packages import CLUB, Files, described, laid, published, rows_of, with_cell, with_rows, zipped

Change = Callable[[dict[str, Any]], object]
GOOD = CLUB / "published" / "elm-house"


@pytest.fixture(scope="module")
def good() -> Files:
    """A package that is taken in."""
    return published(CLUB / "elm-house")


@pytest.fixture
def refusal(tmp_path: Path) -> Callable[[Path], str]:
    """The sentence with which a package is refused, while the one beside it is taken in."""

    def act(path: Path) -> str:
        folder = tmp_path / "base"
        folder.mkdir()
        adding = Adding(folder)
        try:
            club: Club = Joining(adding, Roster(), published).club([path, CLUB / "published" / "ash-house"])
        finally:
            adding.close()
        assert [member.household for member in club.members] == ["Ash House"], "the others go on"
        assert club.figures.whole["taken_in"].value > 0
        (sentence,) = club.left_out
        assert str(tmp_path) not in sentence, "no path of this machine is told"
        return sentence

    return act


# Row 2 of the table is the first movement; each line: column, cell, what the sentence says.
CELLS = [
    ("kg", "NaN", 'row 2: kg "NaN" is no weight'),
    ("kg", "inf", 'row 2: kg "inf" is no weight'),
    ("kg", "-1", 'kg "-1" is no weight that a household can move'),
    ("kg", "1e9", 'kg "1e9" is no weight that a household can move'),
    ("kg", "heavy", 'kg "heavy" is no weight'),
    ("kg", "", 'kg "" is no weight'),
    ("own_doubt_kg", "-0.1", "is no doubt"),
    ("own_doubt_kg", "1e6", "is larger than its weight allows"),
    ("shared_doubt", "density=1", "names no causes of doubt"),
    ("shared_doubt", "catalogue: density of newspaper=nan", "names no causes of doubt"),
    ("shared_doubt", "catalogue: density of newspaper=1e300", "is larger than its weight allows"),
    ("date", "2025-02-30", 'date "2025-02-30" is no date'),
    ("date", "20250220", 'date "20250220" is no date'),
    ("date", "1066-10-14", "is no date of a diary"),
    ("date", "2024-02-20", "is outside the days its package covers"),
    ("counted", "2", 'counted "2" is not -1, 0 or 1'),
    ("counted", "-1", "rejects what is not thrown out"),
    ("from_kind", "moon", 'from_kind "moon" is no kind of account'),
    ("to_kind", "", 'to_kind "" is no kind of account'),
    ("stream", "gold", 'stream "gold" is no stream'),
    ("matter", "spirit", "is neither waste, castings nor other"),
    ("share_landfill", "0.5", "and the other shares do not add to 1"),
    ("share_landfill", "7", "or another share is none from 0 to 1"),
    ("share_unknown", "", "and the other shares do not go with the matter"),
    ("inferred", "perhaps", "is neither true nor false"),
    ("private", "1", "is neither true nor false"),
    ("how", "guessed", "is no manner of measuring"),
    ("id", "", 'id "" is empty'),
    ("giver", "somebody else", "is not among the givers its package names"),
    ("written", "=HYPERLINK(1)", 'text "=HYPERLINK(1)" begins like a formula'),
    ("to_name", "@SUM(A1)", 'text "@SUM(A1)" begins like a formula'),
    ("material", "+1", 'text "+1" begins like a formula'),
    ("verb", "x" * 600, "has a cell of more than 500 letters"),
]


@pytest.mark.parametrize(("column", "cell", "words"), CELLS, ids=[f"{c}={v[:14]}" for c, v, _ in CELLS])
def test_a_row_that_no_program_of_ours_writes_is_named(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path, column: str, cell: str, words: str
) -> None:
    """The sentence gives package, row, column, the cell, and what is wrong with it."""
    sentence = refusal(laid(with_cell(good, 0, column, cell), tmp_path / "bad"))
    assert sentence.startswith("bad: movements.csv, row 2: "), sentence
    assert words in sentence


def test_an_id_that_stands_twice_is_named(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path
) -> None:
    """No movement counts twice by standing twice."""
    rows = rows_of(good)
    sentence = refusal(laid(with_rows(good, [*rows, rows[0]]), tmp_path / "bad"))
    assert "stands on more than one row" in sentence


def _without(key: str) -> Change:
    return lambda document: document["middenbook"].pop(key)


def _about(**values: object) -> Change:
    return lambda document: document["middenbook"].update(values)


def _resource(**values: object) -> Change:
    return lambda document: document["resources"][0].update(values)


DESCRIPTIONS: list[tuple[str, Change, str]] = [
    ("no program", lambda document: document.pop("middenbook"), "was not published by this program"),
    ("newer", _about(schema=99), "was made by a newer version of the program (schema 99, not 1)"),
    ("wordy schema", _about(schema="one"), "does not say which schema its tables keep"),
    ("true schema", _about(schema=True), "does not say which schema its tables keep"),
    ("nameless", _about(household=""), "does not name its household"),
    ("listed name", _about(household=["Elm"]), "gives no household of at most 200 letters"),
    ("long name", _about(household="x" * 201), "gives no household of at most 200 letters"),
    ("crowd", _about(people=10**9), "gives a number of people that no household has"),
    ("no day", _about(first_day="soon"), "covers days that are no dates"),
    ("givers", _about(givers=[1]), "does not name its givers as they are shown"),
    ("elsewhere", _resource(path="../../etc/passwd"), "keeps its table movements elsewhere"),
    ("web", _resource(path="https://example.org/movements.csv"), "keeps its table movements elsewhere"),
    ("columns", _resource(schema={"fields": []}), "has other columns in movements than schema 1"),
    ("unhashed", _resource(hash="md5:1"), "does not give the SHA-256 of movements.csv"),
    ("tableless", lambda document: document.update(resources=None), "does not describe one table movements"),
]


@pytest.mark.parametrize(
    ("change", "words"), [row[1:] for row in DESCRIPTIONS], ids=[row[0] for row in DESCRIPTIONS]
)
def test_a_description_that_is_not_ours_is_named(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path, change: Change, words: str
) -> None:
    """Schema, version, household and places of tables are checked before anything is read."""
    assert words in refusal(laid(described(good, change), tmp_path / "bad"))


CUT = "was changed or cut short since it was published"
TOO_LARGE = "is larger than any diary makes it"
DESCRIPTION = "data/datapackage.json"
BYTES: list[tuple[str, str, Callable[[bytes], bytes], str]] = [
    ("cut short", "data/movements.csv", lambda data: data[:-40], CUT),
    ("no JSON", DESCRIPTION, lambda _: b"{", "has a description that cannot be read"),
    ("NaN", DESCRIPTION, lambda data: data.replace(b'"schema": 1', b'"schema": NaN'), "cannot be read"),
    ("deep JSON", DESCRIPTION, lambda _: b"[" * 100_000, "cannot be read"),
    ("no UTF-8", DESCRIPTION, lambda _: b"\xff\xfe{}", "cannot be read"),
    ("huge", DESCRIPTION, lambda _: b" " * (2 << 20), TOO_LARGE),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "change", "words"), [row[1:] for row in BYTES], ids=[row[0] for row in BYTES]
)
def test_bytes_that_are_no_package_are_named(
    good: Files,
    refusal: Callable[[Path], str],
    tmp_path: Path,
    name: str,
    change: Callable[[bytes], bytes],
    words: str,
) -> None:
    """A file that was cut, changed or filled with something else is told by its content."""
    assert words in refusal(laid({**good, name: change(good[name])}, tmp_path / "bad"))


TABLES: list[tuple[str, Callable[[bytes], bytes], str]] = [
    ("no head", lambda data: data.split(b"\r\n", 1)[1], "does not begin with the names of its columns"),
    ("short row", lambda data: data + b"a,b\r\n", "is no table of these columns"),
    ("open quote", lambda data: data + b'"open,b\r\n', "is no table of these columns"),
    ("binary", lambda data: data + b"\xff\xfe\x00" * 30 + b"\r\n", "is no table of these columns"),
    ("empty", lambda _: b"", "does not begin with the names of its columns"),
]


@pytest.mark.parametrize(("change", "words"), [row[1:] for row in TABLES], ids=[row[0] for row in TABLES])
def test_a_table_that_is_none_is_named(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path, change: Callable[[bytes], bytes], words: str
) -> None:
    """Even with a description that fits it, a file that is no table of our columns is refused."""
    changed = described({**good, "data/movements.csv": change(good["data/movements.csv"])})
    assert words in refusal(laid(changed, tmp_path / "bad"))


def test_stated_totals_that_are_no_numbers_are_refused(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path
) -> None:
    """A total of NaN cannot be compared, so it is no total."""
    assert "figures.csv, row 2, cannot be read" in refusal(
        laid(with_cell(good, 0, "kg", "nan", "figures"), tmp_path / "bad")
    )


# -- zips -----------------------------------------------------------------------------------------------

PATHS = [
    "../evil.csv",
    "/etc/cron.d/evil",
    "a/../../evil",
    "..\\evil.csv",
    "C:\\evil.csv",
    "\\\\host\\share\\evil",
]


@pytest.mark.parametrize("path", PATHS)
def test_a_zip_that_leads_out_of_itself_is_refused(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path, path: str
) -> None:
    """One member with such a path condemns the whole zip, and nothing is written there."""
    sentence = refusal(zipped({**good, path: b"x"}, tmp_path / "bad.zip"))
    assert "which leads out of it" in sentence
    assert not (tmp_path.parent / "evil.csv").exists()


def test_a_zip_with_a_link_is_refused(good: Files, refusal: Callable[[Path], str], tmp_path: Path) -> None:
    """A link in a zip is not followed, wherever it leads."""
    file = zipped(good, tmp_path / "bad.zip")
    link = zipfile.ZipInfo("data/readme")
    link.create_system = 3
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    with zipfile.ZipFile(file, "a") as archive:
        archive.writestr(link, "/etc/passwd")
    assert "links are not followed" in refusal(file)


def test_a_bomb_is_refused_by_its_ratio(good: Files, refusal: Callable[[Path], str], tmp_path: Path) -> None:
    """A member that would unpack to hundreds of times its size is a bomb, whatever its name."""
    file = zipped({**good, "data/extra.bin": bytes(8 << 20)}, tmp_path / "bad.zip")
    assert "which is a bomb" in refusal(file)


def test_a_bomb_that_lies_about_its_size_is_stopped_while_it_unpacks(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path
) -> None:
    """What a zip says of its sizes is not believed: bytes are counted as they come, and checked."""
    packed = described({**good, "data/movements.csv": bytes(4 << 20)})
    file = zipped(packed, tmp_path / "bad.zip")
    data = bytearray(file.read_bytes())
    truth, lie = (4 << 20).to_bytes(4, "little"), (1000).to_bytes(4, "little")
    assert data.count(truth) >= 1
    file.write_bytes(bytes(data).replace(truth, lie))
    sentence = refusal(file)
    assert "bad.zip" in sentence
    assert "larger" in sentence or "unpacked" in sentence or "cut short" in sentence


def test_bytes_are_counted_while_they_come(
    good: Files, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A table beyond the bound is refused even where it would be a table."""
    monkeypatch.setattr(packages, "MOST_BYTES", {**packages.MOST_BYTES, "movements.csv": 100})
    source = packages.find(laid(good, tmp_path / "bad"), "bad", published)
    with pytest.raises(packages.Refused, match=r"bad: movements\.csv is larger than any diary makes it"):
        source.copy("movements.csv", tmp_path)


def test_a_locked_zip_is_refused(good: Files, refusal: Callable[[Path], str], tmp_path: Path) -> None:
    """A password cannot be asked for, so a locked zip is named as such."""
    file = zipped(good, tmp_path / "bad.zip")
    data = bytearray(file.read_bytes())
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 8] |= 1
        at = data.find(b"PK\x01\x02", at + 4)
    file.write_bytes(data)
    assert "is locked with a password" in refusal(file)


NEITHER = "holds neither data/datapackage.json nor entries/"
OTHERS: list[tuple[str, Callable[[Files, Path], Path], str]] = [
    ("not there", lambda _, folder: folder / "none.zip", "is not there"),
    ("no zip", lambda _, folder: laid({"a.zip": b"hello"}, folder) / "a.zip", "is no zip that can be read"),
    ("empty folder", lambda _, folder: laid({"x/y": b""}, folder) / "x", NEITHER),
    ("no package", lambda _, folder: zipped({"a": b""}, folder / "a.zip"), "holds no datapackage.json"),
    ("two packages", lambda good, folder: zipped(
        {f"{house}/{name}": data for house in "ab" for name, data in good.items()}, folder / "a.zip"),
     "holds 2 packages; give each by itself"),
    ("half a package", lambda good, folder: zipped(
        {name: data for name, data in good.items() if "movements" not in name}, folder / "a.zip"),
     "has no movements.csv beside its datapackage.json"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "words"), [row[1:] for row in OTHERS], ids=[row[0] for row in OTHERS])
def test_what_is_no_package_at_all_is_named(
    good: Files,
    refusal: Callable[[Path], str],
    tmp_path: Path,
    make: Callable[[Files, Path], Path],
    words: str,
) -> None:
    """Whatever else is given ends in a sentence."""
    (tmp_path / "given").mkdir()
    assert words in refusal(make(good, tmp_path / "given"))


def test_links_in_a_folder_are_not_followed(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path
) -> None:
    """A table that is a link to a file elsewhere is not read."""
    folder = laid(good, tmp_path / "bad")
    secret = tmp_path / "secret.csv"
    secret.write_bytes(good["data/movements.csv"])
    (folder / "data/movements.csv").unlink()
    (folder / "data/movements.csv").symlink_to(secret)
    assert "is no plain file, and links are not followed" in refusal(folder)


def test_a_pipe_in_a_folder_does_not_make_the_program_wait(
    good: Files, refusal: Callable[[Path], str], tmp_path: Path
) -> None:
    """A table that is a pipe is refused rather than read for ever."""
    folder = laid(good, tmp_path / "bad")
    (folder / "data/movements.csv").unlink()
    os.mkfifo(folder / "data/movements.csv")
    assert "is no plain file" in refusal(folder)


def test_a_web_address_that_a_page_must_not_link_to_is_left_out(good: Files) -> None:
    """An address that is no http address never becomes a link."""
    from journal.commands.club.description import read_description

    for address in (
        "javascript:alert(1)",
        'https://x"onclick="y',
        "file:///etc/passwd",
        7,
        "data:text/html,x",
    ):
        changed = described(good, _about(web_address=address))
        assert read_description(changed["data/datapackage.json"], "x").web_address == ""
    document = json.loads(good["data/datapackage.json"])
    document["middenbook"]["web_address"] = "https://elm.example.org/"
    assert read_description(json.dumps(document).encode(), "x").web_address == "https://elm.example.org/"
