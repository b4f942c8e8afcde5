"""Pictures: upright, small, stripped of what they say of themselves; the rest refused with a sentence."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from journal.commands.files import read_journal
from journal.commands.site import gallery
from journal.notes.tasks import one_by_one
from journal.site import pictures
from journal.site.memory import Recollection
from journal.site.pictures import Picture, PictureProblem, candidates
from tests.journals import lay_out
from tests.sites import published_from, soup

Made = TypeVar("Made")


def prepared(data: bytes) -> Picture:
    """What is made of a picture's file."""
    return pictures.unpacked(pictures.made(data))


def saved(image: Image.Image, kind: str, **more: object) -> bytes:
    """A picture's file."""
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def two_halves(width: int = 1600, height: int = 1000) -> Image.Image:
    """A picture whose left half is red and whose right half is blue."""
    image = Image.new("RGB", (width, height), "red")
    image.paste("blue", (width // 2, 0, width, height))
    return image


def opened(data: bytes) -> Image.Image:
    """A picture as any reader sees it."""
    return Image.open(io.BytesIO(data))


def test_a_picture_is_made_in_the_widths_that_screens_ask_for() -> None:
    """A wide picture comes in three widths, a narrow one as it is, none larger than it was."""
    wide = prepared(saved(two_halves(), "JPEG"))
    assert [width for width, _, _ in wide.files] == [480, 960, 1440]
    narrow = prepared(saved(two_halves(300, 200), "PNG"))
    assert [(width, opened(data).size) for width, _, data in narrow.files] == [(300, (300, 200))]
    assert (narrow.width, narrow.height) == (300, 200)


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_picture_stands_upright_however_the_camera_was_held(turn: int) -> None:
    """All eight orientations of Exif 2.32 (tag 0x0112) come out as the picture was seen."""
    flip = Image.Transpose
    undo = {
        2: flip.FLIP_LEFT_RIGHT, 3: flip.ROTATE_180, 4: flip.FLIP_TOP_BOTTOM, 5: flip.TRANSPOSE,
        6: flip.ROTATE_90, 7: flip.TRANSVERSE, 8: flip.ROTATE_270,
    }  # fmt: skip
    stored = two_halves().transpose(undo[turn]) if turn in undo else two_halves()
    exif = Image.Exif()
    exif[0x0112] = turn
    made = prepared(saved(stored, "JPEG", exif=exif))
    upright = opened(made.files[0][2]).convert("RGB")
    assert upright.size == (480, 300)
    left, right = upright.getpixel((60, 150)), upright.getpixel((420, 150))
    assert isinstance(left, tuple)
    assert isinstance(right, tuple)
    assert left[0] > 200 > left[2]
    assert right[2] > 200 > right[0]


def test_nothing_but_the_picture_is_kept() -> None:
    """Owner, place, comment and text chunks of JPEG, PNG and WebP reach no file."""
    exif = Image.Exif()
    exif[315] = "SECRET artist"
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    chunks = PngInfo()
    chunks.add_text("Comment", "SECRET text")
    for data in (
        saved(two_halves(), "JPEG", exif=exif, comment=b"SECRET comment"),
        saved(two_halves(), "PNG", pnginfo=chunks, exif=exif),
        saved(two_halves(), "WEBP", exif=exif, xmp=b"SECRET xmp"),
    ):
        assert b"SECRET" in data
        for _, _, made in prepared(data).files:
            assert b"SECRET" not in made
            assert not opened(made).getexif()


def test_the_same_picture_is_the_same_bytes() -> None:
    """Made twice, a picture's files do not differ."""
    data = saved(two_halves(), "JPEG")
    assert prepared(data) == prepared(data)


def test_a_picture_under_two_names_is_made_once_and_then_remembered(tmp_path: Path) -> None:
    """Copies are one picture, at the first publication and at the next, which makes none."""
    lay_out(tmp_path, "## 2026-01-01\n\n![a bin](one.jpg) ![the same](two.jpg) ![no picture](three.jpg)\n")
    for name in ("one", "two"):
        (tmp_path / "entries" / f"{name}.jpg").write_bytes(saved(two_halves(), "JPEG"))
    (tmp_path / "entries" / "three.jpg").write_bytes(b"nothing")
    counts: list[int] = []

    def divided(tasks: Sequence[Callable[[], Made]]) -> Iterator[Made]:
        counts.append(len(tasks))
        return one_by_one(tasks)

    notes, memory = read_journal(tmp_path), Recollection()
    first, second = (gallery(tmp_path, notes, memory, divided) for _ in range(2))
    assert first == second
    assert first.ready["one.jpg"] == first.ready["two.jpg"]
    assert first.refused.keys() == {"three.jpg"}
    assert counts == [2, 1]


def test_what_shines_through_still_does() -> None:
    """A picture's transparent parts stay transparent."""
    made = prepared(saved(Image.new("RGBA", (200, 100), (0, 0, 0, 0)), "PNG"))
    assert opened(made.files[0][2]).convert("RGBA").getpixel((5, 5)) == (0, 0, 0, 0)


def png_of_size(width: int, height: int) -> bytes:
    """A PNG file that claims a size and holds next to nothing: a bomb."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 999))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"not a picture", "no JPEG, PNG, WebP or GIF"),
        (b"", "no JPEG, PNG, WebP or GIF"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no JPEG, PNG, WebP or GIF"),
        (saved(two_halves(40, 40), "TIFF"), "no JPEG, PNG, WebP or GIF"),
        (saved(two_halves(40, 40), "BMP"), "no JPEG, PNG, WebP or GIF"),
        (saved(two_halves(), "JPEG")[:3000], "broken"),
        (saved(two_halves(), "PNG")[:900], "broken"),
        (png_of_size(9000, 9000), "pixels"),
        (png_of_size(60000, 60000), "save it smaller"),
    ],
    ids=["text", "nothing", "SVG", "TIFF", "BMP", "half a JPEG", "half a PNG", "large", "bomb"],
)
def test_what_cannot_be_shown_is_refused_with_a_sentence(data: bytes, said: str) -> None:
    """Broken, foreign, huge and bursting files are told apart and end in one sentence."""
    with pytest.raises(PictureProblem, match=said):
        prepared(data)


def test_a_file_too_heavy_is_not_opened() -> None:
    """Beyond sixty megabytes nothing is unpacked."""
    with pytest.raises(PictureProblem, match="at most 60 MB"):
        prepared(b"\xff\xd8" + b"\0" * 60_000_001)


@pytest.mark.parametrize(
    ("file", "source", "places"),
    [
        ("a.md", "photos/a.jpg", ("photos/a.jpg",)),
        ("2026/a.md", "photos/a.jpg", ("2026/photos/a.jpg", "photos/a.jpg")),
        ("2026/a.md", "../photos/a%20b.jpg", ("photos/a b.jpg",)),
        ("a.md", "../secret.jpg", ()),
        ("a.md", "x/../../secret.jpg", ()),
        ("a.md", "/etc/passwd", ()),
        ("a.md", "%2e%2e/secret.jpg", ()),
        ("a.md", "https://evil.example/p.jpg", ()),
        ("a.md", "//evil.example/p.jpg", ()),
        ("a.md", "file:///etc/passwd", ()),
        ("a.md", "data:image/png;base64,AAAA", ()),
        ("a.md", "..\\secret.jpg", ()),
        ("a.md", "a\0.jpg", ()),
    ],
)
def test_a_picture_lies_below_entries_or_nowhere(file: str, source: str, places: tuple[str, ...]) -> None:
    """A source means a file beside its entry or from the top of entries/; nothing else is looked for."""
    assert candidates(file, source) == places


ENTRIES = """\
## 2026-01-01

![a tray](photos/tray.jpg "taken at dusk") ![](photos/tray.jpg) ![gone](photos/gone.jpg)
![out](photos/out.jpg) ![broken](photos/broken.jpg) ![far](https://evil.example/far.jpg)
"""


def test_a_hidden_picture_is_not_shown_and_the_keeper_hears_why(tmp_path: Path) -> None:
    """A picture that is hidden, in a hidden folder or behind a link to one is left out, with the way out."""
    entries = tmp_path / "entries"
    (entries / ".kept" / "lids").mkdir(parents=True)
    (entries / "linked").symlink_to(entries / ".kept", target_is_directory=True)
    sources = (".lid.jpg", ".kept/lid.jpg", ".kept/lids/lid.jpg", "linked/lids/lid.jpg")
    for name in sources[:3]:
        (entries / name).write_bytes(saved(two_halves(), "JPEG"))
    (entries / "household.yaml").write_text("household: {name: X}\n", encoding="utf-8")
    text = "\n\n".join(f"![a lid]({source})" for source in (*sources, ".gone.jpg"))
    (entries / "a.md").write_text(f"## 2026-01-01\n\n{text}\n", encoding="utf-8")
    remarks: list[str] = []
    site = published_from(tmp_path, remarks)
    assert not soup(site, "2026-01.html").select("figure.picture img")
    told = "\n".join(remarks)
    for source in sources:
        assert f"the picture {source} is not shown: hidden files are not shown; name it" in told
    assert ".gone.jpg is not shown: there is no such file below entries/" in told


def test_the_page_shows_pictures_and_the_keeper_hears_of_the_rest(tmp_path: Path) -> None:
    """A good picture has its size, widths and words; of each other the keeper hears, with its place."""
    photos = tmp_path / "entries" / "photos"
    photos.mkdir(parents=True)
    (tmp_path / "secret.jpg").write_bytes(saved(two_halves(), "JPEG"))
    (photos / "tray.jpg").write_bytes(saved(two_halves(), "JPEG"))
    (photos / "out.jpg").symlink_to(tmp_path / "secret.jpg")
    (photos / "broken.jpg").write_bytes(b"broken")
    (tmp_path / "entries" / "household.yaml").write_text("household: {name: X}\n", encoding="utf-8")
    (tmp_path / "entries" / "a.md").write_text(ENTRIES, encoding="utf-8")
    remarks: list[str] = []
    site = published_from(tmp_path, remarks)
    shown = soup(site, "2026-01.html").select("figure.picture img")
    assert [image["alt"] for image in shown] == ["a tray", ""]
    first = shown[0]
    assert (first["width"], first["height"], first["loading"]) == ("1440", "900", "lazy")
    named = [part.split()[0] for part in str(first["srcset"]).split(", ")]
    assert all(opened(site[name]).format == "WEBP" for name in named)
    assert "taken at dusk" in soup(site, "2026-01.html").get_text()
    assert "evil.example" not in site["2026-01.html"].decode()
    told = "\n".join(remarks)
    assert "photos/tray.jpg says nothing to who cannot see it" in told
    for lost in ("photos/gone.jpg", "photos/out.jpg", "https://evil.example/far.jpg"):
        assert f"{lost} is not shown: there is no such file below entries/" in told
    assert "photos/broken.jpg is not shown: the file is no JPEG" in told
    assert all(remark.startswith("a.md:3:") for remark in remarks)
