"""What the head of a column can name: a unit, a material, a bin and the like, or what the column holds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from journal.commands.bring_in.words import HEADS, SPOKEN
from journal.measures.units import read_unit
from journal.notes.household import Household
from journal.notes.known import container_of
from journal.notes.materials import Catalogue
from journal.notes.names import fold
from journal.notes.verbs import read_verb

_PATTERNS = dict(HEADS)
_NO_VERB_ALONE = frozenset({"in", "food"})  # at the head of a column they may be anything


class KnownNames(NamedTuple):
    """The names that the journal knows, each found by any spelling."""

    catalogue: Catalogue
    bins: Mapping[str, str]
    givers: Mapping[str, str]
    plantings: Mapping[str, str]
    measures: Mapping[str, str]

    @classmethod
    def of(cls, household: Household, catalogue: Catalogue) -> KnownNames:
        """Take the names of a household and its catalogue."""
        measures = [container_of(measure) for measure in household.measures.values()]
        folded = [
            {fold(name): name for name in names}
            for names in (household.bins, household.givers, household.plantings, measures)
        ]
        return cls(catalogue, *folded)

    def name(self, role: str, words: str) -> str | None:
        """Give the known name of a verb, material, bin, giver or planting that the words mean, or None."""
        if role == "verb":
            return spoken_verb(words)
        if role == "material":
            found = self.catalogue.find(words)
            return None if found is None else found.name
        names = {"bin": self.bins, "giver": self.givers, "planting": self.plantings}[role]
        return names.get(fold(words))


def spoken_verb(words: str) -> str | None:
    """Give the verb of the entry language that the words of a cell mean, or None."""
    words = " ".join(words.strip(" .:").lower().split())
    found = read_verb(words, 0)
    if found is not None and found[0] == len(words):
        return found[1].name
    return SPOKEN.get(words)


def done_in(bare: str, known: KnownNames) -> str | None:
    """Give what a head says was done with its amounts, where it says nothing else: "Harvested", or None."""
    done = known.name("verb", bare)
    return None if done == "checked" or bare.lower() in _NO_VERB_ALONE else done


def unit_in(words: str, known: KnownNames) -> str | None:
    """Give the unit or household measure that the words are, or None."""
    words = words.strip()
    found = read_unit(words, 0)
    if found is not None and found[0] == len(words) and found[1].kind != "area":
        return found[1].symbol
    return known.measures.get(fold(words))


def unit_of_head(head: str, known: KnownNames) -> tuple[str, str]:
    """Give the unit that a column's head names, and the head without it."""
    candidates = [(found[1], found[0]) for found in re.finditer(r"[(\[]([^)\]]*)[)\]]", head)]
    candidates += [(head, head)]
    candidates += [
        (found[1], found[0]) for found in re.finditer(r"(?:\bin|,|/|-|:)\s*([\w.]+(?: \w+)?)\s*$", head)
    ]
    candidates += [(found[1], found[0]) for found in re.finditer(r"[\s_]([A-Za-z.]{2,})\s*$", head)]
    candidates += [(found[1], found[0]) for found in re.finditer(r"^([A-Za-z.]{2,})\s+(?:of\s+)?", head)]
    for words, whole in candidates:
        unit = unit_in(words.strip().strip("."), known)
        if unit is not None:
            return unit, " ".join(head.replace(whole, " ").split())
    return "", " ".join(re.sub(r"[(\[][^)\]]*[)\]]", " ", head).split()) or head


def names_in(words: str, known: KnownNames) -> dict[str, str]:
    """Give the names that a head is made of: a material, a verb, a bin, and so on, the longest first."""
    tokens = re.findall(r"[^\s_:/&+-]+", words)
    named: dict[str, str] = {}
    used: set[int] = set()
    for length in range(len(tokens), 0, -1):
        for start in range(len(tokens) - length + 1):
            span = range(start, start + length)
            if used & set(span):
                continue
            phrase = " ".join(tokens[start : start + length])
            for role in ("bin", "giver", "planting", "material", "verb"):
                name = known.name(role, phrase) if role not in named else None
                if name is not None and not _is_chance(role, phrase, name, known, of=len(tokens)):
                    named[role] = name
                    used |= set(span)
                    break
    return named if set(named) - {"verb"} else {}


def _is_chance(role: str, phrase: str, name: str, known: KnownNames, *, of: int) -> bool:
    """Whether a phrase of a head of so many words only happens to be a name, as "bucket" in "Bucket weight".

    One word among others is not enough to mean worms, plastic bottles or other supplies of several words.
    """
    if role == "verb":
        return phrase.lower() in _NO_VERB_ALONE
    if role != "material" or of == 1 or " " in phrase or " " not in name:
        return False
    material = known.catalogue.find(phrase)
    return material is not None and material.stream in {"supplies", "other"}


def is_head_of(role: str, words: str) -> bool:
    """Whether the words are a head of a column that holds this, and nothing else."""
    return _PATTERNS[role].fullmatch(" ".join(words.replace("_", " ").split())) is not None


def role_of(head: str) -> str:
    """Give what a head says that its column holds, one of ROLES, or "" where it says nothing."""
    words = " ".join(re.split(r"[\s_]+", head.strip()))
    for role, pattern in HEADS:
        if pattern.fullmatch(words):
            return role
    return next((role for role, pattern in HEADS if pattern.search(words)), "")
