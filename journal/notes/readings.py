"""What a check found: temperature, moisture, pH, and what was seen and smelled.

Temperatures in °C, moisture in % of wet mass.  A reading is known to half of its last digit; "about"
widens that tenfold (common practice, no published source).
"""

from __future__ import annotations

import re
from collections.abc import Callable

from journal.measures.numbers import Number, NumberProblem, read_number
from journal.measures.units import celsius
from journal.notes.amounts import Unread
from journal.notes.endings import Ending, read_ending, read_on_date, read_parenthesis
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.lost import refuse_date, refuse_sentences
from journal.notes.records import Readings

_START = re.compile(r"\s*(?::|,|;|—|–|-\s)\s*")
_JOINT = re.compile(r"\s*(?:[,;.]|—|–)\s*(?:and\s+)?|\s+and\s+", re.IGNORECASE)
_ABOUT = re.compile(r"(?:about|around|roughly|approx\w*\.?|circa|ca\.?)\s+|[~≈]\s*", re.IGNORECASE)
_SAYS = r"\s*(?:is|was|at|of|:|=|says|reads)?\s*"
_LABEL = {
    "temperature": re.compile(r"(?:temp(?:erature)?\.?|thermometer)" + _SAYS, re.IGNORECASE),
    "moisture": re.compile(r"(?:moisture|humidity|damp(?:ness)?)" + _SAYS, re.IGNORECASE),
    "acidity": re.compile(r"ph" + _SAYS + r"(?=[\d.~≈a])", re.IGNORECASE),
}  # fmt: skip
_NUMERAL = r"[-−]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:\s*(?:-|–|to)\s*\d+(?:[.,]\d+)?)?"
_NUMBER = re.compile(_NUMERAL)
_DEGREES = re.compile(
    r"\s*(?:°|º|deg(?:rees?)?\.?)?\s*(F|C|℉|℃|fahrenheit|celsius|centigrade)(?!\w)|\s*(?:°|º|deg(?:rees?)?(?!\w))",
    re.IGNORECASE,
)
_PERCENT = re.compile(r"\s*(?:%|percent(?!\w)|per\s+cent(?!\w))", re.IGNORECASE)
_MOIST = re.compile(r"\s*(?:moisture|moist|humidity|water|wet)(?!\w)", re.IGNORECASE)
_PH = re.compile(r"\s*ph(?!\w)", re.IGNORECASE)
_END = re.compile(r"\s*(?:$|[,;.(!—–]|and(?!\w)|at\s|in\s)", re.IGNORECASE)
_NEXT = re.compile(
    r"\s+(?:ph|temp|moist)|\s+[-−]?\d+(?:[.,]\d+)?\s*(?:[%°º℉℃]|(?:[FC]|ph)(?!\w))", re.IGNORECASE
)
_WITHIN = re.compile(
    r"(?:in\s+)?(?:the\s+)?(?:bedding|inside|middle|cent(?:er|re)|core)(?!\w)" + _SAYS, re.IGNORECASE
)
_ELSEWHERE = re.compile(
    r"\s*(?:outside|outdoors?|out\s+of\s+doors|ambient|air|room|in\s+the\s+(?:air|room|shade|sun|yard))(?!\w)",
    re.IGNORECASE,
)
_LOST = {
    "temperature": re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)?\s*(?:[°º℉℃]|deg(?:rees?)?(?!\w)|[FC](?!\w))"),
    "moisture": re.compile(r"(?i:moisture|humidity)[^,;]{0,40}\d\s*%|\d\s*%\s*(?i:moist|humid)"),
    "acidity": re.compile(r"(?<!\w)(?i:ph)\s*\d|\d\s*(?i:ph)(?!\w)"),
}
_SIGHTING = re.compile(r"[^,;(]+")
_SIGHTING_COMMA = re.compile(r"(?:[^,;(]|(?<=\d),(?=\d))+")
_ITEM = re.compile(r"[^,;(]+(?=[;(]|\Z|,(?!\d))")
_COLDEST, _HOTTEST = -40.0, 90.0


def read_readings(known: Known, text: str, position: int, subject: str) -> tuple[Readings, Ending]:
    """Read everything behind the name of the bin or batch that is checked."""
    start = _START.match(text, position)
    found: dict[str, tuple[float, float]] = {}
    sightings: list[str] = []
    ending = Ending()
    at = start.end() if start is not None else position
    if start is None and text[position:].strip(" ."):
        ending = read_ending(known, text, position)
        at = len(text)
    while at < len(text):
        at = _read_item(known, text, at, found, sightings, ending)
    if not found and not sightings:
        raise Unread(Fault.NO_READING, text.find(subject), subject)
    _refuse_lost(text, position, found, sightings)
    (degrees, degrees_half), (percent, percent_half), (acidity, acidity_half) = (
        found.get(name, (None, 0.0)) for name in ("temperature", "moisture", "acidity")
    )
    readings = Readings(degrees, degrees_half, percent, percent_half, acidity, acidity_half, tuple(sightings))
    return readings, ending


def _refuse_lost(
    text: str, position: int, found: dict[str, tuple[float, float]], sightings: list[str]
) -> None:
    """Raise Unread where a sighting holds a reading of a kind that was not taken elsewhere."""
    for words in sightings:
        for name, pattern in _LOST.items():
            if name not in found and pattern.search(words) and not _ELSEWHERE.match(words):
                raise Unread(Fault.READING_NOT_TAKEN, text.find(words, position), words)


def _read_item(
    known: Known,
    text: str,
    at: int,
    found: dict[str, tuple[float, float]],
    sightings: list[str],
    ending: Ending,
) -> int:
    """Read one item of a check and the comma behind it: a date, a remark, a reading, or a sighting."""
    joint = _JOINT.match(text, at)
    dated = read_on_date(text, at)
    if dated is not None:
        end, ending.date = dated
    elif text[at] == "(":
        end, words = read_parenthesis(text, at)
        ending.add(words)
    elif text[at].isspace() or (joint is not None and joint.end() > at):
        return joint.end() if joint is not None and joint.end() > at else at + 1
    else:
        read = _reading(known, text, at)
        # "65 F on top, 70 F below": the first counts, the others are told
        if read is not None and read[0] not in found:
            name, value, half, length = read
            found[name] = value, half
            return at + length
        sighting = (_SIGHTING_COMMA if known.comma else _SIGHTING).match(text, at)
        end = sighting.end() if sighting is not None else at + 1
        words = text[at:end].strip(" .")
        if words:
            refuse_date(text, at)
            refuse_sentences(known, text, at, end)
            sightings.append(words)
    return end


def _reading(known: Known, text: str, at: int) -> tuple[str, float, float, int] | None:
    """Read a temperature, a moisture or a pH: which, its value and half-width, and how many signs it takes.

    What an item says is remembered by its words; a comma that may be a decimal one belongs to them.
    """
    item = _ITEM.match(text, at)
    if item is not None and item[0] in known.readings:
        return known.readings[item[0]]
    found: tuple[str, float, float, int] | None = None
    for name, reader in _READERS.items():
        read = reader(known, text, at)
        if read is not None:
            found = name, read[1], read[2], read[0] - at
            break
    if item is not None:
        known.readings[item[0]] = found
    return found


def _number(known: Known, text: str, at: int) -> tuple[int, Number] | None:
    """Read a number or a range of them with "about", which widens its last digit tenfold."""
    about = _ABOUT.match(text, at)
    digits = _NUMBER.match(text, about.end() if about else at)
    if digits is None:
        return None
    sign = -1.0 if digits[0][0] in "-−" else 1.0
    try:
        read = read_number(digits[0].lstrip("-−"), 0, comma=known.comma)
    except NumberProblem as problem:
        refuse_date(text, digits.start())
        fault = Fault.DECIMAL_COMMA if problem.comma and not known.comma else Fault.NUMBER
        raise Unread(fault, digits.start(), digits[0], reason=str(problem)) from None
    if read is None:
        return None
    number = read[1]
    half = number.half * 10 if about else number.half
    end = digits.start() + read[0] + (1 if sign < 0 else 0)
    return end, Number(sign * number.value, half, number.whole, about is not None or number.estimated)


def _ends(text: str, at: int) -> bool:
    """Whether a reading ends here: at a sign, at the end, or where the next one begins."""
    return _END.match(text, at) is not None or _NEXT.match(text, at) is not None


def _temperature(known: Known, text: str, at: int) -> tuple[int, float, float] | None:
    within = _WITHIN.match(text, at)
    start = within.end() if within else at
    label = _LABEL["temperature"].match(text, start)
    number = _number(known, text, label.end() if label else start)
    if number is None:
        return None
    degrees = _DEGREES.match(text, number[0])
    if degrees is None and (label is None or not _ends(text, number[0])):
        return None
    if degrees is not None and _ELSEWHERE.match(text, degrees.end()):
        return None
    scale = (degrees[1] or "").lower() if degrees is not None else ""
    us = known.household.units == "us"
    is_fahrenheit = scale.startswith(("f", "℉")) or (not scale and us)
    end = degrees.end() if degrees is not None else number[0]
    value = celsius(number[1].value, "F" if is_fahrenheit else "C")
    if not _COLDEST <= value <= _HOTTEST:
        raise Unread(
            Fault.ABSURD_READING,
            at,
            text[at:end],
            why="no bin is that cold" if value < 0 else "no bin is that hot",
        )
    return end, value, number[1].half / (1.8 if is_fahrenheit else 1.0)


def _moisture(known: Known, text: str, at: int) -> tuple[int, float, float] | None:
    label = _LABEL["moisture"].match(text, at)
    number = _number(known, text, label.end() if label else at)
    if number is None:
        return None
    percent = _PERCENT.match(text, number[0])
    end = percent.end() if percent is not None else number[0]
    behind = _MOIST.match(text, end)
    if label is None and (percent is None or (behind is None and not _ends(text, end))):
        return None
    if behind is not None and label is None:
        end = behind.end()
    if label is not None and percent is None and not _ends(text, end):
        return None
    if not 0 <= number[1].value <= 100:  # noqa: PLR2004 - per cent
        raise Unread(Fault.ABSURD_READING, at, text[at:end], why="moisture runs from 0% to 100%")
    return end, number[1].value, number[1].half


def _acidity(known: Known, text: str, at: int) -> tuple[int, float, float] | None:
    label = _LABEL["acidity"].match(text, at)
    number = _number(known, text, label.end() if label else at)
    if number is None:
        return None
    behind = _PH.match(text, number[0])
    if label is None and behind is None:
        return None
    end = behind.end() if behind is not None and label is None else number[0]
    if not 0 <= number[1].value <= 14:  # noqa: PLR2004 - the scale of pH
        raise Unread(Fault.ABSURD_READING, at, text[at:end], why="pH runs from 0 to 14")
    return end, number[1].value, number[1].half


_READERS: dict[str, Callable[[Known, str, int], tuple[int, float, float] | None]] = {
    "temperature": _temperature,
    "moisture": _moisture,
    "acidity": _acidity,
}
