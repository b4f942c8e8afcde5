"""What each kind of chart looks like: plain data in, a Vega-Lite specification out.

All charts share one width and one manner: thin rules, ink outlines, two pigments, letters large enough for a
phone.  Nothing is measured by the letters of the machine that draws, so every machine draws the same bytes:
places for labels are kept free here, not found by the renderer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from journal.site.drawing import WIDTH

if TYPE_CHECKING:
    import altair as alt

Data = Mapping[str, Any]
INK = "var(--ink)"
FADED = "var(--faded)"
RULE = "var(--rule)"
PAPER = "var(--paper)"
SOIL = "var(--soil)"
LETTERS = 17
LINE = 19.0
"""The least distance of two labels, in chart units."""

LEFT, RIGHT, TOP, BOTTOM = 46, 12, 14, 30
MONTHS = "JFMAMJJASOND"
MONTH_STARTS = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335)


def specification(kind: str, data: Data) -> dict[str, Any]:
    """Give the Vega-Lite specification of a chart of this kind; ``KINDS`` names them all."""
    drawn = KINDS[kind](data)
    spec: dict[str, Any] = drawn.configure(
        aria=False,
        font="inherit",
        background="transparent",
        autosize={"type": "none"},
        padding={"left": data.get("left", LEFT), "right": data.get("right", RIGHT), "top": TOP, "bottom": data.get("bottom", BOTTOM)},
        view={"stroke": None},
        axis={
            "grid": False, "domain": False, "ticks": False, "title": None, "labelColor": INK, "labelFontSize": LETTERS,
            "labelLimit": 0, "labelOverlap": False, "labelBound": False, "labelFlush": False, "labelPadding": 6,
        },
        axisY={"grid": True, "gridColor": RULE, "gridWidth": 1},
        axisX={"domain": True, "domainColor": INK, "domainWidth": 1.2},
    ).to_dict(validate=False)  # fmt: skip
    return spec


def _layers(data: Data, height: float, layers: Sequence[alt.Chart]) -> Any:
    import altair as alt

    width = WIDTH - data.get("left", LEFT) - data.get("right", RIGHT)
    return alt.layer(*layers).properties(width=width, height=height)


def _values(rows: Sequence[Mapping[str, Any]]) -> Any:
    import altair as alt

    return alt.Chart(alt.InlineData(values=list(rows)))


def nudged(wanted: Sequence[float], low: float, high: float, apart: float = LINE) -> list[float]:
    """Move label positions (top to bottom, ascending) as little as needed to stand ``apart`` within low to high."""
    placed: list[float] = []
    for position in wanted:
        placed.append(max(position, placed[-1] + apart if placed else low))
    for index in range(len(placed) - 1, -1, -1):
        limit = high if index == len(placed) - 1 else placed[index + 1] - apart
        placed[index] = min(placed[index], limit)
    return placed


def ticks(highest: float) -> list[float]:
    """Give three to five round steps from 0 to at least the highest value."""
    if highest <= 0:
        return [0.0, 1.0]
    power = 10.0 ** (len(str(int(highest))) - 1) if highest >= 1 else 10.0 ** -_leading_zeros(highest)
    step = next(
        (power * part for part in (0.1, 0.2, 0.25, 0.5, 1, 2, 2.5, 5) if power * part * 4 >= highest),
        power * 10,
    )
    count = 1
    while step * count < highest:
        count += 1
    return [round(step * index, 6) for index in range(count + 1)]


def scale_of(highest: float) -> tuple[list[float], float]:
    """Give the steps of a scale and its end: the last step, or a little above the highest value where that is nearer."""
    steps = ticks(highest)
    if len(steps) > 2 and steps[-1] - highest > 0.3 * steps[1]:  # noqa: PLR2004 - a scale keeps one step above nought
        return steps[:-1], highest * 1.03
    return steps, steps[-1]


def _leading_zeros(value: float) -> int:
    zeros = 0
    while value < 1:
        value *= 10
        zeros += 1
    return zeros


def _y(field: str, domain: Sequence[float], steps: Sequence[float], *, reverse: bool = False) -> Any:
    import altair as alt

    return alt.Y(
        f"{field}:Q",
        scale=alt.Scale(domain=list(domain), nice=False, zero=False, reverse=reverse),
        axis=alt.Axis(
            labelOverlap=False, values=list(steps), format=",~r" if max(map(abs, steps)) >= 1 else "~r"
        ),
    )


def _days(field: str = "day") -> Any:
    """A year's days from 1 to 366, marked at the middle of each month by its first letter."""
    import altair as alt

    return alt.X(
        f"{field}:Q",
        scale=alt.Scale(domain=[1, 366], nice=False),
        axis=alt.Axis(
            labelOverlap=False,
            values=[start + 15 for start in MONTH_STARTS],
            labelExpr=f"'{MONTHS}'[floor(datum.value / 30.6)]",
        ),
    )


def cumulative(data: Data) -> Any:
    """This year's running total over earlier years'.

    ``this``: {"label", "rows": [{"day", "value", "low", "high"}]}; ``earlier``: [{"label", "rows"}], newest first;
    ``range``: {"label", "rows": [{"day", "low", "high"}]} or None for the years before those; ``goal``: a value or None.
    """
    import altair as alt

    height = 270
    tops = [row["value"] for line in (data["this"], *data["earlier"]) for row in line["rows"]]
    tops += [row["high"] for row in data["range"]["rows"]] if data.get("range") else []
    steps, top = scale_of(max([*tops, data.get("goal") or 0.0], default=0.0))
    y = _y("value", (0, top), steps)
    layers: list[Any] = []
    if data.get("range"):
        layers.append(
            _values(data["range"]["rows"])
            .mark_area(fill=RULE, fillOpacity=0.45)
            .encode(x=_days(), y=_y("low", (0, top), steps), y2="high")
        )
    if data.get("goal"):
        layers.append(
            _values([{"value": data["goal"]}])
            .mark_rule(stroke=INK, strokeDash=[2, 4], strokeWidth=1.4)
            .encode(y=y)
        )
    for index, line in enumerate(data["earlier"]):
        dash = [[1, 0], [7, 3], [2, 3]][min(index, 2)]
        layers.append(
            _values(line["rows"])
            .mark_line(stroke=FADED, strokeWidth=1.5, strokeDash=dash)
            .encode(x=_days(), y=y)
        )
    this = data["this"]["rows"]
    if this:
        layers.append(
            _values(this)
            .mark_area(fill=SOIL, fillOpacity=0.3)
            .encode(x=_days(), y=_y("low", (0, top), steps), y2="high")
        )
        layers.append(_values(this).mark_line(stroke=SOIL, strokeWidth=3.2).encode(x=_days(), y=y))
        layers.append(
            _values(this[-1:])
            .mark_point(shape="circle", filled=True, opacity=1, fill=SOIL, size=70)
            .encode(x=_days(), y=y)
        )
    layers.extend(_line_labels(data, height, top, y))
    layers.append(alt.Chart(alt.InlineData(values=[{}])).mark_point(opacity=0))
    return _layers(data, height, layers[:-1])


def _line_labels(data: Data, height: float, top: float, y: Any) -> list[Any]:
    """The year at the end of each line: earlier years at the right edge, this year beside its last point."""
    import altair as alt

    ends = sorted(
        (
            (height * (1 - line["rows"][-1]["value"] / top), line["label"])
            for line in data["earlier"]
            if line["rows"]
        ),
        key=lambda end: end[0],
    )
    places = nudged([place for place, _ in ends], 6, height - 6)
    rows = [
        {"day": 366, "place": place, "words": words} for place, (_, words) in zip(places, ends, strict=True)
    ]
    layers = [
        _values(rows).mark_text(align="left", baseline="middle", dx=6, fontSize=LETTERS, fill=FADED).encode(x=_days(), y=alt.Y("place:Q", scale=None), text="words:N")
    ] if rows else []  # fmt: skip
    this = data["this"]["rows"]
    if this:
        last = this[-1]
        near_edge = last["day"] > 290  # noqa: PLR2004 - from here on its label would run out of the chart
        label = {**last, "words": data["this"]["label"]}
        layers.append(
            _values([label]).mark_text(align="right" if near_edge else "left", baseline="bottom", dx=-6 if near_edge else 8, dy=-6, fontSize=LETTERS, fontWeight="bold", fill=SOIL).encode(x=_days(), y=y, text="words:N")
        )  # fmt: skip
    if data.get("goal"):
        goal = {"day": 4, "value": data["goal"], "words": data["goal_label"]}
        layers.append(
            _values([goal])
            .mark_text(align="left", baseline="bottom", dy=-4, fontSize=LETTERS, fontStyle="italic", fill=INK)
            .encode(x=_days(), y=y, text="words:N")
        )
    return layers


def stacked(data: Data) -> Any:
    """Bars by period, a segment a stream: what was measured in full colour, what was estimated hatched.

    ``periods``: labels in order; ``streams``: names, bottom first; ``rows``: [{"at", "stream", "low", "high", "guess"}]
    with low and high the segment's ends; ``whiskers``: [{"at", "low", "high"}]; ``labels``: [{"stream", "value"}].
    """
    import altair as alt

    height = 250
    steps, top = scale_of(max([row["high"] for row in (*data["rows"], *data["whiskers"])], default=0.0))
    width = WIDTH - data.get("left", LEFT) - data["right"]
    step = width / max(1, len(data["periods"]))
    fills = {stream: f"stream-{index + 1}" for index, stream in enumerate(data["streams"])}

    def bar(row: Mapping[str, Any]) -> dict[str, Any]:
        colour = fills[row["stream"]]
        fill = f"url(#hatch-{colour})" if row["guess"] else f"var(--{colour})"
        middle = (row["at"] + 0.5) * step
        return {
            "left": middle - step * 0.36,
            "right": middle + step * 0.36,
            "low": row["low"],
            "high": row["high"],
            "fill": fill,
        }

    x = alt.X("left:Q", scale=alt.Scale(domain=[0, width], nice=False), axis=alt.Axis(labelOverlap=False, values=[(at + 0.5) * step for at in range(len(data["periods"]))], labelExpr=_label_expression(data["periods"], step)))  # fmt: skip
    y = _y("low", (0, top), steps)
    layers = [
        _values([bar(row) for row in data["rows"]])
        .mark_rect(stroke=INK, strokeWidth=0.9)
        .encode(x=x, x2="right", y=y, y2="high", fill=alt.Fill("fill:N", scale=None, legend=None))
    ]
    marks = [
        {"left": (row["at"] + 0.5) * step, **row}
        for row in data["whiskers"]
        if (row["high"] - row["low"]) / top * height >= 3
    ]  # noqa: PLR2004 - less is not seen
    if marks:
        layers.append(_values(marks).mark_rule(stroke=PAPER, strokeWidth=4).encode(x=x, y=y, y2="high"))
        layers.append(_values(marks).mark_rule(stroke=INK, strokeWidth=1.6).encode(x=x, y=y, y2="high"))
        for end in ("low", "high"):
            layers.append(
                _values(marks)
                .mark_tick(opacity=1, stroke=INK, thickness=1.6, size=step * 0.3, orient="horizontal")
                .encode(x=x, y=_y(end, (0, top), steps))
            )
    layers.extend(_stream_labels(data, height, top, width))
    return _layers(data, height, layers)


def _label_expression(labels: Sequence[str], step: float) -> str:
    listed = ",".join(f"'{label}'" for label in labels)
    return f"[{listed}][floor(datum.value / {step})]"


def _stream_labels(data: Data, height: float, top: float, width: float) -> list[Any]:
    """Each stream's name at the right edge, led to its segment in the last bar by a thin rule."""
    import altair as alt

    labels = sorted(data["labels"], key=lambda label: -label["value"])
    wanted = [height * (1 - label["value"] / top) for label in labels]
    rows = [
        {"left": label["edge"] * width, "y": at, "right": width + 8, "place": place, "words": label["stream"]}
        for label, at, place in zip(labels, wanted, nudged(wanted, 6, height - 6), strict=True)
    ]
    if not rows:
        return []
    x = alt.X("left:Q", scale=alt.Scale(domain=[0, width], nice=False))
    return [
        _values(rows)
        .mark_rule(stroke=FADED, strokeWidth=0.9)
        .encode(x=x, x2="right", y=alt.Y("y:Q", scale=None), y2="place"),
        _values(rows)
        .mark_text(align="left", baseline="middle", dx=4, fontSize=LETTERS, fill=INK)
        .encode(x=alt.X("right:Q"), y=alt.Y("place:Q", scale=None), text="words:N"),
    ]


def bars(data: Data) -> Any:
    """Lying bars with their names above: ``rows``: [{"words", "value", "low", "high", "text", "guess"}], largest first."""
    import altair as alt

    row_height = 52.0
    height = row_height * max(1, len(data["rows"]))
    highest = max([row["high"] for row in data["rows"]], default=1.0) or 1.0
    width = WIDTH - data["left"] - data["right"]
    rows = [
        {**row, "top": index * row_height + 24, "bottom": index * row_height + 40, "middle": index * row_height + 32, "name": index * row_height + 12, "zero": 0,
         "fill": "url(#hatch-stream-1)" if row.get("guess") else "var(--stream-1)"}
        for index, row in enumerate(data["rows"])
    ]  # fmt: skip
    x = alt.X("zero:Q", scale=alt.Scale(domain=[0, highest], nice=False), axis=None)

    def y(field: str) -> Any:
        return alt.Y(f"{field}:Q", scale=None, axis=None)

    layers = [
        _values(rows)
        .mark_rect(stroke=INK, strokeWidth=0.9)
        .encode(x=x, x2="value", y=y("top"), y2="bottom", fill=alt.Fill("fill:N", scale=None, legend=None)),
        _values(rows)
        .mark_text(align="left", baseline="middle", fontSize=LETTERS, fill=INK)
        .encode(x=x, y=y("name"), text="words:N"),
        _values([{**row, "zero": highest} for row in rows])
        .mark_text(align="right", baseline="middle", fontSize=LETTERS, fill=INK)
        .encode(x=x, y=y("name"), text="text:N"),
    ]
    marks = [{**row, "zero": row["low"]} for row in rows if (row["high"] - row["low"]) / highest * width >= 3]  # noqa: PLR2004
    if marks:
        layers.append(
            _values(marks).mark_rule(stroke=INK, strokeWidth=1.6).encode(x=x, x2="high", y=y("middle"))
        )
    return _layers(data, height, layers)


def readings(data: Data) -> Any:
    """Readings over the band in which the worms do well.

    ``rows``: [{"day", "value", "low", "high"}] with day counted from the first shown; ``days``: the last day;
    ``marks``: [{"day", "words"}] on the time axis; ``bands``: [{"low", "high", "words"}]; ``low``, ``high``: ends of the scale.
    """
    import altair as alt

    height = 210
    domain = (data["low"], data["high"])
    span = data["high"] - data["low"]
    step = next(size for size in (0.5, 1, 2, 5, 10, 20, 25, 50) if span / size <= 6)  # noqa: PLR2004 - at most six grid lines
    first = -(-data["low"] // step) * step
    steps = [round(first + step * index, 3) for index in range(8) if first + step * index <= data["high"]]
    labels = {mark["day"]: mark["words"] for mark in data["marks"]}
    expression = "{" + ",".join(f"'{day}':'{words}'" for day, words in labels.items()) + "}[datum.value]"

    def x(field: str = "day") -> Any:
        return alt.X(
            f"{field}:Q",
            scale=alt.Scale(domain=[0, max(1, data["days"])], nice=False),
            axis=alt.Axis(
                labelOverlap=False,
                values=list(labels),
                labelExpr=expression,
                ticks=True,
                tickColor=INK,
                labelAlign="left",
                labelPadding=4,
            ),
        )

    bands = [
        {"day": 0, "end": data["days"], "value": band["low"], "high": band["high"]} for band in data["bands"]
    ]
    layers = [
        _values(bands)
        .mark_rect(fill="var(--pale-leaf)", fillOpacity=0.75)
        .encode(x=x(), x2="end", y=_y("value", domain, steps), y2="high"),
    ]
    for band in data["bands"]:
        below = band["below"]
        label = {"day": data["days"], "value": band["low" if below else "high"], "words": band["words"]}
        layers.append(
            _values([label])
            .mark_text(
                align="right", baseline="bottom" if below else "top", dx=-6, dy=-5 if below else 5,
                fontSize=LETTERS, fontStyle="italic", fill=INK,
            )
            .encode(x=x(), y=_y("value", domain, steps), text="words:N")
        )  # fmt: skip
    spread = [row for row in data["rows"] if row["high"] - row["low"] > 0]
    if spread:
        layers.append(
            _values(spread)
            .mark_rule(stroke=INK, strokeWidth=1.3)
            .encode(x=x(), y=_y("low", domain, steps), y2="high")
        )
    layers.append(
        _values(data["rows"])
        .mark_line(stroke=FADED, strokeWidth=1)
        .encode(x=x(), y=_y("value", domain, steps))
    )
    layers.append(
        _values(data["rows"])
        .mark_point(shape="circle", filled=True, opacity=1, fill=SOIL, stroke=PAPER, strokeWidth=1, size=62)
        .encode(x=x(), y=_y("value", domain, steps))
    )
    return _layers(data, height, layers)


def in_and_out(data: Data) -> Any:
    """Castings harvested above the line, spread and given away below it.

    ``periods``: labels; ``rows``: [{"at", "in", "out"}]; ``in_label`` and ``out_label`` name the two sides.
    """
    import altair as alt

    height = 230
    width = WIDTH - data.get("left", LEFT) - data.get("right", RIGHT)
    step = width / max(1, len(data["periods"]))
    up = ticks(max([row["in"] for row in data["rows"]], default=0.0))
    down = ticks(max([row["out"] for row in data["rows"]], default=0.0))
    size = max(up[1], down[1])
    steps = [size * index for index in range(-int(-(-down[-1] // size)), int(-(-up[-1] // size)) + 1)]
    domain = (steps[0], steps[-1])

    def side(name: str, sign: int, fill: str) -> list[dict[str, Any]]:
        return [
            {
                "left": (row["at"] + 0.14) * step,
                "right": (row["at"] + 0.86) * step,
                "low": 0,
                "high": sign * row[name],
                "fill": fill,
            }
            for row in data["rows"]
            if row[name] > 0
        ]

    x = alt.X("left:Q", scale=alt.Scale(domain=[0, width], nice=False), axis=alt.Axis(labelOverlap=False, domain=False, values=[(at + 0.5) * step for at in range(len(data["periods"]))], labelExpr=_label_expression(data["periods"], step)))  # fmt: skip
    y = alt.Y(
        "low:Q",
        scale=alt.Scale(domain=list(domain), nice=False),
        axis=alt.Axis(labelOverlap=False, values=steps, labelExpr="format(abs(datum.value), ',~r')"),
    )
    rows = side("in", 1, "var(--stream-2)") + side("out", -1, "var(--stream-1)")
    words = [
        {"left": 2, "low": domain[1], "words": data["in_label"]},
        {"left": 2, "low": domain[0], "words": data["out_label"]},
    ]
    layers = [
        _values(rows)
        .mark_rect(stroke=INK, strokeWidth=0.9)
        .encode(x=x, x2="right", y=y, y2="high", fill=alt.Fill("fill:N", scale=None, legend=None)),
        _values([{"low": 0}]).mark_rule(stroke=INK, strokeWidth=1.4).encode(y=y),
        _values(words[:1])
        .mark_text(align="left", baseline="top", dy=4, fontSize=LETTERS, fontStyle="italic", fill=INK)
        .encode(x=x, y=y, text="words:N"),
        _values(words[1:])
        .mark_text(align="left", baseline="bottom", dy=-4, fontSize=LETTERS, fontStyle="italic", fill=INK)
        .encode(x=x, y=y, text="words:N"),
    ]
    return _layers(data, height, layers)


KINDS: dict[str, Callable[[Data], Any]] = {
    "cumulative": cumulative,
    "stacked": stacked,
    "bars": bars,
    "readings": readings,
    "in and out": in_and_out,
}
