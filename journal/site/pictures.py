"""A picture becomes files for the site: upright, small, and stripped of all it says of itself.

Only what is seen is kept.  Where a camera wrote the place, the owner or a comment into the file, none of it
reaches the site: the pixels are laid into a new picture, and only that is written.
"""

from __future__ import annotations

import io
import json
import posixpath
import re
import warnings
from collections.abc import Iterable, Mapping
from html import escape
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import unquote

from journal.notes.place import Place
from journal.notes.records import Notes, Prose
from journal.site import prose
from journal.site.discretion import WORDS, Discretion
from journal.site.memory import key_of

if TYPE_CHECKING:
    from PIL import Image

WIDTHS = (480, 960, 1440)
FORMATS = ("JPEG", "PNG", "WEBP", "GIF")
LARGEST = 64_000_000
"""The most pixels a picture may have: more than any phone's camera takes, less than a bomb needs."""

HEAVIEST = 60_000_000
"""The most bytes a picture may have."""

QUALITY = 78
_ELSEWHERE = re.compile(r"[a-z][a-z0-9+.-]*:|//|/|\\\\", re.IGNORECASE)


class PictureProblem(ValueError):
    """A picture that cannot be shown; the message is a sentence for the keeper."""


class Wanted(NamedTuple):
    """A picture that an entry shows: where it may lie below ``entries/``, in the order to look there."""

    source: str
    alternative: str
    place: Place
    candidates: tuple[str, ...]


class Picture(NamedTuple):
    """A picture made ready: its size in pixels, and (width, name, bytes) of each file, smallest first."""

    width: int
    height: int
    files: tuple[tuple[int, str, bytes], ...]

    def view(self) -> dict[str, Any]:
        """Give what a page needs of it, as plain values."""
        return {
            "width": self.width,
            "height": self.height,
            "files": [[width, name] for width, name, _ in self.files],
        }


def wanted(notes: Notes) -> list[Wanted]:
    """Give the pictures that published entries show; none where the household shares none."""
    if not notes.household.sharing.pictures:
        return []
    discretion = Discretion(notes.household)
    found: list[Wanted] = []
    for entry in notes.entries:
        if discretion.level(entry) != WORDS:
            continue
        texts = [block for block in entry.blocks if isinstance(block, Prose)]
        if not any("![" in block.text for block in texts):
            continue
        shared = prose.definitions([block.text for block in texts])
        for block in texts:
            if "![" in block.text:
                found.extend(
                    Wanted(source, alternative, block.place, candidates(block.place.file, source))
                    for source, alternative in prose.sources(discretion.words(block.text) + shared)
                )
    return found


def candidates(file: str, source: str) -> tuple[str, ...]:
    """Give the paths below ``entries/`` that a source may mean: beside its entry first, then from the top.

    A source that leads elsewhere (another host, an absolute path, out of ``entries/``) means none.
    """
    path = unquote(source)
    if _ELSEWHERE.match(path) or "\0" in path or "\\" in path:
        return ()
    beside = posixpath.normpath(posixpath.join(posixpath.dirname(file), path))
    top = posixpath.normpath(path)
    return tuple(dict.fromkeys(one for one in (beside, top) if not one.startswith("..") and one != "."))


def key_of_picture(data: bytes) -> str:
    """Name what is made of a picture's bytes."""
    return key_of("picture", data)


def made(data: bytes) -> bytes:
    """Make a picture's files from its bytes, packed to be kept.  Raises PictureProblem with a sentence."""
    if len(data) > HEAVIEST:
        raise PictureProblem(
            f"the picture is {len(data) / 1e6:.0f} MB; at most {HEAVIEST / 1e6:.0f} MB are read: save "
            "it smaller"
        )
    return _packed(_made(data))


def _made(data: bytes) -> Picture:
    upright = _upright(data)
    name = key_of_picture(data).removeprefix("picture-")[:16]
    width, height = upright.size
    widths = [size for size in WIDTHS if size < width] or [width]
    if width > widths[-1] and widths[-1] != WIDTHS[-1]:
        widths.append(width)
    files = tuple((size, f"pictures/{name}-{size}.webp", _written(upright, size)) for size in widths)
    largest = widths[-1]
    return Picture(largest, max(1, round(height * largest / width)), files)


def _upright(data: bytes) -> Image.Image:
    """Open a picture, turn it as its camera says, bring its colours to sRGB, and lay it into a new one."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(data), formats=FORMATS) as opened:
                _refuse_too_large(opened.width, opened.height)
                opened.draft("RGB", (2 * WIDTHS[-1], 2 * WIDTHS[-1]))
                turned = ImageOps.exif_transpose(opened)
                seen = _in_srgb(turned)
    except PictureProblem:
        raise
    except UnidentifiedImageError:
        raise PictureProblem(
            "the file is no JPEG, PNG, WebP or GIF picture: save it as one of these"
        ) from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise PictureProblem("the picture unpacks to far more than a camera takes: save it smaller") from None
    except Exception as fault:  # noqa: BLE001 - a broken file can fail in any way; the keeper gets one sentence
        raise PictureProblem(
            f"the picture is broken and cannot be read ({type(fault).__name__}): save it again"
        ) from None
    fresh = Image.new(seen.mode, seen.size)
    fresh.paste(seen)
    return fresh


def _refuse_too_large(width: int, height: int) -> None:
    if width * height > LARGEST:
        most = LARGEST // 1_000_000
        raise PictureProblem(
            f"the picture has {width} × {height} pixels; at most {most} million are read: save it smaller"
        )


def _in_srgb(image: Image.Image) -> Image.Image:
    from PIL import ImageCms

    has_alpha = image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info
    profile = image.info.get("icc_profile")
    plain = image.convert("RGBA" if has_alpha else "RGB")
    if not profile or image.mode not in {"RGB", "RGBA"}:
        return plain
    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(plain, own, ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError, ValueError):
        return plain
    return turned if turned is not None else plain


def _written(image: Image.Image, width: int) -> bytes:
    from PIL import Image

    height = max(1, round(image.height * width / image.width))
    sized = image if width == image.width else image.resize((width, height), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    sized.save(out, "WEBP", quality=QUALITY, method=4)
    return out.getvalue()


def _packed(picture: Picture) -> bytes:
    head = {
        "width": picture.width,
        "height": picture.height,
        "files": [[width, name, len(data)] for width, name, data in picture.files],
    }
    return json.dumps(head).encode() + b"\n" + b"".join(data for _, _, data in picture.files)


def unpacked(packed: bytes) -> Picture:
    """Give a picture that was packed."""
    head_line, _, rest = packed.partition(b"\n")
    head = json.loads(head_line)
    files, start = [], 0
    for width, name, length in head["files"]:
        files.append((width, name, rest[start : start + length]))
        start += length
    return Picture(head["width"], head["height"], tuple(files))


def shown(views: Mapping[str, Mapping[str, Any]]) -> prose.Picture:
    """Give the function that writes the HTML of an entry's pictures, from their views by source."""

    def write(source: str, alternative: str, title: str) -> str | None:
        view = views.get(source)
        if view is None:
            return None
        files = view["files"]
        choice = ", ".join(f"{name} {width}w" for width, name in files)
        sizes = f' srcset="{choice}" sizes="(min-width: 50rem) 36rem, 92vw"' if len(files) > 1 else ""
        caption = f"<figcaption>{escape(title)}</figcaption>" if title else ""
        return (
            f'<figure class="picture"><img src="{files[0][1]}"{sizes} '
            f'width="{view["width"]}" height="{view["height"]}" '
            f'alt="{escape(alternative)}" loading="lazy" decoding="async">{caption}</figure>'
        )

    return write


def without_words(pictures: Iterable[Wanted]) -> list[tuple[Place, str]]:
    """Give the remarks on pictures that say nothing to who cannot see them."""
    return [
        (
            picture.place,
            (
                f"the picture {picture.source} says nothing to who cannot see it: write what it shows "
                "between the brackets"
            ),
        )
        for picture in pictures
        if not picture.alternative.strip()
    ]
