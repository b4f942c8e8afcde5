"""What may be seen: the only place that decides how much of an entry, a line or a name is published.

Givers' own names are replaced by the form in which they may be shown wherever words of the keeper are
published: in lines, remarks, prose, titles, names of bins.  Private entries still count; of their lines only
the date, the amount and the stream are told.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from html import unescape

from journal.notes.household import Household
from journal.notes.records import Entry

WORDS = "words"
LINES = "lines"
AMOUNTS = "amounts"

_LEVELS = {"yes": WORDS, "summary": LINES, "no": AMOUNTS}
_COMMENT = re.compile(r"<!--.*?(?:-->|\Z)", re.DOTALL)
_FENCE = re.compile(
    r"^[ \t>]*(`{3,}|~{3,})[^\n]*(?:\n.*?^[ \t>]*\1[`~]*[ \t]*$|.*\Z)", re.DOTALL | re.MULTILINE
)
_PARAGRAPH = re.compile(r"(\n[ \t]*\n)")
_BETWEEN = r"[\s_\-‐‑–.*~`]+"
_MARKED = re.compile(r"[\[\]&\\<*_~`]")
_MARKUP = re.compile(r"!?\[([^\]]*)\](?:\([^)]*\)|\[[^\]]*\])?|<[^>]*>|\\(?=\W)|[*_~`]")
_MORE = re.compile(r"[\[<&\\]")
"""Begins markup that is more than a stress, or a sign written by its name or number."""

_STRESS = str.maketrans("", "", "*_~`")


class Discretion:
    """Decides for one household what may be published."""

    def __init__(self, household: Household) -> None:
        self.household = household
        self._shown = {_key(giver): household.publishes_giver(giver) for giver in household.givers}
        self._forms = {giver: re.compile(_form(giver), re.IGNORECASE) for giver in household.givers}
        self._names = _pattern(household.givers)
        self._first_words = _first_words(household.givers)
        self._known: dict[str, str] = {}

    def level(self, entry: Entry) -> str:
        """Say how much of an entry is shown: its words, its lines, or only dates and amounts."""
        return AMOUNTS if entry.private else _LEVELS[self.household.sharing.entries]

    @property
    def shares_entries(self) -> bool:
        """Whether anything but dates and amounts is shown of entries that are not private."""
        return _LEVELS[self.household.sharing.entries] != AMOUNTS

    @property
    def shows_words(self) -> bool:
        """Whether the words of entries are shown that are not private."""
        return _LEVELS[self.household.sharing.entries] == WORDS

    def giver(self, name: str | None) -> str:
        """Give the published form of a giver's name; "" for none."""
        return "" if name is None else self.household.publishes_giver(name)

    def words(self, text: str) -> str:
        """Give words of the keeper: comments and code fences gone, every giver's own name in its shown form.

        Where a name shows only once the markup inside it is gone, its paragraph loses its markup.
        """
        found = self._known.get(text)
        if found is None:
            found = self._known[text] = text if self._stays(text) else self._words(text)
        return found

    def _words(self, text: str) -> str:
        if "<!--" in text:
            text = _COMMENT.sub("", text)
        if "```" in text or "~~~" in text:
            text = _FENCE.sub("", text)
        if self._names is None:
            return text
        text = unicodedata.normalize("NFC", text)
        text = self._names.sub(self._replaced, text)
        if not _MARKED.search(text) or not self._names.search(_bare(text)):
            return text
        return "".join(self._without_markup(part) for part in _PARAGRAPH.split(text))

    def _stays(self, text: str) -> bool:
        """Whether a quick look shows that a text stays as it is, as most do.

        It has no comment and no fence, and lacks the first word of every name, with its markup and without.
        Signs beyond ASCII have cases that a search without regard to case knows and this look does not.
        """
        if not self._first_words or not text.isascii() or self._may_name(text):
            return False
        if _MARKED.search(text) is None:
            return True
        if "<!--" in text or "```" in text or "~~~" in text:
            return False
        if _MORE.search(text) is None:
            return not self._may_name(text.translate(_STRESS))
        bare = _bare(text)  # in which a sign may stand that was written by its number
        return bare.isascii() and not self._may_name(bare)

    def _may_name(self, text: str) -> bool:
        """Whether a text holds the first word of any name, perhaps inside another word."""
        folded = text.casefold()
        for word in self._first_words:  # noqa: SIM110 - asked of every line: a generator would double its cost
            if word in folded:
                return True
        return False

    def _without_markup(self, paragraph: str) -> str:
        bare = _bare(paragraph)
        if self._names is None or not self._names.search(bare):
            return paragraph
        return self._names.sub(self._replaced, bare)

    def _replaced(self, found: re.Match[str]) -> str:
        shown = self._shown.get(_key(found["name"])) or self._shown_otherwise(found["name"])
        before = found.string[: found.start()].rstrip(" *_>-\t")[-1:]
        begins = (
            before in {"", "\n", ".", "!", "?", "[", '"', "“"}
            and (found["article"] or found["name"])[:1].isupper()
        )
        return shown[:1].upper() + shown[1:] if begins else shown

    def _shown_otherwise(self, name: str) -> str:
        """Give the shown form of a name in another case, where folding the two gives different signs."""
        return next(
            self.household.publishes_giver(giver)
            for giver in sorted(self._forms, key=_longest_first)
            if self._forms[giver].fullmatch(name)
        )


def _bare(text: str) -> str:
    """Give a text as it reads once Markdown's marks inside a line are gone."""
    text = unicodedata.normalize("NFC", unescape(text))
    for opening, closing in (("[", "]"), ("<", ">"), ("](", ")")):  # each that nothing closes costs a search
        end = text.rfind(closing) + 1
        text = text[:end] + text[end:].replace(opening, opening[:-1])
    return _MARKUP.sub(lambda found: found[1] or "", text)


def _key(name: str) -> str:
    """Fold a name's case, what stands between its words, and a leading "the"."""
    return _parted(unicodedata.normalize("NFC", name).casefold())


def _parted(name: str) -> str:
    """Part a name's words by single spaces, without a leading "the"."""
    return re.sub(r"^the ", "", re.sub(_BETWEEN, " ", name).strip(), flags=re.IGNORECASE)


def _first_words(names: Iterable[str]) -> frozenset[str]:
    """Give the first word of each name; none where any is not plain ASCII."""
    listed = list(names)
    plain = all(map(str.isascii, listed))
    return frozenset(_key(name).partition(" ")[0] for name in listed) if plain else frozenset()


def _longest_first(name: str) -> tuple[int, str]:
    return -len(_key(name)), _key(name)


def _form(name: str) -> str:
    """Give the expression of a name however its words are joined: as written, in small letters and in large.

    Beyond ASCII these differ by more than case: ``Weiß`` is folded to ``weiss`` and shouted as ``WEISS``.
    """
    written = unicodedata.normalize("NFC", name)
    more = () if written.isascii() else (written, written.lower(), written.upper())
    cases = dict.fromkeys(map(_parted, (written.casefold(), *more)))
    return "|".join(_BETWEEN.join(re.escape(word) for word in case.split(" ")) for case in cases)


def _pattern(names: Iterable[str]) -> re.Pattern[str] | None:
    """Make the pattern of all names, longest first, with any article before and a plural's s behind."""
    options = "|".join(_form(name) for name in sorted(names, key=_longest_first) if _key(name))
    if not options:
        return None
    return re.compile(rf"(?<!\w)(?P<article>(?:the|our)\s+)?(?P<name>{options})(?:e?s)?(?!\w)", re.IGNORECASE)
