"""What each kind of chart looks like: plain data in, a Vega-Lite specification out.

All charts share one width and one manner: thin rules, ink outlines, two pigments, letters large enough for a
phone.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from journal.site.chart_bars import bars, in_and_out, stacked
from journal.site.chart_lines import cumulative, readings
from journal.site.chart_parts import Data

KINDS: dict[str, Callable[[Data], dict[str, Any]]] = {
    "cumulative": cumulative,
    "stacked": stacked,
    "bars": bars,
    "readings": readings,
    "in and out": in_and_out,
}


def specification(kind: str, data: Data) -> dict[str, Any]:
    """Give the Vega-Lite specification of a chart of this kind; ``KINDS`` names them all."""
    from altair.utils.schemapi import debug_mode

    with debug_mode(arg=False):  # a test holds it against Vega-Lite's schema, not every drawing
        return KINDS[kind](data)
