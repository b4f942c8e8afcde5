"""The words by which people name a column, an activity or nothing (common practice, no published source)."""

from __future__ import annotations

import re

NOTHING = frozenset({"", "-", "--", "–", "—", "n/a", "na", "none", "nil", "."})

# What a column may hold, and the words at its head that say so, the first that fit.
# `count` is a number of things without a unit; `ignore` is what is no amount of its own.
_HEAD_WORDS: dict[str, str] = {
    "ignore": r"(?:running|cumulative|sub|year|grand)?[\s-]*totals?, sum, balance, average, avg, mean, ytd, "
    r"to date, week(?:day)?, month, year, day of (?:the )?week, no\.?, #, id, row, entry, index, timestamp",
    "date": "dates?, day, when, date/time",
    "remark": r"notes?, comments?, remarks?, observations?, details, memo, costs?, prices?, paid, \$",
    "temperature": r"temp(?:erature)?s?\.?",
    "moisture": "moist(?:ure|ness)?, humidity, damp(?:ness)?",
    "acidity": "ph, acidity",
    "verb": "actions?, activity, events?, task, verb, what (?:was |i |we )?(?:did|done), did, operation",
    "planting": "plantings?, plants?, trees?, garden, spread on, used on, applied to",
    "giver": "givers?, from, sources?, donors?, who, neighbou?rs?, given by, brought by, households?, "
    "family, families, origin",
    "bin": "bins?, worm bins?, to, system, trays?, destination, into, put in, fed to, where",
    "unit": "units?, uom",
    "count": "count, pieces, number of",
    "amount": r"weights?, wt\.?, mass, amounts?, quantity, qty\.?, how much, volume, weighed, lbs?, pounds?, "
    "kgs?, kilos?",
    "material": "materials?, items?, what, stuff, feedstock, food, scraps?, contents?, kind, type, "
    "description, substance, category",
}
HEADS = tuple(
    (role, re.compile(rf"(?:^|(?<!\w))(?:{words.replace(', ', '|')})(?:(?!\w)|$)", re.IGNORECASE))
    for role, words in _HEAD_WORDS.items()
)
ROLES = frozenset(_HEAD_WORDS)

# How people name an activity, beside the verbs of a diary.
_SPOKEN_FORMS: dict[str, str] = {
    "fed": "feed, feeding, food",
    "harvested": "harvest, harvesting, sift",
    "took in": "collect, collection, intake, in, pickup, picked up, receive, take in",
    "bedded": "bed, bedding",
    "shredded": "shred, shredding",
    "spread": "apply, applied, spreading",
    "bought": "buy, purchase, purchased",
    "threw out": "trash, discard, discarded, landfill, landfilled, rejected, threw away, thrown out",
    "recycled": "recycle, recycling",
    "donated": "donate",
    "gave": "give, gave away",
    "returned": "return",
    "added": "add",
    "moved": "move",
    "checked": "check, reading",
    "picked": "pick",
}
SPOKEN = {form: verb for verb, forms in _SPOKEN_FORMS.items() for form in forms.split(", ")}
