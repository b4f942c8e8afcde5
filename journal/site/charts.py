"""What each kind of chart looks like: plain data in, a Vega-Lite specification out.

All charts share one width and one manner: thin rules, ink outlines, two pigments, letters large enough for a
phone.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from journal.site.chart_bars import bars, in_and_out, stacked
from journal.site.chart_lines import cumulative, readings
from journal.site.chart_parts import BOTTOM, INK, LEFT, LETTERS, RIGHT, RULE, TOP, Data, Marks

KINDS: dict[str, Callable[[Data], Marks]] = {
    "cumulative": cumulative,
    "stacked": stacked,
    "bars": bars,
    "readings": readings,
    "in and out": in_and_out,
}


def specification(kind: str, data: Data) -> dict[str, Any]:
    """Give the Vega-Lite specification of a chart of this kind; ``KINDS`` names them all."""
    drawn = KINDS[kind](data)
    spec: dict[str, Any] = drawn.configure(
        aria=False,
        font="inherit",
        background="transparent",
        autosize={"type": "none"},
        padding={
            "left": data.get("left", LEFT),
            "right": data.get("right", RIGHT),
            "top": TOP,
            "bottom": data.get("bottom", BOTTOM),
        },
        view={"stroke": None},
        axis={
            "grid": False,
            "domain": False,
            "ticks": False,
            "title": None,
            "labelColor": INK,
            "labelFontSize": LETTERS,
            "labelLimit": 0,
            "labelOverlap": False,
            "labelBound": False,
            "labelFlush": False,
            "labelPadding": 6,
        },
        axisY={"grid": True, "gridColor": RULE, "gridWidth": 1},
        axisX={"domain": True, "domainColor": INK, "domainWidth": 1.2},
    ).to_dict(validate=False)
    return spec
