"""The verbs that begin a record line, as one table.

The reader of lines and the README's table are both driven by ``VERBS``: what a verb begins with, which
words join further parts to it, and which of those must be there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

Slot = Literal[
    "giver", "bin", "home", "planting", "shop", "money", "source", "purpose", "amounts", "readings"
]
"""What a preposition leads to.  ``home`` is where worms come from; ``source`` what a reject came out of."""

SLOT_WORDS: Mapping[Slot, str] = {
    "giver": "a giver",
    "bin": "a bin",
    "home": "a bin",
    "planting": "a planting",
    "shop": "a shop",
    "money": "a sum of money",
    "source": "a material, batch or bin",
    "purpose": "what the money was for",
    "amounts": "amounts",
    "readings": "what was read",
}


class Tail(NamedTuple):
    """A part joined by a preposition."""

    preposition: str
    slot: Slot
    required: bool = True


@dataclass(frozen=True)
class Verb:
    """One verb: its other forms, what stands right behind it, what is joined to that, and what it records."""

    name: str
    also: tuple[str, ...]
    begins: Literal["amounts", "bin", "subject", "batch", "money"]
    tails: tuple[Tail, ...]
    shape: str
    records: str
    only: Literal["", "worms", "castings"] = ""  # what its amounts must be of
    free: float = 0.0  # how near to a known name an unknown one is taken for a slip; 0: whatever it is
    by_preposition: Mapping[str, Tail] = field(init=False, repr=False, compare=False)
    required: tuple[Tail, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_preposition", {tail.preposition: tail for tail in self.tails})
        object.__setattr__(self, "required", tuple(tail for tail in self.tails if tail.required))


_GIVEN = (Tail("from", "giver", required=False),)

VERBS: tuple[Verb, ...] = (
    Verb("took in", ("got", "received", "collected"), "amounts", _GIVEN,
         "AMOUNTS [from GIVER]", "something arrives; waste counts as kept out of landfill here, once"),
    Verb("shredded", (), "amounts", _GIVEN,
         "AMOUNTS [from GIVER]",
         "paper becomes shredded paper: first what is on hand of it, the rest arrives that day"),
    Verb("bought", (), "amounts",
         (Tail("for", "money", required=False), Tail("from", "shop", required=False)),
         "AMOUNTS [for MONEY] [from SHOP]", "supplies arrive; never counted as diverted"),
    Verb("mixed", (), "batch", (),
         "bedding|slurry NAME: AMOUNTS, behind the colon or as a nested list",
         "a batch is made from what is on hand"),
    Verb("fed", (), "amounts", (*_GIVEN, Tail("to", "bin")),
         "AMOUNTS [from GIVER] to BIN", "feed goes into a bin"),
    Verb("bedded", (), "bin", (Tail("with", "amounts"),),
         "BIN with AMOUNTS", "bedding (a batch or a plain material) goes into a bin"),
    Verb("added", (), "amounts", (Tail("from", "home", required=False), Tail("to", "bin")),
         "AMOUNT worms [from BIN] to BIN", "worms arrive", only="worms"),
    Verb("moved", (), "amounts", (Tail("from", "home", required=False), Tail("to", "bin")),
         "AMOUNT worms [from BIN] to BIN", "worms change bins", only="worms"),
    Verb("checked", (), "subject", (),
         "BIN or BATCH: READINGS", "temperature, moisture, pH, smell, sightings"),
    Verb("harvested", ("sifted",), "amounts", (Tail("from", "bin"),),
         "AMOUNT castings from BIN", "castings come out and into store", only="castings"),
    Verb("returned", (), "amounts", (Tail("to", "bin"),),
         "AMOUNT MATERIAL to BIN", "oversize from the screen goes back"),
    Verb("spread", ("top-dressed", "watered"), "amounts", (Tail("on", "planting"),),
         "AMOUNTS on PLANTING", "castings, or a batch such as left-over slurry, go to a planting"),
    Verb("gave", (), "amounts", (Tail("to", "giver"),),
         "AMOUNTS to GIVER", "castings or worms given away"),
    Verb("picked", (), "amounts", (Tail("from", "planting"),),
         "AMOUNT CROP from PLANTING", "a harvest of the garden", free=1.0),
    Verb("threw out", (), "amounts", (Tail("out of", "source", required=False),),
         "AMOUNTS [out of MATERIAL, BATCH or BIN]",
         "goes to landfill: a reject, taken off what it came out of; "
         "without \"out of\", the household's ordinary trash",
         free=0.85),
    Verb("recycled", (), "amounts", (), "AMOUNTS", "kept out of landfill by recycling"),
    Verb("donated", (), "amounts", (), "AMOUNTS", "kept out of landfill by giving it to be used"),
    Verb("spent", (), "money", (Tail("on", "purpose"), Tail("for", "purpose")),
         "MONEY on|for WORDS", "money goes out"),
    Verb("earned", (), "money", (Tail("on", "purpose"), Tail("for", "purpose")),
         "MONEY on|for WORDS", "money comes in"),
)  # fmt: skip

BY_NAME: Mapping[str, Verb] = {verb.name: verb for verb in VERBS}

_FIRST_WORDS: dict[str, list[tuple[str, Verb]]] = {}
for _verb in VERBS:
    for _form in (_verb.name, *_verb.also):
        _first, _, _rest = _form.partition(" ")
        _FIRST_WORDS.setdefault(_first, []).append((_rest, _verb))
for _form in ("top", "topdressed"):  # the hyphen is often left out
    _FIRST_WORDS[_form] = [("dressed" if _form == "top" else "", BY_NAME["spread"])]

FIRST_WORDS = frozenset(_FIRST_WORDS)
"""The first word of each verb's forms."""

_FIRST = re.compile(r"[A-Za-z]+(?:-[A-Za-z]+)?(?![\w'’-])")
_SECOND = re.compile(r"\s+([A-Za-z]+)(?![\w'’-])")


def read_verb(text: str, position: int) -> tuple[int, Verb] | None:
    """Read a verb of ``text`` at ``position``, in any case: the position behind it and the verb, or None."""
    first = _FIRST.match(text, position)
    if first is None:
        return None
    rows = _FIRST_WORDS.get(first[0].lower())
    if rows is None:
        return None
    for rest, verb in rows:
        if not rest:
            return first.end(), verb
        second = _SECOND.match(text, first.end())
        if second is not None and second[1].lower() == rest:
            return second.end(), verb
    return None


def verb_rows() -> list[tuple[str, str, str]]:
    """Give the rows of the README's table in Markdown: verb with its other forms, shape, what it records."""
    return [
        (
            f"**{verb.name}**" + (f" ({', '.join(verb.also)})" if verb.also else ""),
            verb.shape.replace("|", " or "),
            verb.records,
        )
        for verb in VERBS
    ]
