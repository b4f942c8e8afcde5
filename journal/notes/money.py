"""Sums of money in their usual forms, and the words that go with them: the shop, and what it was for."""

from __future__ import annotations

import re

from journal.measures.numbers import NumberProblem, read_number
from journal.notes.amounts import Unread
from journal.notes.endings import ON_DATE, read_on_date
from journal.notes.faults import Fault
from journal.notes.known import Known
from journal.notes.lost import refuse_date, refuse_sentences
from journal.notes.records import Money

# Signs and words of ISO 4217 currencies; None is whatever the journal's own currency of that name is.
_SIGNS = {
    "€": "EUR",
    "£": "GBP",
    "¥": "JPY",
    "₹": "INR",
    "₽": "RUB",
    "₩": "KRW",
    "₺": "TRY",
    "₴": "UAH",
    "zł": "PLN",
    "kč": "CZK",
}
_SHARED = {
    "$": ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "fr": ("CHF",),
}
_WORDS = {
    "dollar": "$",
    "dollars": "$",
    "buck": "$",
    "bucks": "$",
    "euro": "€",
    "euros": "€",
    "quid": "£",
    "kronor": "kr",
    "kroner": "kr",
    "kr": "kr",
    "francs": "fr",
    "fr": "fr",
    "yen": "¥",
    "rupees": "₹",
    "zł": "zł",
    "kč": "kč",
}
_CENTS = {"cent", "cents", "c", "¢", "p", "pence", "ct"}
_SIGN = r"(?:US\$|[$€£¥₹₽₩₺₴])"
_CODE = r"[A-Z]{3}(?![A-Za-z])"
_NUMERAL = r"\d+(?:[.,]\d+)*"
_NAME = "|".join(sorted({*_WORDS, *_CENTS} - {"¢"}, key=len, reverse=True))
_MONEY = re.compile(
    r"\s*(?:(?:about|roughly|around|~)\s*)?(?P<minus>[-−]\s?)?"
    rf"(?:(?P<before>{_SIGN}|{_CODE})\s?)?(?P<minus2>[-−]\s?)?(?P<number>{_NUMERAL}|\.\d+)"
    rf"(?:\s?(?P<sign>{_SIGN}|¢)|\s?(?P<code>{_CODE})|\s?(?P<word>{_NAME})(?!\w)"
    r"(?:(?<=kr|fr|ct)\.(?=\s*(?:[,;(]|(?:for|from|on|to|at)(?!\w))))?)?",
)
_AFTER = re.compile(r"\s*(?:$|[,;.(!—–]|-\s|(?:for|from|on|to|at)(?!\w))", re.IGNORECASE)
_SHOP = re.compile(
    r"\s*+((?:[^,;(.\s]++|\.(?!\s*+$)"
    rf"|\s++(?!$|[,;(]|\.\s*+$|for\s+(?:about\s+)?(?:{_SIGN}|{_CODE}|\d)|on\s+\d))*+)",
    re.IGNORECASE,
)
_COMMA = re.compile(r"(?:(?<!\d),|,(?!\d))\s*")
_AND = re.compile(r"(?:,\s*|\s)(?:and|plus)\s+|(?:(?<!\s)\s++)?+[&+]\s*", re.IGNORECASE)
_PURPOSE = re.compile(r"\s*+((?:[^(\s]++|\s++(?!$|\())*+)")


def read_money(known: Known, text: str, position: int) -> tuple[int, Money] | None:
    """Read a sum of money; a sum without a sign is in the journal's currency."""
    return read_sum(text, position, comma=known.comma, currency=known.household.currency)


def read_price(known: Known, text: str, position: int) -> tuple[int, Money] | None:
    """Read a sum of money that shows by its sign that it is one."""
    found = _MONEY.match(text, position)
    return read_money(known, text, position) if found is not None and _is_signed(found) else None


def _is_signed(found: re.Match[str]) -> bool:
    return any(found[part] for part in ("before", "sign", "code", "word"))


def read_sum(text: str, position: int, *, comma: bool, currency: str) -> tuple[int, Money] | None:
    """Read a sum in a journal of this ``currency`` (ISO 4217); raises Unread where its number is none."""
    found = _MONEY.match(text, position)
    if found is None or not _AFTER.match(text, found.end()):
        return None
    if found["minus"] or found["minus2"]:
        raise Unread(Fault.NEGATIVE, found.start(), found[0].strip())
    try:
        number = read_number(found["number"], 0, comma=comma)
    except NumberProblem as problem:
        raise Unread(
            Fault.DECIMAL_COMMA, found.start("number"), found["number"], reason=str(problem)
        ) from None
    if number is None or number[0] != len(found["number"]):
        raise Unread(Fault.NO_MONEY, found.start("number"), found["number"])
    amount = number[1].value
    sign = found["before"] or found["sign"] or found["code"] or found["word"] or ""
    if sign in _CENTS:
        return found.end(), Money(amount / 100, currency)
    return found.end(), Money(amount, currency_of(sign, currency))


def currency_of(sign: str, own: str) -> str:
    """Give the ISO 4217 code of a sign or word; where several share it, the journal's own comes first."""
    sign = _WORDS.get(sign, sign)
    if not sign:
        return own
    if sign in _SHARED:
        return own if own in _SHARED[sign] else _SHARED[sign][0]
    if sign == "US$":
        return "USD"
    return _SIGNS.get(sign, sign)


def read_shop(text: str, position: int) -> tuple[int, str]:
    """Read the shop's name, up to a comma, a parenthesis or the price."""
    found = _SHOP.match(text, position)
    return (position, "") if found is None else (found.end(), found[1].strip())


def read_purpose(known: Known, text: str, position: int) -> tuple[int, str]:
    """Read what money was for, commas included, up to a parenthesis or a date of the line's own."""
    purpose = _PURPOSE.match(text, position)
    if purpose is None:
        return position, ""
    end = purpose.end(1)
    for on in ON_DATE.finditer(text, position, end):
        dated = read_on_date(text, on.start())
        if dated is not None and (dated[0] == end or text[on.start() : on.end()].lstrip()[:1] in ",;"):
            end = on.start()
            break
    refuse_sentences(known, text, position, end)
    for comma in _COMMA.finditer(text, position, end):
        refuse_date(text, comma.end())
        price = read_price(known, text, comma.end())
        if price is not None:
            raise Unread(Fault.SECOND_AMOUNT, comma.end(), text[comma.end() : price[0]])
    for joint in _AND.finditer(text, position, end):
        found = _MONEY.match(text, joint.end())
        if found is not None and _is_signed(found):
            raise Unread(Fault.SECOND_AMOUNT, joint.end(), text[joint.end() : found.end()])
    return end, text[position:end].strip(" .")
