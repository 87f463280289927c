"""One line cut into tokens, and the line in the course of being understood.

Each token has a letter that says what it is, for ``grammar`` to match.

======  ==================================================================================
letter  token
======  ==================================================================================
n       a whole number                  v   a number with a fraction or decimals
l       a length with its unit          f a a fraction alone, ``3/4``, ``1/2'``, ``3 /8"``
g       feet, a gap, then a number under 12: ``10' 6``
G       a fraction above one, as copying glues it to the whole before it: ``341/2``
p       two numbers and a dash: ``10-1``          P   three: ``2-10-6``
j       two numbers and a comma: ``3,51``
c E     count words: pcs; ea, each      Q   a label of a quantity      N   no.
k       a label of a length             b B a label: course, mark      h   a place: wall, porch
s       a number in words               u   sold by: carton, square    r   a word to be wary of
o       less, minus, plus               t   to, or                     @   at, of
x X Y   times, glued to nothing, to the number before, to the number after
T       a date as a cell shows it: ``9-Jul``
D       ditto                           m   a mark                     K   a mark or a number and a letter
d       a profile size: ``5/8 J``       e   a date, a price, a telephone number, …
z       a number and a letter in a tangle   V   few, several, hundreds      R   an arrow
M       a material that was given       w   any other word             ?   an expression of doubt
( ) - = : / , | +  themselves (``,`` also ; and &, ``|`` also a tab or a wide gap)
======  ==================================================================================
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from solver.cutlist import words
from solver.lengths import Length


class Token(NamedTuple):
    """A letter, the text it stands for, and where that begins in the line."""

    letter: str
    text: str
    start: int


FRACTION = r"[0-9]{1,2}/(?:2|3|4|8|16|32|64)(?![0-9])"
MIXED = rf"[0-9]{{1,6}}(?:-|\ {{1,2}}){FRACTION}"
NUMBER = r"(?:[0-9]{1,7}(?:\.[0-9]{1,8})?|(?<![a-z.0-9])\.[0-9]{1,8})"
_UNDER_12 = r"(?:1[01]|[0-9])(?![0-9])"
_END = r"(?![a-wyz]|x[a-z])"
_FT = rf"(?:\ ?'|\ ?-?\ ?(?:ft|feet|foot){_END}\.?)"
_IN = rf"(?:\ ?\"|\ ?-?\ ?(?:inch(?:es)?|ins?){_END}(?!\ (?:the|a|my|our|stock|total|all)\ )\.?)"
_COUNTED = rf"\ *(?:{'|'.join(sorted(words.COUNT, key=len, reverse=True))})(?![a-z])"
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec)(?:[a-z]{3,6})?(?![a-z])\.?"
_DITTO = r"""
  〃
| (?<![^\s|])(?:do\b\.?|same(?:\ again|\ as\ (?:above|before))?(?:,?\ but)?\b,?)(?=\s*[0-9@])
"""
_SHORT_MONTH = "jan feb mar apr may jun jul aug sep oct nov dec"
_CELL_DATE = rf"""
  [0-9]{{1,2}}-(?:{_SHORT_MONTH.replace(" ", "|")})(?![a-z0-9])
| (?<![a-z])(?:{_SHORT_MONTH.replace(" ", "|")})-[0-9]{{1,2}}(?![a-z0-9'"/])
"""
_SPANS = (
    "weeks?|wks?|days?|hours?|hrs?|years?|yrs?|minutes?|mins?|months?|men|guys|people|trips?|miles|km|lbs?|kgs?|"
    "degrees|gauge|ga|oz|nails|screws|storey|story|bed"
)
_CHANNEL = r"(?:[\ue000-\uf8ff]|[jfh]|[jfh]?[-\ ]?(?:channels?|chan\b|trim\b|mou?ld|pocket))(?![a-z])"

_DUE = r"""
  (?:deliver(?:y|ed)?|due|ready|wanted|pick(?:ed)?[\ -]?up|dated?|checked|drawn|list)
  (?:\ (?:by|on|for|before|until))?(?:\ [a-z]{3,9})?\ (?:1[0-2]|0?[1-9])/(?:[12][0-9]|3[01]|0?[1-9])(?![0-9'"/-])
| (?:deliver(?:y|ed)?|due|ready|wanted|need(?:ed)?|pick(?:ed)?[\ -]?up)
  \ (?:by|on|before|until)(?:\ [a-z]{3,9})?\ (?:1[0-2]|0?[1-9])[/-](?:[12][0-9]|3[01]|0?[1-9])(?![0-9'"/-])
"""
"""A day without its year, behind a word that only days follow: ``deliver by 12/5``."""
_NUMBERED = r"\#?[a-z-]{0,5}[0-9][a-z0-9-]*"
_YEAR = r"(?:19|20)[0-9]{2}"
_DAY = r"(?:[0-2]?[0-9]|3[01])"
_NOT_PIECES = rf"""
  (?=[0-9.]) (?:
      [0-9][0-9,]{{0,12}}(?:\.[0-9]{{1,6}})?\ ?(?:usd|eur|gbp|dollars|euros?|[€£$](?!\ ?[0-9]))
    | {NUMBER}\ ?(?:%|percent)
    | (?:{_DAY}/{_DAY}/|{_DAY}\.{_DAY}\.|{_DAY}-{_DAY}-){_YEAR}(?![0-9])
    | (?:{_DAY}/{_DAY}/|{_DAY}\.{_DAY}\.)[0-9]{{2}}(?![0-9'"])
    | {_YEAR}-[0-9]{{2}}-[0-9]{{2}}(?:T[0-9:.]+Z?)?
    | [0-9]{{1,2}}(?:st|nd|rd|th)?\ (?:of\ )?{_MONTH}(?:,?\ {_YEAR})?
    | [0-9]{{1,2}}:[0-9]{{2}}(?::[0-9]{{2}})?(?:\ ?[ap]\.?m\b\.?)?(?!['"])
    | [0-9]{{1,2}}\ ?[ap]\.?m\b
    | [0-9]{{3}}[-.\ ][0-9]{{3}}[-.\ ][0-9]{{4}}(?![0-9'"/])
    | [0-9]{{3}}-[0-9]{{4}}(?![0-9'"/])
    | [0-9]{{1,3}}(?:st|nd|rd|th)(?![a-z])
    | {NUMBER}(?:{_IN})?\ ?o\.?c(?![a-z])\.?
    | {NUMBER}(?:\ ?-\ ?[0-9]{{1,3}})?[\ -]?(?:{_SPANS})(?![a-z])
    | [0-9]{{8,}}
  )
| (?=[a-z]) (?:
      (?:https?://|www\.)\S+
    | {_DUE}
    | {_MONTH}\ [0-9]{{1,2}}(?:st|nd|rd|th)?(?![0-9'"/-])(?:,?\ {_YEAR})?
    | (?:p\.?o\.?|inv(?:oice)?|acct|account|sku|zip|permit|licen[cs]e|ref)\ *(?:no\.?|number|\#|:)*\ *{_NUMBERED}
    | (?:order|quote|job|ticket)\ *(?:no\.?|number|\#)\ *:?\ *{_NUMBERED}
  )
| [$€£]\ ?[0-9][0-9,]{{0,12}}(?:\.[0-9]{{1,6}})?(?:\ ?/\ ?[a-z]+)?
| \+[0-9][0-9().\ -]{{7,18}}[0-9]
| \([0-9]{{3}}\)\ ?[0-9]{{3}}[-.\ ][0-9]{{4}}(?![0-9'"/])
"""

_TORN = r"(?<![0-9./-])(?:1G2|[13]G4|[1357]G8|(?:[13579]|1[135])G16)(?![0-9])".replace("G", r"(?:\ {1,2}/|/\ {1,2})")
"""A fraction with a gap on one side of its stroke: it may be one, or so many of so long."""
_NUMERAL = "|".join(word for word in words.SPELLED if word not in ("dozen", "doz", "pair", "couple"))
_SPELLED = rf"""
  (?:[0-9]{{1,3}}[\ -])?(?:1/[234]|2/3|3/4)(?:-|\ {{1,2}})(?:an?\ )?doz(?:en)?(?![a-z])
| (?:(?:an?|one)\ )?half[\ -](?:an?\ )?doz(?:en)?(?![a-z])
| (?:an?|{_NUMERAL}|[0-9]{{1,4}})[\ -]doz(?:en)?(?![a-z])
| (?<![0-9]\ )(?<![0-9])(?<!\w\w\ )(?:an?\ )?(?:pair|couple)(?=\ of\b|\ ?[0-9])
"""

_PART_IN_WORDS = r"""
  (?:(?:(?:and|&|an?|one|three|five|seven|nine|eleven|thirteen|fifteen)\ {1,2}){1,2}|(?<=[0-9'"]\ ))
  (?:half|halves|quarters?|eighths?|sixteenths?)(?![a-z])(?!\ *-?(?:round|an?\ doz|doz|hundred|thousand|of\b|@|[0-9]))
| and\ {1,2}(?:change|an?\ (?:bit|hair|little|tad|touch))(?![a-z])
"""
"""A part in words beside a length, ``and a half`` or ``and change``: none of what is read, so it is asked about."""

_PROFILE = rf"""
  dutch[-\ ]?lap(?![a-z])
| (?:double|triple|dbl|tpl|quad)\ ?-?\ ?[0-9](?:\.[0-9]|[\ -]?{FRACTION})?(?:[\ -]?(?:in\b\.?|inch\b|\"))?(?![0-9'/])
| (?:{MIXED}|{NUMBER}){_IN}[\ -](?:wide|face|exposure|reveal|profile)(?![a-z])
| (?:[jf]|[jf]?-?channel)\ [1357]/(?:2|4|8|16)(?![0-9]|{_FT})\"?
| \.0[0-9]{{2}}(?![0-9])\"?
| (?<![0-9][\ -])(?:1[\ -])?[1357]/(?:2|4|8|16){_IN}?[\ -]?(?={_CHANNEL})
| (?<![0-9][\ -])1{_IN}[\ -]?(?={_CHANNEL})
"""

_FEET = rf"(?:{MIXED}|{NUMBER}){_FT}"
_FEET_INCHES = rf"""
  {_FEET} \ *-?\ *(?:(?:{MIXED}|{FRACTION}|{NUMBER}){_IN} | (?:{_UNDER_12}(?:-|\ {{1,2}}))?{FRACTION})
"""
_IMPROPER = r"(?:[0-9]{2,4}/[248]|(?:1[7-9]|[2-9][0-9]|[0-9]{3,4})/16|(?:3[3-9]|[4-9][0-9]|[0-9]{3,4})/32)(?![0-9/])"
_GAP = rf"[0-9]{{1,3}}{_FT}(?:\ {{1,2}}|\ -\ ?|-\ ){_UNDER_12}(?![/.0-9]|[xX]\ |\ ?[x@]\ ?[0-9]+{_FT}|{_FT}|{_COUNTED})"
_FEET_GLUED = rf"{_FEET} (?:-?{_UNDER_12}(?:\.[0-9]+)?(?!['/.]|[xX]\ |{_COUNTED}))?"
_INCHES = rf"(?<!\")(?:{MIXED}|{FRACTION}|{NUMBER}){_IN}"
_PAIR = rf"""
  [0-9]{{1,4}} (?:-(?=[0-9])|\ ?-\ ?(?![0-9.]+(?:\ ?[x@]|{_COUNTED})))
  (?:{MIXED}|{NUMBER})(?:{_IN})?(?![0-9/]|\.[0-9]|{_FT}|-[0-9]|\ ?(?:mm|cm|m)(?![a-z])|\ ?@)
"""
_MARK = r"""
  \[[^\]\[]{1,40}\]
| (?!(?:x|qty|pcs?|no|at|len|l|lot|ea)[0-9])[a-z]{1,6}[-/]?[0-9]{1,4}[a-z]?(?![0-9a-z'"/.])
"""


def _pattern(metric: str) -> re.Pattern[str]:
    return re.compile(
        rf"""
  (?P<M>[\ue000-\uf8ff])
| (?P<D>{_DITTO})
| (?P<T>{_CELL_DATE})
| (?P<e>{_NOT_PIECES})
| (?P<s>(?<![a-z0-9.,/'"-])(?:{_SPELLED}))
| (?P<r>(?<![a-z]){_PART_IN_WORDS})
| (?P<d>{_PROFILE})
| (?P<a>{FRACTION}{_FT}(?!\ ?-?\ ?[0-9]) | {_TORN}(?:{_FT}|{_IN}))
| (?P<G>(?<![0-9/.])(?:[0-9]{{1,3}}{_FT}\ ?-?\ ?)?{_IMPROPER}(?!{_FT})(?:{_IN})?)
| (?P<l1>{_FEET_INCHES})
| (?P<g>{_GAP})
| (?P<l2>{_FEET_GLUED} | {_INCHES} | {metric})
| (?P<j>(?<![0-9,.])[0-9]{{1,7}},[0-9]{{1,7}}(?![0-9'"/]|[,.-][0-9]|\ ?-?[0-9]|\ (?:[0-9]+/)|{_FT}|{_IN}))
| (?P<P>[0-9]{{1,3}}-[0-9]{{1,2}}-[0-9]{{1,2}}(?![0-9/'-]))
| (?P<p>{_PAIR})
| (?P<K>[0-9]{{1,3}}(?-i:[A-EGIK-WYZ])(?![a-z0-9'"]) | [0-9]+(?!x|pcs?|ea)[a-z]{{1,6}}[0-9]+(?![0-9'"/]))
| (?P<m>{_MARK})
| (?P<v>{MIXED} | [0-9]{{1,7}}\.[0-9]{{1,8}} | (?<![a-z.0-9])\.[0-9]{{1,8}})
| (?P<f>(?=[0-9]?[13579]/){FRACTION}(?!{_FT}))
| (?P<n>[0-9]{{1,7}})
| (?P<R>[-=]+>|<[-=]+|[<>←→⇐⇒⟵⟶⟸⟹➔➜])
| (?P<x>[×*]|x(?![a-z]))
| (?P<w>[^\W\d_]+(?:[-'_&][^\W\d_]+)*)
| (?P<wide>\t|\ {{3,}}|\|)
| (?P<sign>[^\s\w])
""",
        re.IGNORECASE | re.VERBOSE,
    )


_METRIC = (
    r"(?<![0-9.,])[0-9]{{1,2}}m[0-9]{{2}}(?![0-9a-z'\"/])|"
    r"[0-9]{{1,7}}(?:\.[0-9]{{1,6}}|,[0-9]{{1,3}}(?![0-9])|,[0-9]{{4}}(?=\ ?m(?!m)))?\ ?-?"
    r"(?:mm|cm|{m}|millimet(?:re|er)s?|met(?:re|er)s?)(?![a-wyz0-9'\"]|x[a-z])"
)
_PATTERNS = {
    False: _pattern(_METRIC.format(m="(?-i:m)")),
    True: _pattern(_METRIC.format(m="m")),
}
"""By whether the list is metric: only then is M a metre."""

_MAIL = re.compile(r"[^\s@]{1,64}@[^\s@]{1,64}\.[a-z]{2,}", re.IGNORECASE)

_WORDS: Mapping[str, str] = {
    **dict.fromkeys(words.PLACE, "h"),
    **dict.fromkeys(words.LENGTH_LABEL, "k"),
    **dict.fromkeys(words.COUNT, "c"),
    **dict.fromkeys(("ea", "each"), "E"),
    **dict.fromkeys(words.QUANTITY_LABEL - words.COUNT, "Q"),
    **dict.fromkeys(words.LABEL, "b"),
    **dict.fromkeys(words.SPELLED, "s"),
    **dict.fromkeys(words.VAGUE, "V"),
    **dict.fromkeys(words.SOLD_BY, "u"),
    **dict.fromkeys(words.WARY, "r"),
    **dict.fromkeys(("less", "minus", "plus", "deduct", "subtract", "allow"), "o"),
    **dict.fromkeys(("to", "or", "thru", "through"), "t"),
    **dict.fromkeys(("at", "of", "à"), "@"),
    **dict.fromkeys(("no", "nos", "nr", "number"), "N"),
    "ditto": "D",
    **dict.fromkeys(("mark", "tag", "item", "id"), "B"),
    "and": ",",
}
_SIGNS: Mapping[str, str] = {
    "@": "@", "(": "(", ")": ")", "-": "-", "=": "=", ":": ":", "/": "/", ",": ",", ";": ",", "&": ",", "+": "+",
    '"': "D", "?": "?", "~": "?", "±": "?", "#": "#",
}  # fmt: skip


def tokens(text: str, *, metric: bool) -> list[Token]:
    """Return the tokens of a line of plain text, in order; what says nothing (full stops, stray marks) is left out."""
    found: list[Token] = []
    end = 0
    if "@" in text:
        text = _MAIL.sub(" ", text)
    for match in _PATTERNS[metric].finditer(text):
        group, piece = match.lastgroup or "", match.group()
        letter = _letter(group, piece, text, match)
        if letter:
            if found and match.start() == end and _tangled(found[-1], letter):
                letter = "z"
            if letter == "b" and found and found[-1].letter in "ns" and piece.lower() == "lot":
                letter = "u"
            found.append(Token(letter, piece, match.start()))
            end = match.end()
    return found


def _tangled(before: Token, letter: str) -> bool:
    """Whether a number follows a letter or a foot mark a letter without a gap: ``l0'1"``, ``10'l"``."""
    if letter in "lnvgp":
        return before.letter in "wmk" or (letter == "n" and before.letter == "l" and before.text.endswith("'"))
    return letter in "wmk" and before.letter in "lnvgp" and before.text[-1] not in '" .'


def _letter(group: str, piece: str, text: str, match: re.Match[str]) -> str:
    if group == "w":
        return _word(piece)
    if group == "sign":
        return _SIGNS.get(piece, "") if piece != '"' or _stands_alone(text, match) else ""
    if group == "x":
        return _times(text, match)
    return "|" if group == "wide" else group[0]


def _stands_alone(text: str, match: re.Match[str]) -> bool:
    around = text[: match.start()][-1:] + text[match.end() : match.end() + 1]
    return not around.strip(" \t,;|@-")


def _word(piece: str) -> str:
    letter = _WORDS.get(piece.lower())
    if letter:
        return letter
    if len(piece) <= 2 and piece.isupper() and piece.isascii() and piece not in words.NOT_MARKS:
        return "m"
    return "w"


def _times(text: str, match: re.Match[str]) -> str:
    start, end = match.span()
    before = start > 0 and text[start - 1].isdigit()
    after = end < len(text) and text[end].isdigit()
    return "x" if before == after else ("X" if before else "Y")


@dataclass(frozen=True, slots=True)
class Piece:
    """So many of one length, and the tokens (first, last) of the line that said so."""

    quantity: int
    length: Length
    first: int
    last: int


@dataclass(slots=True)
class Clause:
    """The tokens of a line, a letter for each (rules write over them), and what has been measured and counted."""

    tokens: list[Token]
    letters: str
    lengths: dict[int, Length] = field(default_factory=dict)
    counts: dict[int, int] = field(default_factory=dict)

    @classmethod
    def of(cls, tokens: list[Token]) -> Clause:
        """Return a clause of which nothing is understood yet."""
        return cls(tokens, "".join(token.letter for token in tokens))

    def put(self, at: int, letters: str) -> None:
        """Write letters over those from ``at`` on."""
        self.letters = self.letters[:at] + letters + self.letters[at + len(letters) :]

    def text(self, at: int) -> str:
        """Return what was written at a token."""
        return self.tokens[at].text.strip()

    def written(self, first: int, last: int) -> str:
        """Return what was written from one token to another."""
        return " ".join(token.text.strip() for token in self.tokens[first : last + 1])

    def has(self, letters: str) -> bool:
        """Return whether any of the letters stand somewhere."""
        return any(letter in self.letters for letter in letters)

    def all_at(self, letters: str) -> list[int]:
        """Return where any of the letters stand."""
        return [at for at, letter in enumerate(self.letters) if letter in letters]


def day_and_month(written: str) -> tuple[int, int]:
    """Return the day and the month of a date as a cell shows it: ``9-Jul``, ``Jul-09``."""
    first, second = written.lower().split("-")
    day, month = (first, second) if first.isdigit() else (second, first)
    return int(day), _SHORT_MONTH.split().index(month) + 1
