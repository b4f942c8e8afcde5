"""The picture that stands for a year where the site is linked: 1200 × 630, with the year's bars."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from journal.reckoning.diversion import Figures
from journal.site.edition import Edition
from journal.site.memory import Memory, key_of, remembered
from journal.site.wording import MONTHS

if TYPE_CHECKING:
    from PIL import ImageDraw, ImageFont

    Letters = ImageFont.ImageFont | ImageFont.FreeTypeFont

WIDTH, HEIGHT = 1200, 630
PAPER, INK, FADED, RULE, SOIL = "#f9f4e7", "#2a2018", "#625341", "#cbbb9c", "#7c4119"
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
    from PIL import Image, ImageDraw, ImageFont

    image = Image.new("RGB", (WIDTH, HEIGHT), PAPER)
    draw = ImageDraw.Draw(image)
    base = ImageFont.load_default(20)

    def letters(size: int) -> Letters:
        return (
            base.font_variant(size=size, layout_engine=ImageFont.Layout.BASIC)
            if isinstance(base, ImageFont.FreeTypeFont)
            else base
        )

    for x in (MARGIN, MARGIN + 6):
        draw.line((x, 0, x, HEIGHT), fill=RULE, width=2)
    draw.text((LEFT, 56), told["name"], font=letters(50), fill=INK)
    draw.line((LEFT, 132, RIGHT, 132), fill=INK, width=3)
    draw.line((LEFT, 138, RIGHT, 138), fill=INK, width=1)
    draw.text((MARGIN - 22, 168), told["year"], font=letters(46), fill=SOIL, anchor="ra")
    draw.text((LEFT, 158), told["value"], font=letters(112), fill=INK)
    width = draw.textlength(told["value"], font=letters(112))
    draw.text((LEFT + width + 24, 226), told["doubt"], font=letters(40), fill=FADED)
    draw.text((LEFT, 292), "kept out of landfill, by worms", font=letters(34), fill=FADED)
    _bars(draw, told["bars"], letters(24))
    out = io.BytesIO()
    image.quantize(64, method=Image.Quantize.FASTOCTREE).save(out, "PNG", optimize=False, compress_level=6)
    return out.getvalue()


def _bars(draw: ImageDraw.ImageDraw, bars: list[float], letters: Letters) -> None:
    step = (RIGHT - LEFT) / len(bars)
    for at, height in enumerate(bars):
        left, right = LEFT + at * step + step * 0.16, LEFT + (at + 1) * step - step * 0.16
        top = CHART_BOTTOM - height * (CHART_BOTTOM - CHART_TOP)
        if height > 0:
            draw.rectangle((left, top, right, CHART_BOTTOM), fill="#dcb98f", outline=INK, width=2)
        draw.text(
            ((left + right) / 2, CHART_BOTTOM + 12), MONTHS[at][0], font=letters, fill=FADED, anchor="ma"
        )
    draw.line((LEFT, CHART_BOTTOM, RIGHT, CHART_BOTTOM), fill=INK, width=2)
