"""The picture that stands for a year where the site is linked: 1200 × 630, with the year's bars."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from journal.reckoning.diversion import Figures
from journal.site.edition import Edition
from journal.site.memory import Memory, key_of, remembered
from journal.site.wording import MONTHS

if TYPE_CHECKING:
    from PIL import ImageFont

    Letters = ImageFont.ImageFont | ImageFont.FreeTypeFont

WIDTH, HEIGHT = 1200, 630
PAPER, INK, FADED, RULE, SOIL, STRAW = "#f9f4e7", "#2a2018", "#625341", "#cbbb9c", "#7c4119", "#dcb98f"
INKS = (RULE, STRAW, FADED, SOIL, INK)
SHADES = 15
"""Steps from bare paper to an ink, for the edges of letters."""
MARGIN, LEFT, RIGHT = 176, 214, 1140
CHART_TOP, CHART_BOTTOM = 352, 540
LONGEST = 44


def card(edition: Edition, year: str, memory: Memory) -> bytes:
    """Give the card of one year as a PNG."""
    told = words_of(edition, year)
    return remembered(memory, key_of("card", told), lambda: painted(told))


def words_of(edition: Edition, year: str) -> dict[str, Any]:
    """Give what stands on the card, as plain values."""
    figure = edition.writer.weight(edition.tally.years.get(year, Figures()).kept_out_of_landfill)
    months = [
        edition.tally.months.get(f"{year}-{number:02d}", Figures()).kept_out_of_landfill.value
        for number in range(1, 13)
    ]
    highest = max(months, default=0.0)
    name = str(edition.site["name"])
    return {
        "name": name if len(name) <= LONGEST else f"{name[: LONGEST - 2]} …",
        "year": str(int(year)),
        "value": f"{figure['value']} {figure['unit']}",
        "doubt": f"± {figure['doubt']}" if figure["doubt"] else "",
        "bars": [round(max(0.0, kg) / highest, 3) if highest > 0 else 0.0 for kg in months],
    }


def painted(told: dict[str, Any]) -> bytes:
    """Paint a card with the letters that the picture library itself carries, so that no machine differs."""
    sheet = Sheet()
    for x in (MARGIN, MARGIN + 6):
        sheet.line((x, 0, x, HEIGHT), RULE, 2)
    sheet.text((LEFT, 56), told["name"], 50, INK)
    sheet.line((LEFT, 132, RIGHT, 132), INK, 3)
    sheet.line((LEFT, 138, RIGHT, 138), INK, 1)
    sheet.text((MARGIN - 22, 168), told["year"], 46, SOIL, "ra")
    width = sheet.text((LEFT, 158), told["value"], 112, INK)
    sheet.text((LEFT + width + 24, 226), told["doubt"], 40, FADED)
    sheet.text((LEFT, 292), "kept out of landfill, by worms", 34, FADED)
    _bars(sheet, told["bars"])
    return sheet.printed()


def _bars(sheet: Sheet, bars: list[float]) -> None:
    step = (RIGHT - LEFT) / len(bars)
    for at, height in enumerate(bars):
        left, right = LEFT + at * step + step * 0.16, LEFT + (at + 1) * step - step * 0.16
        top = CHART_BOTTOM - height * (CHART_BOTTOM - CHART_TOP)
        if height > 0:
            sheet.box((left, top, right, CHART_BOTTOM), STRAW, INK)
        sheet.text(((left + right) / 2, CHART_BOTTOM + 12), MONTHS[at][0], 24, FADED, "ma")
    sheet.line((LEFT, CHART_BOTTOM, RIGHT, CHART_BOTTOM), INK, 2)


class Sheet:
    """A sheet in few colours: bare paper, and of each ink so many shades, for the soft edges of letters.

    Every place holds the number of its colour, so no colours need be looked for when it is printed.
    """

    def __init__(self) -> None:
        from PIL import Image, ImageDraw

        self._laid = Image.new("L", (WIDTH, HEIGHT))
        self._pen = ImageDraw.Draw(self._laid)

    def line(self, places: Sequence[float], ink: str, width: int) -> None:
        """Draw a line."""
        self._pen.line(places, fill=_numbers(ink)[-1], width=width)

    def box(self, places: Sequence[float], ink: str, rim: str) -> None:
        """Draw a filled box with a rim."""
        self._pen.rectangle(places, fill=_numbers(ink)[-1], outline=_numbers(rim)[-1], width=2)

    def text(self, place: tuple[float, float], words: str, size: int, ink: str, anchor: str = "la") -> float:
        """Write words in letters of a size on bare paper; returns how wide they are."""
        from PIL import Image, ImageDraw

        letters = _letters(size)
        left, top, right, bottom = self._pen.textbbox(place, words, letters, anchor)
        left, top, right, bottom = int(left) - 1, int(top) - 1, int(right) + 2, int(bottom) + 2
        written = Image.new("L", (right - left, bottom - top))
        at = place[0] - left, place[1] - top
        ImageDraw.Draw(written).text(at, words, 255, letters, anchor)
        self._laid.paste(written.point(_numbers(ink)), (left, top))
        return self._pen.textlength(words, letters)

    def printed(self) -> bytes:
        """Give the sheet as a PNG."""
        colours = list(_mixed(PAPER, 0))
        for ink in INKS:
            for shade in range(1, SHADES + 1):
                colours += _mixed(ink, shade / SHADES)
        self._laid.putpalette(colours)
        out = io.BytesIO()
        self._laid.save(out, "PNG", compress_level=3)
        return out.getvalue()


@cache
def _numbers(ink: str) -> list[int]:
    """Give the number of an ink's colour for each part of a place that it covers, 0 to 255 parts."""
    shades = [round(cover / 255 * SHADES) for cover in range(256)]
    return [shade and INKS.index(ink) * SHADES + shade for shade in shades]


def _mixed(ink: str, part: float) -> list[int]:
    """Give the colour (red, green, blue) of paper that an ink covers in part."""
    return [
        round(int(PAPER[at : at + 2], 16) * (1 - part) + int(ink[at : at + 2], 16) * part) for at in (1, 3, 5)
    ]


@cache
def _letters(size: int) -> Letters:
    from PIL import ImageFont

    base = ImageFont.load_default(size)
    if isinstance(base, ImageFont.FreeTypeFont):
        return base.font_variant(layout_engine=ImageFont.Layout.BASIC)
    return base
