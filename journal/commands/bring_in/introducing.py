"""New names for household.yaml, put in without touching anything else in it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from journal.commands.console import Refusal
from journal.notes.household import Bin, Giver, Household, Planting

SECTIONS = {"bin": "bins", "giver": "givers", "planting": "plantings"}
_PLAIN = re.compile(r"[A-Za-zÀ-ɏ][\w '’&.-]*[\w.]|[A-Za-z]", re.UNICODE)
_WORDS_OF_YAML = frozenset({"yes", "no", "true", "false", "null", "on", "off", "y", "n"})


def with_names(household: Household, names: Mapping[str, Sequence[str]]) -> Household:
    """Give the household with further bins, givers and plantings: kind to names."""
    count = len(household.givers)
    return replace(
        household,
        bins={**household.bins, **{name: Bin(name) for name in names.get("bin", ())}},
        givers={
            **household.givers,
            **{name: Giver(name, count + at) for at, name in enumerate(names.get("giver", ()), 1)},
        },
        plantings={**household.plantings, **{name: Planting(name) for name in names.get("planting", ())}},
    )


def add_names(text: str, names: Mapping[str, Sequence[str]]) -> str:
    """Give the text of household.yaml with further names, its own lines and comments as they were.

    Raises Refusal, with the lines to add by hand, where a section is written in braces.
    """
    for kind, section in SECTIONS.items():
        if names.get(kind):
            text = _add(text, section, [f"{_key(name)}: {{}}" for name in names[kind]])
    return text


def _add(text: str, section: str, rows: Sequence[str]) -> str:
    end = "\r\n" if "\r\n" in text else "\n"
    head = re.search(rf"^{section}:[ \t]*(#[^\r\n]*)?\r?$", text, re.MULTILINE)
    if head is None:
        if re.search(rf"^{section}:", text, re.MULTILINE):
            raise Refusal(
                f"{section} in household.yaml stand in braces, so no name can be added to them",
                f"add by hand: {', '.join(rows)}",
            )
        gap = "" if text.endswith(("\n", "")) and (not text or text.endswith("\n")) else end
        return f"{text}{gap}{end}{section}:{end}" + "".join(f"  {row}{end}" for row in rows)
    below = re.compile(r"(?:[ \t]*(?:#[^\r\n]*)?\r?\n)*([ ]+)\S").match(text, head.end() + 1)
    indent = below[1] if below is not None else "  "
    at = head.end() if text[head.end() : head.end() + 1] else len(text)
    added = "".join(f"{indent}{row}{end}" for row in rows)
    if at == len(text):
        return f"{text}{end}{added}"
    return text[: at + 1] + added + text[at + 1 :]


def _key(name: str) -> str:
    if _PLAIN.fullmatch(name) and name.lower() not in _WORDS_OF_YAML:
        return name
    return json.dumps(name, ensure_ascii=False)
