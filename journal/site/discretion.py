"""What may be seen: the only place that decides how much of an entry, a line or a name is published.

Givers' own names are replaced by the form in which they may be shown wherever words of the keeper are
published: in lines, remarks, prose, titles, names of bins.  Private entries still count; of their lines only
the date, the amount and the stream are told.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from html import unescape

from journal.notes.household import Household
from journal.notes.names import ARTICLES, UNSEEN, Names, fold, spellings, words_of
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
_JOINTS = rf"[\s_\-‐‑–.*~`{UNSEEN}]"
_BETWEEN = _JOINTS + "+"
_NOTHING = re.compile(f"[{UNSEEN}]")
_FIRST_STAND_IN = 0xF0000
_MOST_STAND_INS = 0xFFFD
_STAND_IN = re.compile("[\U000f0000-\U000ffffd]")
"""Signs for private use, which stand for the names replaced until all are found."""

_MARKED = re.compile(r"[\[\]&\\<*_~`]")
_MARKUP = re.compile(r"!?\[([^\]]*)\](?:\([^)]*\)|\[[^\]]*\])?|<[^>]*>|\\(?=\W)|[*_~`]")
_MORE = re.compile(r"[\[<&\\]")
"""Begins markup that is more than a stress, or a sign written by its name or number."""

_STRESS = str.maketrans("", "", "*_~`")


class Discretion:
    """Decides for one household what may be published."""

    def __init__(self, household: Household) -> None:
        self.household = household
        givers = household.givers
        self._shown = {fold(_key(giver)): household.publishes_giver(giver) for giver in givers}
        self._names = _pattern(givers)
        self._as_read = Names((unicodedata.normalize("NFC", giver), giver) for giver in givers)
        self._first_words = _first_words(givers)
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
        shown: list[str] = []
        text = self._held(unicodedata.normalize("NFC", text), shown)
        if _MARKED.search(text):
            text = "".join(self._without_markup(part, shown) for part in _PARAGRAPH.split(text))
        return _STAND_IN.sub(lambda found: _nth(shown, found[0]), text) if shown else text

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

    def _without_markup(self, paragraph: str, shown: list[str]) -> str:
        """Give a paragraph as it is, or bare where a name shows only then."""
        bare = _bare(paragraph)
        held = self._held(bare, shown)
        return paragraph if held == bare else held

    def _held(self, text: str, shown: list[str]) -> str:
        """Put a stand-in for each name in a text, and what it stands for at the end of ``shown``.

        What is shown may hold a name again; a stand-in is not looked into a second time.  A text in which a
        name shows only without the marks that show nothing loses them.
        """
        if self._names is None:
            return text
        held = self._names.sub(lambda found: self._replaced(found, shown), text)
        if _NOTHING.search(held) and self._names.search(seen := _NOTHING.sub("", held)):
            held = self._names.sub(lambda found: self._replaced(found, shown), seen)
        return held if _is_folded_sign_by_sign(held) else "".join(self._held_as_read(held, shown))

    def _held_as_read(self, text: str, shown: list[str]) -> Iterator[str]:
        """Give the parts of a text in which names are found as a line's are: two signs may fold to one."""
        end = 0
        for start, behind, giver in self._as_read.within(text):
            yield text[end:start]
            yield _stand_in(shown, _begun(self.household.publishes_giver(giver), text, start))
            end = behind
        yield text[end:]

    def _replaced(self, found: re.Match[str], shown: list[str]) -> str:
        form = self._shown.get(fold(_key(found["name"]))) or self._shown_otherwise(found["name"])
        return _stand_in(shown, _begun(form, found.string, found.start()))

    def _shown_otherwise(self, name: str) -> str:
        """Give the shown form of a name in another case, where folding the two gives different signs."""
        return next(
            self.household.publishes_giver(giver)
            for giver in sorted(filter(_is_name, self.household.givers), key=_longest_first)
            if re.fullmatch(_form(giver), name, re.IGNORECASE)
        )


def _stand_in(shown: list[str], form: str) -> str:
    """Keep a shown form and give the sign that stands for it; past the last sign, the form itself."""
    if len(shown) > _MOST_STAND_INS:
        return form
    shown.append(form)
    return chr(_FIRST_STAND_IN + len(shown) - 1)


def _nth(shown: list[str], stand_in: str) -> str:
    """Give what a stand-in stands for; a sign that is none, as a text may hold, stays."""
    number = ord(stand_in) - _FIRST_STAND_IN
    return shown[number] if number < len(shown) else stand_in


def _begun(form: str, text: str, start: int) -> str:
    """Give a name's shown form with a large letter where the name begins a sentence with one."""
    before = text[:start].rstrip(" *_>-\t")[-1:]
    begins = before in {"", "\n", ".", "!", "?", "[", '"', "“"} and text[start].isupper()
    return form[:1].upper() + form[1:] if begins else form


def _is_folded_sign_by_sign(text: str) -> bool:
    """Whether each sign of a text has the cases that an expression knows: ``ß`` and ``ﬁ`` have more."""
    if text.isascii():
        return True
    folded = text.casefold()
    return len(folded) == len(text) and folded == text.lower()


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


def _is_name(name: str) -> bool:
    """Whether a name holds anything by which it could be read."""
    return bool(fold(_key(name)))


def _parted(name: str) -> str:
    """Part a name's words by single spaces, without marks that show nothing and a leading "the"."""
    name = _NOTHING.sub("", name).replace("’", "'")
    return re.sub(r"^the ", "", re.sub(_BETWEEN, " ", name).strip(), flags=re.IGNORECASE)


def _first_words(names: Iterable[str]) -> frozenset[str]:
    """Give what each name begins with, in small letters, however spelt; none where any is not plain ASCII.

    Of two spellings of which one holds the other the shorter is enough: "smith" for "smiths".
    """
    listed = list(filter(_is_name, names))
    if not all(_key(name).isascii() for name in listed):
        return frozenset()
    begun = {word for name in listed for word in spellings(words_of(_key(name))[0])}
    return frozenset(word for word in begun if not any(other in word for other in begun - {word}))


def _longest_first(name: str) -> tuple[int, str]:
    return -len(_key(name)), _key(name)


def _form(name: str) -> str:
    """Give the expression of a name however it is spelt: as written, in small letters and in large.

    Beyond ASCII these differ by more than case: ``Weiß`` is folded to ``weiss`` and shouted as ``WEISS``.
    """
    written = unicodedata.normalize("NFC", name)
    more = () if written.isascii() else (written, written.lower(), written.upper())
    cases = dict.fromkeys(map(_parted, (written.casefold(), *more)))
    return "|".join(dict.fromkeys(_row(words_of(case)) for case in cases))


def _row(words: Iterable[str]) -> str:
    """Give the expression of a row of words and signs; between two words something must stand."""
    form, last = "", ""
    for word in words:
        if last:
            form += _BETWEEN if last[-1].isalnum() and word[0].isalnum() else _JOINTS + "*"
        form += f"(?:{'|'.join(map(re.escape, spellings(word)))})"
        last = word
    return form.replace("'", "['’]")


def _pattern(names: Iterable[str]) -> re.Pattern[str] | None:
    """Make the pattern of all names, longest first, with any article before and a plural's s behind.

    A name is whole where no letter stands before its first and behind its last; beside a sign one may.
    """
    ordered = sorted(filter(_is_name, names), key=_longest_first)
    if not ordered:
        return None
    by_first: dict[str, list[str]] = {}  # a look at the first sign spares trying all other names
    plain = all(map(str.isascii, ordered))
    for name in ordered:
        first = re.escape(words_of(_key(name))[0][0]) if plain else ""
        by_first.setdefault(first, []).append(_form(name))
    options = "|".join(f"(?={first})(?:{'|'.join(forms)})" for first, forms in by_first.items())
    before = r"(?<!\w)" if all(first.isalnum() for first in by_first) else r"(?:(?<!\w)|(?!\w))"
    article = rf"(?P<article>(?:{'|'.join(sorted(ARTICLES))})[\s{UNSEEN}]+)?"
    return re.compile(rf"{before}{article}(?P<name>{options})(?:(?:e?s)?(?!\w)|(?<!\w))", re.IGNORECASE)
