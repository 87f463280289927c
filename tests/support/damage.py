"""Damage as it befalls what people and programs send: text, bytes and JSON, each changed at random."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from random import Random
from typing import Any

NASTY: tuple[Any, ...] = (
    None, True, -1, 0, 1, 10**9, 2**53, 10**400, 0.1, -0.0, 1e-320, 1e308, float("nan"), "", " ", "0", "-1", "1/0",
    "9' 6\"", "9-6", "3 1/2", "34 1/2 +", "½", "\u202e10", "\0", "\ud800", "٣٤", "1" * 5_000, "a" * 70_000, "=1+1", "é́",
    [], {}, [[]], [None], {"": ""}, "2026-02-30", "9999-12-31", "in", "mm", "panel-sand",
)  # fmt: skip
WORDS = ("x", "@", "each", "pcs", "\n", "\t", ",", ";", "\"", "'", "-", "/", "1/0", "½", "ft", "mm", "dozen", "same",
         "0", "99999999999", "\0", "\u202e", "(", ")", "[", "]", "{", "}", "\\", "e9", "=", "#")  # fmt: skip


def damaged_text(random: Random, text: str) -> str:
    """Return a text with one to five damages."""
    for _ in range(random.choice((1, 1, 1, 2, 5))):
        at = random.randint(0, len(text))
        to = min(len(text), at + random.randint(0, 12))
        text = random.choice((
            lambda at=at, to=to, text=text: text[:at] + text[to:],
            lambda at=at, to=to, text=text: text[:to] + text[at:to] * random.choice((1, 2, 40)) + text[to:],
            lambda at=at, text=text: text[:at] + random.choice(WORDS) + text[at:],
            lambda at=at, to=to, text=text: text[:at] + random.choice(WORDS) + text[to:],
            lambda at=at, text=text: text[:at] + chr(random.choice((random.randrange(128), random.randrange(0xD7FF))))
            + text[at + 1 :],
        ))()  # fmt: skip
    return text


def damaged_bytes(random: Random, data: bytes) -> bytes:
    """Return bytes with one to eight of them changed, or the end cut off."""
    changed = bytearray(data)
    for _ in range(random.randint(1, 8)):
        changed[random.randrange(len(changed))] = random.randrange(256)
    return bytes(changed[: random.randrange(len(changed))] if random.random() < 0.2 else changed)


def damaged_json(random: Random, body: Any) -> Any:  # noqa: ANN401
    """Return JSON of which one to three values are others, gone, or twice."""
    body = deepcopy(body)
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        places = list(_places(body))
        holder, key = random.choice(places)
        match random.randrange(5):
            case 0:
                del holder[key]
            case 1:
                other, at = random.choice(places)
                there = at in other if isinstance(other, dict) else at < len(other)
                holder[key] = deepcopy(other[at]) if there else None
            case 2 if isinstance(holder[key], str):
                holder[key] = damaged_text(random, holder[key])
            case 3 if isinstance(holder, dict):
                holder[random.choice(("unknown", "quantity", "length", "__proto__"))] = deepcopy(holder[key])
            case _:
                holder[key] = deepcopy(random.choice(NASTY))
        if not list(_places(body)):
            return body
    return body


def _places(body: Any) -> Iterator[tuple[Any, Any]]:  # noqa: ANN401
    for key in [*body] if isinstance(body, dict) else range(len(body)) if isinstance(body, list) else ():
        yield body, key
        yield from _places(body[key])
