"""What may be seen: the only place that decides how much of an entry, a line or a name is published.

Givers' own names are replaced by the form in which they may be shown wherever words of the keeper are
published: in lines, remarks, prose, titles, names of bins.  Private entries still count; of their lines only
the date, the amount and the stream are told.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from journal.notes.household import Household
from journal.notes.records import Entry

WORDS = "words"
LINES = "lines"
AMOUNTS = "amounts"

_LEVELS = {"yes": WORDS, "summary": LINES, "no": AMOUNTS}
_COMMENT = re.compile(r"<!--.*?(?:-->|\Z)", re.DOTALL)
_BETWEEN = r"(?:[\s_\-‐‑–.]|&nbsp;|&#32;|[*_~`]{1,3})+"


class Discretion:
    """Decides for one household what may be published."""

    def __init__(self, household: Household) -> None:
        self.household = household
        self._shown = {_key(giver): household.publishes_giver(giver) for giver in household.givers}
        self._names = _pattern(household.givers)

    def level(self, entry: Entry) -> str:
        """Say how much of an entry is shown: its words, its lines, or only dates and amounts."""
        return AMOUNTS if entry.private else _LEVELS[self.household.sharing.entries]

    def giver(self, name: str | None) -> str:
        """Give the published form of a giver's name; "" for none."""
        return "" if name is None else self.household.publishes_giver(name)

    def words(self, text: str) -> str:
        """Give words of the keeper with every comment gone and every giver's own name in its shown form."""
        if "<!--" in text:
            text = _COMMENT.sub("", text)
        if self._names is None or not self._names.search(text):
            return text
        return self._names.sub(self._replaced, text)

    def _replaced(self, found: re.Match[str]) -> str:
        shown = self._shown[_key(found["name"])]
        article = found["article"] or ""
        at_start = found.start() == 0 or found.string[: found.start()].rstrip(" *_>-\t")[-1:] in (
            "",
            "\n",
            ".",
            "!",
            "?",
        )
        return (
            shown[:1].upper() + shown[1:] if at_start and (article or found["name"])[:1].isupper() else shown
        )


def _key(name: str) -> str:
    """Fold a name's case, what stands between its words, and a leading "the"."""
    return re.sub(_BETWEEN, " ", name.casefold()).strip().removeprefix("the ")


def _pattern(names: Iterable[str]) -> re.Pattern[str] | None:
    """Make the pattern of all names, longest first, with any article before and a plural's s behind."""
    ordered = sorted({_key(name) for name in names}, key=lambda name: (-len(name), name))
    if not ordered:
        return None
    options = "|".join(_BETWEEN.join(re.escape(word) for word in name.split(" ")) for name in ordered)
    return re.compile(rf"(?<!\w)(?P<article>(?:the|our)\s+)?(?P<name>{options})(?:e?s)?(?!\w)", re.IGNORECASE)
