"""The words a cut list is written in, by what they say about the numbers beside them, and numbers in words.

Numbers are dictated as in ``nine foot seven and a quarter times eleven``. They become figures only where the words
stand beside a unit or an ``at``; a line whose words may group in several ways (``one twenty six``) stays as it is, and
is asked about.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise

from solver.categories import Category


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


COUNT = _set(
    "pc pcs pce pces piece pieces pieses peice peices ea each off stick sticks lengths lgths panel panels strip "
    "strips board boards courses crs rows times cuts units x's"
)
"""After a number: so many of them."""

QUANTITY_LABEL = _set("qty quantity qnty count pcs pieces")
"""Before a number: so many of them."""

LENGTH_LABEL = _set("length len lgth lg long")
"""Beside a number: it is a length."""

SPELLED = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
    "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17,
    "eighteen": 18, "nineteen": 19, "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "dozen": 12, "doz": 12,
    "pair": 2, "couple": 2,
}  # fmt: skip
"""Numbers in words; a length is never written so."""

VAGUE = _set(
    "few several some many various handful half quarter hundred hundreds thousand thousands dozens score "
    "another remaining"
)
"""Before a length: so many of them that nobody can count."""

LABEL = _set("line bundle course page step phase floor level storey story apt suite lot unit")
"""Before a number: it names something and counts nothing."""

PLACE = _set(
    "wall room window door gable dormer porch side garage bay elevation section house deck front back rear left "
    "right north south east west upstairs downstairs upper lower main building bldg shed"
)
"""A place; a number after it may name the place or count the pieces."""

MEASURED = _set("wall room window door gable dormer porch garage house deck building bldg shed")
"""Places that have a length themselves."""

MORE_OR_LESS = _set("heavy light full bare fat tight")
"""Behind a length: it is a little more or less."""

ALL_TOLD = _set("total totals totalling altogether overall all")
"""Beside a length without a number of pieces: it is the sum of them."""

SOLD_BY = _set(
    "carton cartons ctn ctns box boxes bundle bundles bdl bdls case cases square squares sq sqs lf lft lineal linear "
    "lin sqft sf roll rolls pair pairs pr prs set sets kit kits bag bags tube tubes"
)
"""After a number: so many of something that is not a piece."""

WARY = _set(
    "not don't dont available carried comes cancel cancelled canceled delete lap laps overlap kerf gap allowance "
    "expansion exposure reveal except instead was were already void ignore scrap leftover leftovers offcut "
    "offcuts stock high height tall wide width deep depth thick spacing apart about approx approximately roughly "
    "around maybe max min maximum minimum least most circa between strong shy scant tbd tbc verify confirm range "
    "if twice again longer shorter option optional alt alternate alternative return returns returned"
)
"""Beside a length: it may be no piece to cut, or not this length."""

CHANGES = _set(
    "cancel cancelled canceled scratch strike delete remove omit forget ignore disregard skip instead swap replace "
    "change changed extra extras spare spares add same"
)
"""On a line without pieces: it may change others."""

ALTERING = CHANGES | _set(
    "not don't option optional alt alternate alternative return returns returned tbd tbc verify confirm hold void "
    "maybe twice short shorter longer less minus plus strong shy scant"
)
"""In a remark beside a piece: it may be no piece to cut, or not so long."""

TITLE = _set(
    "cut cuts list lists sheet job materials material needed required takeoff measurements see below attached "
    "following best sincerely good page end total totals"
)
"""Words of titles and of greetings, which say nothing of the pieces below."""

TRADE = _set("panel panels strip solid").union(*(_set(category.kind.spoken) for category in Category))
"""Kinds of material."""

COLOURS = _set(
    "white sand tan clay almond beige cream ivory grey gray black brown bronze blue green red yellow linen khaki slate "
    "charcoal taupe sage navy burgundy maroon wheat pewter silver gold orange cedar wicker"
)
"""Where two colours differ, so do the materials."""

KIND_LETTERS = _set("j f h u")
"""Letters that name a channel as often as they mark a piece."""

NOT_MARKS = _set(
    "PO OK RE NB PM AM FT IN LF EA PC TO AT BY MM CM NO ON OF OR SO UP IS IT WE MY ME AS AN IF DO GO BE US HI PCS X"
)
"""Short words in capitals that mark no piece."""

FUNCTION = _set(
    "a an the and or for with from by on in is are be this that these those it we you i he they please need needs want "
    "would could can will have has all my our your his their as if so just also then there here thanks thank hi hello "
    "hey morning afternoon evening regards cheers dear send order quote cut me us do any some more"
)
"""Words of sentences."""

PREPOSITIONS = _set("and or for with from by on in")
"""Words that stand beside pieces as often as in sentences."""


def spelled(written: str) -> int:
    """Return a number in words: ``six``, ``half a dozen``, ``1 1/2 dozen``, ``two dozen``, ``a pair``."""
    words = written.lower().replace("-", " ").split()
    if "/" in written:
        return int(SPELLED["dozen"] * sum(Fraction(word) for word in words if word[0].isdigit()))
    if "half" in words:
        return SPELLED["dozen"] // 2
    times = SPELLED.get(words[0]) or (int(words[0]) if words[0].isdigit() else 1)
    return times * SPELLED[words[-1]] if len(words) > 1 else times


PLACING = _set(
    "over under above below behind beside beneath underneath near by around along alongside next against opposite for "
    "from of off beyond inside outside past toward towards until before after"
)
"""Words before a place or a person: what follows says where a piece goes, or whose it is."""

_SAID_BESIDE = _set(
    "kitchen bath bathroom bathrooms bedroom bedrooms living dining hall hallway attic basement closet laundry office "
    "study den pantry stair stairs stairwell entry entrance foyer mudroom loft cellar patio carport shop barn cabin "
    "cottage addition annex chimney meter vent vents hose bib spigot eave eaves peak peaks ridge rake rakes roof "
    "fireplace light lights outlet pipe fence driveway street yard garden pool slider sill sills head heads jamb "
    "jambs top bottom middle centre center end ends edge edges sides wing gables dormers windows doors walls rooms "
    "porches decks win wins wdw wdws dr drs opening openings step steps landing pump tank sink bays triangle "
    "triangles pls plz thx ty asap only even sawn exact exactly net finished clear uncut whole full size sized long "
    "short shorts ones rip ripped row rows set same first second third last again too incl including per both others "
    "other everything okay ok so um uh like right got let see that's it's i'm we're i'll we'll i've we've going make "
    "makes give gimme get getting grab put about well now yes no yeah er number mark marked tag labelled labeled "
    "called bundled separate separately together keep mind sure they're lot ordered today tomorrow monday tuesday "
    "wednesday thursday friday saturday sunday mon tue tues wed thu thurs fri sat sun week pickup pick ship truck "
    "said says as was were been when where while what which who how much many very really actually already still yet "
    "because since but call text phone subject re fwd attn invoice quote project job customer account contact ref "
    "bill address foot inch lengths plain lap lapped channel between"
)
NO_MATERIAL = FUNCTION | PLACE | LABEL | TITLE | PLACING | MORE_OR_LESS | ALL_TOLD | _SAID_BESIDE
"""Words beside pieces that say nothing of what these are cut from: places, greetings, words of sentences."""


_SMALL_WORDS = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
)
_SMALL = {word: value for value, word in enumerate(_SMALL_WORDS.split())}
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90,
}  # fmt: skip
_VALUES = _SMALL | _TENS | {"a": 1, "an": 1}
_PARTS = {"half": 2, "quarter": 4, "eighth": 8, "sixteenth": 16}
_SMALL_WORD = "|".join(sorted(_SMALL, key=len, reverse=True))
_UNDER_100 = rf"(?:(?:{'|'.join(_TENS)})(?:[\ -](?:{'|'.join(list(_SMALL)[1:10])}))?|{_SMALL_WORD})"
_NUMBER = rf"(?:(?:(?:{_SMALL_WORD}|an?)\ hundred(?:\ (?:and\ )?{_UNDER_100})?)|{_UNDER_100})"
_OF_A_PART = r"(?:an?|one|three|five|seven|nine|eleven|thirteen|fifteen)"
_PART = rf"{_OF_A_PART}\ (?:half|quarters?|eighths?|sixteenths?)"
_UNIT = r"(?:foot|feet|ft|inch|inches|in|mm|cm|millimet(?:er|re)s?|met(?:er|re)s?)"
_END = r"(?![\w-])"
_WORDED = re.compile(rf"(?<![\w-]){_NUMBER}{_END}", re.IGNORECASE)
_BESIDE = re.compile(
    rf"(?<![\w-]){_NUMBER}(?:\ and\ {_PART})?\ (?:{_UNIT}|at|@|of|times|pieces?|pcs|by){_END}|"
    rf"(?<![\w-])(?:at|of|times|by|@)\ {_NUMBER}{_END}",
    re.IGNORECASE,
)
_ORDINAL = re.compile(
    rf"{_UNIT}\ (?:and\ )?(?:third|fourth|fifth|sixth|seventh|ninth|tenth|eleventh|twelfth){_END}", re.IGNORECASE
)
_MIXED = re.compile(rf"(?<![\w-])(?P<whole>{_NUMBER}|[0-9]+)\ and\ (?P<part>{_PART}){_END}", re.IGNORECASE)
_ALLOWED = re.compile(rf"(?P<sign>minus|less|plus)\ (?P<part>{_PART}){_END}(?!\ (?:foot|feet|ft))", re.IGNORECASE)
_SIZE = re.compile(rf"(?<![\w-])(?<!and\ )(?:three|five|seven)\ (?:quarters?|eighths?){_END}(?!\ of)", re.IGNORECASE)
_TIMES = re.compile(r"(?<=[\w'\"])\ times\ (?=[0-9])", re.IGNORECASE)
_FEET = re.compile(r"([0-9]+)\ (?:foot|feet)\ ([0-9])", re.IGNORECASE)


def in_figures(text: str) -> str:
    """Return a line with its numbers in words as figures, itself where it is not certain how they group."""
    if not _BESIDE.search(text) or _ORDINAL.search(text):
        return text
    said = _MIXED.sub(lambda match: f"{_value(match['whole'])} {_fraction(match['part'])}", text)
    said = _ALLOWED.sub(lambda match: f"{match['sign']} {_fraction(match['part'])}", said)
    said = _SIZE.sub(lambda match: _fraction(match.group()), said)
    numbers = list(_WORDED.finditer(said))
    if any(said[one.end() : other.start()].lower() in (" ", " and ") for one, other in pairwise(numbers)):
        return text
    said = _WORDED.sub(lambda match: str(_value(match.group())), said)
    return _FEET.sub(r"\1' \2", _TIMES.sub(" x ", said))


def _fraction(written: str) -> str:
    count, part = written.lower().split()
    return f"{_SMALL.get(count, 1)}/{_PARTS[part.rstrip('s')]}"


def _value(written: str) -> int:
    """Return a number in words; ``nineteen hundred and four`` is 1904."""
    total = 0
    for word in written.lower().replace("-", " ").split():
        if word == "hundred":
            total = 100 * max(total, 1)
        elif word != "and":
            total += int(word) if word.isdigit() else _VALUES.get(word, 0)
    return total
