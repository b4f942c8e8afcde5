"""Secrets are planted at random places of random journals: no file of the site holds one, packed or not."""

from __future__ import annotations

import io
import random
import tempfile
import zlib
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from tests.sites import published_from
from tests.text_journals import HOUSEHOLD, Day, days, lay_out

COUNTS = settings() if settings.get_current_profile_name() == "long" else settings(max_examples=6)
PLACES = (
    "{}",
    "**{}**",
    "x {} y",
    "[{}](https://example.org/{})",
    "> {}",
    "1. {}",
    "| {} |\n|---|",
    "\\{}",
    "&lt;{}",
)
HIDDEN = (
    "<!-- {} -->",
    "<!--\n- fed 1 lb bread to {}\n-->",
    "```\n{}\n```",
    "~~~ {}\nx\n~~~",
    "words <!--{}--> words",
)


class Secrets:
    """Words that stand nowhere else."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.told: list[str] = []

    def one(self) -> str:
        """Make up a new secret."""
        self.told.append("Zq" + "".join(self.chance.choices("bcdfghjkmnpqrstvwxz", k=9)))
        return self.told[-1]


def picture(secrets: Secrets) -> tuple[str, bytes]:
    """Take a picture that says a secret in everything but its pixels: its ending and its bytes."""
    image = Image.new("RGB", (40, 30), tuple(secrets.chance.choices(range(256), k=3)))
    out, kind = io.BytesIO(), secrets.chance.choice(["JPEG", "PNG", "WEBP"])
    exif = image.getexif()
    exif[270], exif[315], exif[33432] = secrets.one(), secrets.one(), secrets.one()
    if kind == "JPEG":
        image.save(out, kind, exif=exif, comment=secrets.one().encode())
    elif kind == "PNG":
        words = PngImagePlugin.PngInfo()
        words.add_text("Comment", secrets.one())
        words.add_itxt(secrets.one(), secrets.one(), zip=True)
        image.save(out, kind, pnginfo=words, exif=exif)
    else:
        image.save(out, kind, exif=exif, xmp=secrets.one().encode())
    return kind.lower(), out.getvalue()


def private_words(secrets: Secrets) -> str:
    """Write what a private entry may hold: words of every kind, a picture, remarks of lines."""
    place = secrets.chance.choice(PLACES)
    return f"{place.replace('{}', secrets.one())}\n\n![{secrets.one()}](photos/{secrets.one()}.jpg)\n\n"


def planted(written: list[Day], secrets: Secrets) -> tuple[dict[str, str], dict[str, bytes]]:
    """Plant secrets all over a journal: its texts and its pictures."""
    texts, pictures = "", {}
    for day in written:
        hidden = secrets.chance.choice(HIDDEN).replace("{}", secrets.one())
        if day.private:
            lines = tuple(f"{line} ({secrets.one()})" if "spent" not in line else line for line in day.lines)
            prose = f"{private_words(secrets)}{day.prose}\n\n{hidden}"
            text = replace(day, prose=prose, lines=lines).text()
            texts += text.replace(" (private)", f" {secrets.one()} (private)", 1)
            continue
        ending, data = picture(secrets)
        name = f"photos/{secrets.one()}.{ending}"
        pictures[name] = data
        texts += replace(day, prose=f"{day.prose}\n\n![shown]({name})\n\n{hidden}\n").text()
    return {"all.md": texts, "household.yaml": HOUSEHOLD}, pictures


def everything_in(name: str, data: bytes) -> bytes:
    """Give a file's name and bytes, and what is packed in the bytes."""
    found = [name.encode(), data]
    if data.startswith(b"\x89PNG"):
        at = 8
        while at < len(data):
            length = int.from_bytes(data[at : at + 4], "big")
            body = data[at + 8 : at + 8 + length]
            found.append(body)
            for start in range(min(len(body), 200)):
                if body[start : start + 1] == b"\x78":
                    try:
                        found.append(zlib.decompress(body[start:]))
                    except zlib.error:
                        continue
            at += length + 12
    return b"\0".join(found).lower()


@given(days(6), st.integers(0, 2**32))
@COUNTS
def test_no_planted_secret_is_in_any_file(written: list[Day], seed: int) -> None:
    """Private words, comments, remarks, titles, files' names and what pictures say reach no file."""
    secrets = Secrets(seed)
    texts, pictures = planted(written, secrets)
    names = {name: secrets.one() for name in ("Nora Quist", "Elm House", "Ivo")}
    for name, secret in names.items():
        texts = {file: text.replace(name, f"{name.split(' ')[0]} {secret}") for file, text in texts.items()}
    with tempfile.TemporaryDirectory() as folder:
        lay_out(Path(folder), texts, texts["household.yaml"])
        for name, data in pictures.items():
            path = Path(folder) / "entries" / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)
        site = published_from(Path(folder))
    whole = b"\0".join(everything_in(name, data) for name, data in site.items())
    assert sum(name.startswith("pictures/") for name in site) == len(set(pictures.values()))
    assert not [secret for secret in secrets.told if secret.lower().encode() in whole]


def test_a_secret_would_be_found() -> None:
    """The search finds a secret in a name, in words of any case, and packed in a picture."""
    secrets = Secrets(1)
    secret = secrets.one()
    words = PngImagePlugin.PngInfo()
    words.add_itxt("Comment", secret, zip=True)
    out = io.BytesIO()
    Image.new("RGB", (2, 2)).save(out, "PNG", pnginfo=words)
    for name, data in ((f"{secret}.html", b""), ("a", secret.upper().encode()), ("a.png", out.getvalue())):
        assert secret.lower().encode() in everything_in(name, data), name
