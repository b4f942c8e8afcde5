"""All findings about the keeper's text: a short code, the sentence with its blanks, and the way out.

A fault whose ``remark`` is true leaves the totals right: it is listed but never stops a publication.
The README's table of faults is drawn from these rows.
"""

from __future__ import annotations

from enum import Enum


class Fault(Enum):
    """Every kind of finding.  ``{words}`` are the words at fault; other blanks are filled where found."""

    # ---- amounts
    NO_AMOUNT = (
        "no-amount",
        'an amount is expected at "{words}"',
        "write a number and a unit, as in 2 lb 3 oz or 5 eggshells",
    )
    NO_UNIT = (
        "no-unit",
        '"{words}" has a number but no unit and no material I know{meant}',
        "write a unit, as in 2 lb, or name a thing that is counted, as in 5 eggshells",
    )
    NO_MATERIAL = (
        "no-material",
        '"{words}" says how much but not of what',
        "name the material behind the amount, as in {example}",
    )
    UNKNOWN_MATERIAL = (
        "unknown-material",
        '"{words}" is no material I know{meant}',
        (
            "mend the name, or add it to household.yaml under materials:  "
            "{words}: {{stream: food scraps, waste: yes}}"
        ),
    )
    UNKNOWN_MEASURE = (
        "unknown-measure",
        '"{words}" is no unit and no measure I know{meant}',
        (
            "use a unit, or weigh it once and add it to household.yaml under measures:  "
            "{measure}: {{weighed: [2.4 lb, 2.6 lb]}}"
        ),
    )
    NO_DENSITY = (
        "no-density",
        'there is no saying what "{words}" weighs: {material} has no density',
        "weigh it, or add the density to household.yaml under materials:  {material}: {{density: 0.4 kg/L}}",
    )
    NO_MASS_EACH = (
        "no-mass-each",
        'there is no saying what "{words}" weighs: {material} is not counted by the piece',
        "weigh it, or add the weight of one to household.yaml under materials:  {material}: {{each: 5 g}}",
    )
    SHARE = (
        "share",
        'there is no saying how much "{words}" is',
        "write its weight, as in: 2 lb {material}",
    )
    NOT_MEANT_FOR = (
        "not-meant-for",
        'the measure "{words}" is not weighed for {material}',
        "add it to household.yaml under measures:  {measure} of {material}: {{weighed: [2.4 lb, 2.6 lb]}}",
    )
    NUMBER = (
        "number",
        "the number cannot be read: {reason}",
        "write a number as in 3, 2.5, 1/4, 1 1/2, 1-2 or about 3",
    )
    DECIMAL_COMMA = (
        "decimal-comma",
        "the number can be read in two ways: {reason}",
        "write the number with a point, or put 'decimal: comma' under household in household.yaml",
    )
    ZERO = ("zero", '"{words}" is nothing', "write how much it was, or leave the line out")
    NEGATIVE = (
        "negative",
        '"{words}" is less than nothing',
        "write amounts without a minus sign; what goes out has verbs of its own, such as threw out",
    )
    TOO_MUCH = (
        "too-much",
        '"{words}" is more than ten tonnes in one line',
        "look at the number and its unit",
    )
    NO_MONEY = ("no-money", 'a sum of money is expected at "{words}"', "write it as in $3.50, 12 EUR or £4")
    # ---- the sentence
    MISSING = (
        "missing",
        '"{verb}" needs "{preposition}" and {slot}',
        "the shape is: {verb} {shape}",
    )
    MISSING_NAME = ("missing-name", '"{verb}" needs {slot} at "{words}"', "the shape is: {verb} {shape}")
    LEFT_OVER = (
        "left-over",
        '"{words}" is left over behind a sentence that is whole',
        "put a remark behind a comma or in parentheses, and each further sentence on a line of its own",
    )
    SECOND_AMOUNT = (
        "second-amount",
        '"{words}" is an amount, but the sentence has ended before it',
        "put it on a line of its own, with its verb; if it is a remark, put it in parentheses",
    )
    SECOND_SENTENCE = (
        "second-sentence",
        '"{words}" is a sentence of its own, and would not be counted here',
        "put it on a line of its own; if it is a remark, put it in parentheses",
    )
    TWICE = ("twice", '"{words}" is said twice', "say it once")
    OPEN_PARENTHESIS = ("open-parenthesis", 'the parenthesis at "{words}" is never closed', "close it with )")
    ONLY_WORMS = (
        "only-worms",
        '"{verb}" is for worms, and "{words}" are none',
        "write fed or bedded for what goes into a bin to be eaten, returned for screenings",
    )
    ONLY_CASTINGS = (
        "only-castings",
        '"{verb}" is for castings, and "{words}" are none',
        "write picked for what comes from the garden",
    )
    UNKNOWN_BIN = (
        "unknown-bin",
        '"{words}" is no bin I know{meant}',
        "mend the name, or add it to household.yaml under bins:  {words}: {{worms: red wigglers}}",
    )
    UNKNOWN_GIVER = (
        "unknown-giver",
        '"{words}" is no giver I know{meant}',
        (
            "mend the name, or add it to household.yaml under givers:  "
            "{words}: {{shown as: a house on our street}}"
        ),
    )
    UNKNOWN_PLANTING = (
        "unknown-planting",
        '"{words}" is no planting I know{meant}',
        "mend the name, or add it to household.yaml under plantings:  {words}: {{kind: fruit tree}}",
    )
    UNKNOWN_SUBJECT = (
        "unknown-bin-or-batch",
        '"{words}" is no bin and no batch I know{meant}',
        (
            "mend the name, mix the batch in an entry, or add the bin to household.yaml under bins:  "
            "{words}: {{worms: red wigglers}}"
        ),
    )
    UNKNOWN_BATCH = (
        "unknown-batch",
        '"{words}" is no batch I know{meant}',
        "mend the name, or mix it in an entry, as in:  mixed bedding {words}: 3 lb shredded paper, 7 L water",
    )
    UNKNOWN_SOURCE = (
        "unknown-source",
        '"{words}" is no material, batch or bin I know{meant}',
        "name what it came out of as it is called in household.yaml, the catalogue or the line that mixed it",
    )
    IN_REMARK = (
        "in-remark",
        '"{words}" stands in a remark, and would not be taken',
        "put what stands before it into parentheses:  ({remark}) {words}  If it is a remark, put all there",
    )
    READING_NOT_TAKEN = (
        "reading-not-taken",
        '"{words}" holds a reading that would not be taken',
        "begin each reading behind a comma, as in: 68 F, moisture 80%, pH 6.8; put a remark in parentheses",
    )
    NO_READING = (
        "no-reading",
        '"{words}" is checked, but nothing is read',
        "write what you found behind a colon, as in: 68 F, moisture 80%, pH 6.8, smells sweet",
    )
    ABSURD_READING = ("absurd-reading", '"{words}" cannot be: {why}', "look at the number and its unit")
    # ---- batches
    BATCH_KIND = (
        "batch-kind",
        'what is mixed at "{words}" is neither bedding nor slurry',
        "write mixed bedding or mixed slurry, then the batch's name",
    )
    BATCH_NAME = (
        "batch-name",
        "the batch that is mixed here has no name",
        "name it, as in: mixed bedding Batch 7",
    )
    BATCH_TWICE = (
        "batch-twice",
        'a batch "{words}" was mixed before, at {where}',
        "give every batch a name of its own",
    )
    BATCH_NAME_TAKEN = (
        "batch-name-taken",
        '"{words}" is the name of {what} already',
        "give the batch a name of its own",
    )
    NO_INGREDIENTS = (
        "no-ingredients",
        'nothing is said to be in "{words}"',
        "write amounts behind a colon, or in a list indented below the line",
    )
    INGREDIENT_WITHOUT_DASH = (
        "ingredient-without-dash",
        '"{words}" stands below the batch, but is neither in its name nor in its list',
        "write the name on one line, and put a dash before each ingredient, as in:      - {ingredient}",
    )
    BATCH_OF_ITSELF = ("batch-of-itself", '"{words}" cannot be an ingredient of itself', "name another batch")
    # ---- dates and entries
    NO_DATE = (
        "no-date",
        "this line has no date: {why}",
        "put a heading with a date above it, as in: ## 2026-03-14",
    )
    DIGITS_DATE = (
        "digits-date",
        'the date "{words}" is not written so that everybody reads it alike',
        "write the year first: {iso}",
    )
    DATE_WITHOUT_YEAR = (
        "date-without-year",
        'the date "{words}" has no year of four digits',
        "write the whole date, as in: 2026-03-14 or 14 March 2026",
    )
    NO_SUCH_DATE = (
        "no-such-date",
        'there is no day "{words}": {why}',
        "look at the day, the month and the year",
    )
    BARE_DATE = (
        "bare-date",
        '"{words}" is a date, but does not say that the line is of that day',
        "if it is, write:  , on {iso}  If it is a remark, put it in parentheses",
    )
    WRONG_WEEKDAY = ("wrong-weekday", "{iso} is a {right}, not a {wrong}", "mend the weekday or the date")
    OPEN_COMMENT = (
        "open-comment",
        "the comment that begins here is never closed, so all that follows is hidden",
        "close it with -->",
    )
    OPEN_FENCE = (
        "open-fence",
        "the code fence that begins here is never closed, so all that follows is hidden",
        "close it with a line of {words}",
    )
    ENCODING = (
        "encoding",
        "{words} cannot be read as UTF-8: byte {byte} is {what}",
        "save the file as UTF-8 text with LF or CRLF line ends",
    )
    UNREADABLE_FILE = (
        "unreadable-file",
        "{words} cannot be read: {why}",
        "see to the file or its permissions, or take it out of entries/",
    )
    # ---- household.yaml
    NO_HOUSEHOLD = (
        "no-household",
        "there is no household.yaml in entries/",
        "write one; it needs no more than:  household: {{name: Our house}}",
    )
    YAML = ("yaml", "household.yaml cannot be read: {reason}", "{way}")
    UNKNOWN_KEY = ("unknown-key", '"{words}" is no key I know here{meant}', "the keys here are: {keys}")
    PARTED = (
        "parted-number",
        '"{words}" is two values: inside {{}} and [] a comma parts them',
        "write it as:  {whole}",
    )
    DUPLICATE_KEY = (
        "duplicate-key",
        'the key "{words}" stands here a second time; the first is on line {line}',
        "keep one of the two",
    )
    MISSING_KEY = ("missing-key", 'the key "{key}" is missing from {where}', "add it, as in:  {example}")
    WRONG_VALUE = ("wrong-value", '"{words}" is not {expected}', "write it as in:  {example}")
    WRONG_SHAPE = ("wrong-shape", "{where} is to be {expected}, not {found}", "write it as in:  {example}")
    SAME_NAME = (
        "same-name",
        '"{words}" and "{other}" are one name to the reader, who ignores case, "the" and plurals',
        "give one of them another name",
    )
    SHARES = (
        "shares",
        "the shares of {words} add to {sum}, not to 100%",
        "what is not known can be said too, as in:  unknown: 30%",
    )
    RANGE = (
        "range",
        "{words} is not in order: low, typical, high",
        "write the lowest first and the highest last",
    )
    UNLIKELY_CARBON = (
        "unlikely-carbon",
        "{words} comes to {percent}% carbon in its dry matter; organic matter has 25% to 60%",
        "look at its nitrogen and its carbon-to-nitrogen ratio: they have to be figures of one sample",
    )
    LIKE_UNKNOWN = (
        "like-unknown",
        '"{words}" is no material it could be like{meant}',
        "name a material of the catalogue or of this file",
    )
    LIKE_CIRCLE = ("like-circle", '"{words}" is like itself in the end', "give one of them its own figures")
    ENDS_BEFORE_START = ("ends-before-start", "{words} ends before it starts", "look at the two dates")
    # ---- remarks: the totals stand, but look
    NO_VERB = (
        "no-verb",
        'not counted: no verb in front of "{words}"',
        "begin with a verb, as in: fed 2 lb peels to Cellar Bin",
        True,
    )
    NO_DASH = ("no-dash", "not counted: put a dash before it", "write it as a list item:  - {words}", True)
    OPEN_BOX = (
        "open-box",
        "not counted: its box is not ticked",
        "tick it as [x] once it is done, or take the box away",
        True,
    )
    INGREDIENT_DATE = (
        "ingredient-date",
        'the date {date} in "{words}" is not used: all of a batch is mixed on one day',
        "take it out, or put it behind the batch's name, as in: mixed bedding Batch 7, on {date}",
        True,
    )
    IN_CODE = ("in-code", "not counted: indented so far, it is code", "begin the line at the margin", True)
    DATE_ALONE = (
        "date-alone",
        'no entry begins here: "{words}" is a date, but no heading',
        "make a heading of it, with ## and a space in front, as in: ## {iso}",
        True,
    )
    DATE_INSIDE = (
        "date-inside",
        'no entry begins here: the heading holds "{words}", but does not begin with a date that is read',
        "begin the heading with its date, as in: ## {iso} Snowed in",
        True,
    )
    BEFORE_DATE = (
        "before-date",
        "not published: what stands above the first date of {words} belongs to no day",
        "put a heading with a date above it, as in: ## 2026-03-14",
        True,
    )

    # Slips: what was read well but is probably not what was meant. All are remarks.
    TEN_TIMES = (
        "ten-times",
        '{amount} of {material} is {times} times the usual for "{verb}", which is about {usual}',
        "check the number and its unit; if it is right, say so at the end of the line: (it is right)",
        True,
    )
    FUTURE_DATE = (
        "future-date",
        "{date} is still to come: today is {today}",
        "check the year and the month; if it is right, say so at the end of the line: (it is right)",
        True,
    )
    SAME_LINE_TWICE = (
        "same-line-twice",
        "the same line stands at {other} for the same day",
        "take one of the two out, or say at the end of the line: (it is right)",
        True,
    )
    HARVEST_TOO_BIG = (
        "harvest-too-big",
        "{amount} harvested from {bin} brings what came out to more than the {fed} that went in",
        "check the number and the bin; if older castings were in it, say behind the line: (it is right)",
        True,
    )
    BIN_NOT_STARTED = (
        "bin-not-started",
        "{bin} is used on {date}, before it was started on {started}",
        "check the bin and the date, or the bin's started in household.yaml; if it is right: (it is right)",
        True,
    )
    BIN_ENDED = (
        "bin-ended",
        "{bin} is used on {date}, after it ended on {ended}",
        "check the bin and the date, or the bin's ended in household.yaml; if it is right: (it is right)",
        True,
    )
    GIVER_NEVER_GIVES = (
        "giver-never-gives",
        "{giver} stands in household.yaml but has not given or received anything",
        "write down what it gave, or take it out of household.yaml",
        True,
    )
    LONG_ON_HAND = (
        "long-on-hand",
        "{amount} of {material} from this line{others} has been on hand for {days} days",
        "was it used under another name? if it still lies there, say at the end of the line: (it is right)",
        True,
    )
    BATCH_NOT_MIXED = (
        "batch-not-mixed",
        "{batch} is used on {date}, before it was mixed on {mixed}",
        "check both dates; if some of it was mixed before that day: (it is right)",
        True,
    )
    BATCH_OVERDRAWN = (
        "batch-overdrawn",
        "{amount} more of {batch} is used than was left of it ({made} made)",
        "check the amounts and the batch's name; if the batch was bigger: (it is right)",
        True,
    )
    CASTINGS_OVERDRAWN = (
        "castings-overdrawn",
        "{amount} more castings are used here than was on hand",
        "write down what was harvested or bought before; if it was never written down here: (it is right)",
        True,
    )
    COUNTED_BESIDE = (
        "counted-beside",
        "{stock} of {other} is on hand, and {amount} of {material} is counted beside it",
        "if they are the same, name them alike on both lines; if they are not: (it is right)",
        True,
    )

    def __init__(self, code: str, sentence: str, advice: str, remark: bool = False) -> None:  # noqa: FBT001, FBT002 - rows of a table
        self.code = code
        self.sentence = sentence
        self.advice = advice
        self.remark = remark


def fault_rows() -> list[tuple[str, str, str, str]]:
    """Give the rows of the README's table: code, "problem" or "remark", sentence, way out; blanks as "…"."""
    return [
        (
            fault.code,
            "remark" if fault.remark else "problem",
            _blanked(fault.sentence),
            _blanked(fault.advice),
        )
        for fault in Fault
    ]


def _blanked(sentence: str) -> str:
    return sentence.format_map(_Blanks())


class _Blanks(dict[str, str]):
    def __missing__(self, name: str) -> str:
        return "" if name == "meant" else "…"
