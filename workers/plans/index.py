"""Plans found again: by number, by words of customer, job and purchase order, by telephone, by dates, newest first.

One sorted set holds an entry for every word by which a plan may be found, all with the same score, so that Redis
keeps them in the order of their bytes and a word's beginning is one stretch of it. An entry is ``client, field, word,
stamp, id`` with NUL between; the stamp is the second of asking and the serial number, so that entries of one word lie
in the order of time. A second set holds by the moment of its end what leaves the index with a plan.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import cast

from redis import Redis

from workers import PREFIX
from workers.orders.particulars import Particulars
from workers.orders.plan_number import serial_of

ENTRIES = PREFIX + "index"
LEAVING = PREFIX + "index:leaving"
SERIALS = PREFIX + "serials"
NUL = "\0"
_MOST_LEAVING = 500
_PHONE_DIGITS = 10
"""Of a telephone number so many last digits count: nobody is sure of what stands before them."""
_LEAST_PHONE = 4

ENTER = """
local function enter(index, words, client, serial, created, id)
  local stamp = string.format('%012d-%010d', math.floor(tonumber(created)), tonumber(serial))
  local entries = {}
  for word in (words .. client .. '\\0a\\0\\n' .. client .. '\\0n\\0' .. serial .. '\\n'):gmatch('[^\\n]+') do
    local entry = word .. '\\0' .. stamp .. '\\0' .. id
    redis.call('ZADD', index, 0, entry)
    entries[#entries + 1] = entry
  end
  return table.concat(entries, '\\n')
end
local function leave(index, entries)
  for entry in (entries or ''):gmatch('[^\\n]+') do redis.call('ZREM', index, entry) end
end
"""
"""How a plan enters the index and leaves it, for the scripts that make, change and remove plans."""

PRUNE = ENTER + """
-- KEYS: index, leaving
-- ARGV: how many at most
local now = redis.call('TIME')
now = now[1] .. '.' .. string.format('%06d', now[2])
for _, entries in ipairs(redis.call('ZRANGEBYSCORE', KEYS[2], '-inf', now, 'LIMIT', 0, ARGV[1])) do
  leave(KEYS[1], entries)
  redis.call('ZREM', KEYS[2], entries)
end
"""
"""Take out of the index what has expired."""


@dataclass(frozen=True, slots=True)
class Sought:
    """What is sought: ``text`` in any field, the others in theirs; of words their beginnings, of telephones the ends.

    ``since`` and ``until`` are about the moment of asking, the second excluded; ``wanted_from`` and ``wanted_to``
    about the day by which it is wanted, both included.
    """

    text: str = ""
    serial: int | None = None
    name: str = ""
    customer: str = ""
    purchase_order: str = ""
    phone: str = ""
    ref: str = ""
    since: datetime | None = None
    until: datetime | None = None
    wanted_from: date | None = None
    wanted_to: date | None = None


_FIELDS = {"name": "j", "customer": "c", "purchase_order": "o", "ref": "r"}
"""Fields of words, with the letter that they have in the index."""


def words_of(client: str, name: str, particulars: Particulars) -> str:
    """Return what a plan is found by, a line each, for ``enter``."""
    texts = {"name": name} | {field: getattr(particulars, field) for field in ("customer", "purchase_order", "ref")}
    found = {(letter, word) for field, letter in _FIELDS.items() for word in _entered(texts[field])}
    if phone := _phone(particulars.phone):
        found.add(("p", phone))
    if particulars.wanted_by:
        found.add(("w", particulars.wanted_by.isoformat()))
    return "".join(f"{NUL.join((client, *entry))}\n" for entry in sorted(found))


def _entered(text: str) -> Iterator[str]:
    """Yield the words of a text, and all of it in one: ``4471-B`` is found as ``4471b`` too."""
    words = words_in(text)
    yield from words
    if len(words) > 1:
        yield "".join(words)[:64]


def words_in(text: str) -> list[str]:
    """Return the words of a text as they are sought: without case and accents."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return [word[:64] for word in re.findall(r"\w+", bare)][:40]


def _phone(text: str) -> str:
    """Return the last digits of a telephone number, last first, so that its end is a beginning."""
    return "".join(letter for letter in text if letter.isascii() and letter.isdigit())[::-1][:_PHONE_DIGITS]


class PlanIndex:
    """The index in Redis."""

    def __init__(self, redis: Redis) -> None:
        self.redis = redis
        self._prune = redis.register_script(PRUNE)

    def prune(self) -> None:
        """Take out what has expired, as much as is quickly done."""
        self._prune(keys=[ENTRIES, LEAVING], args=[_MOST_LEAVING])

    def look_up(self, client: str, sought: Sought, before: str, most: int) -> list[tuple[str, str]]:
        """Return stamp and id of plans, newest first, beginning behind the stamp ``before`` if there is one."""
        low = _stamp(sought.since) if sought.since else ""
        ends = [before] * bool(before) + ([_stamp(sought.until)] if sought.until else [])
        high = min(ends, default="")
        if terms := list(_terms(client, sought)):
            both = set.intersection(*map(self._any_of, terms))
            within = (entry for entry in both if low.encode() <= entry and (not high or entry < high.encode()))
            entries = sorted(within, reverse=True)[:most]
        else:
            start = NUL.join((client, "a", "", ""))
            top = f"({start}{high}" if high else f"[{start}:"
            newest = self.redis.zrevrangebylex(ENTRIES, top, f"[{start}{low}", start=0, num=most)
            entries = [_end(entry) for entry in cast("list[bytes]", newest)]
        return [(stamp.decode(), plan_id.decode()) for stamp, plan_id in (entry.split(b"\0") for entry in entries)]

    def _any_of(self, stretches: Iterable[Stretch]) -> set[bytes]:
        with self.redis.pipeline(transaction=False) as pipe:
            for low, high in stretches:
                pipe.zrangebylex(ENTRIES, low, high)
            return {_end(entry) for found in pipe.execute() for entry in found}


def _end(entry: bytes) -> bytes:
    """Return stamp, NUL and id of an entry."""
    return entry.split(b"\0", 3)[3]


def _stamp(moment: datetime) -> str:
    return f"{int(moment.timestamp()):012d}-"


Stretch = tuple[str, str]
"""Where a stretch of the index begins and ends."""


def _terms(client: str, sought: Sought) -> Iterator[list[Stretch]]:
    """Yield for each thing that must hold the stretches of the index, in one of which it does.

    What is sought and has no word in it is nowhere.
    """
    texts = (sought.text, *(getattr(sought, field) for field in _FIELDS))
    if any(text.strip() and not words_in(text) for text in texts) or (sought.phone and not _phone(sought.phone)):
        yield []
    figures = "".join(words_in(sought.text))
    for word in [figures] if figures.isdecimal() else words_in(sought.text):
        yield [*_anywhere(client, word)]
    for field, letter in _FIELDS.items():
        yield from ([_beginning(client, letter, word)] for word in words_in(getattr(sought, field)))
    if sought.phone:
        yield [_beginning(client, "p", _phone(sought.phone))]
    if sought.serial is not None:
        yield [_exact(client, "n", str(sought.serial))]
    if sought.wanted_from or sought.wanted_to:
        low, high = sought.wanted_from or date.min, sought.wanted_to or date.max
        yield [(_beginning(client, "w", low.isoformat())[0], _exact(client, "w", high.isoformat())[1])]


def _anywhere(client: str, word: str) -> Iterator[Stretch]:
    """Yield where a word may be: in a text, or if it is a figure as a plan's number or the end of a telephone's."""
    for letter in _FIELDS.values():
        yield _beginning(client, letter, word)
    if serial := serial_of(word):
        yield _exact(client, "n", str(serial))
    if word.isdecimal() and len(word) >= _LEAST_PHONE:
        yield _beginning(client, "p", _phone(word))


def _beginning(client: str, letter: str, word: str) -> Stretch:
    start = NUL.join((client, letter, word))
    return f"[{start}", f"[{start}\U0010ffff"


def _exact(client: str, letter: str, word: str) -> Stretch:
    start = NUL.join((client, letter, word))
    return f"[{start}{NUL}", f"[{start}\x01"
