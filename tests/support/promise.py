"""What version 1 of the contract has promised, kept as lines, and how far the contract of today keeps it.

A promise is an operation (``POST /v1/cut-plans``) or a field (``StockRequest.length``) with what it may be. What is new
is promised by ``python -m tests.support.promise``, which adds lines and never changes one.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.support.contract import contract

KEPT = Path(__file__).parent.parent / "data" / "contract" / "v1.jsonl"
_ASKED = "Request"
"""How the names of what is sent end; all others are answered."""
Promise = Mapping[str, Any]


def promised() -> dict[str, Promise]:
    """Return what was promised, by name."""
    lines = map(json.loads, KEPT.read_text("utf-8").splitlines()) if KEPT.exists() else ()
    return {line.pop("name"): line for line in lines}


def held_out(document: Mapping[str, Any]) -> dict[str, Promise]:
    """Return what a contract holds out, by name."""
    operations = {
        f"{method.upper()} {path}": {"statuses": sorted(s for s in operation["responses"] if s.startswith("2"))}
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    }
    fields = {
        f"{name}.{field}": _field(schema, field, told)
        for name, schema in document["components"]["schemas"].items()
        for field, told in schema.get("properties", {}).items()
    }
    return {**operations, **fields}


def _field(schema: Mapping[str, Any], field: str, told: Mapping[str, Any]) -> Promise:
    promise: dict[str, Any] = {"required": field in schema.get("required", []), "types": sorted(set(_types(told)))}
    return {**promise, **{word: told[word] for word in ("enum", "default") if word in told}}


def _types(told: Mapping[str, Any]) -> Iterator[str]:
    if "$ref" in told:
        yield told["$ref"].rpartition("/")[2]
    types = told.get("type", [])
    yield from [types] if isinstance(types, str) else types
    for kind in ("anyOf", "oneOf"):
        for part in told.get(kind, []):
            yield from _types(part)


def broken(before: Mapping[str, Promise], now: Mapping[str, Promise]) -> Iterator[str]:
    """Yield each promise that is not kept.

    What is sent may come to allow more, and what is answered to say more; neither the other way round. Defaults, which
    are what a request means, stay. A list of words that are answered may grow: programs take one they don't know as
    its kind's most general case.
    """
    for name, old in before.items():
        new = now.get(name)
        if new is None:
            yield f"{name} is gone"
        elif "statuses" in old:
            if not set(old["statuses"]) <= set(new["statuses"]):
                yield f"{name} answers {new['statuses']}, not {old['statuses']}"
        else:
            yield from _changed(name, old, new)


def _changed(name: str, old: Promise, new: Promise) -> Iterator[str]:
    is_asked = name.partition(".")[0].endswith(_ASKED)
    wider, narrower = (new, old) if is_asked else (old, new)
    if not set(narrower["types"]) <= set(wider["types"]):
        yield f"{name} is {new['types']}, not {old['types']}"
    if (new if is_asked else old)["required"] and not (old if is_asked else new)["required"]:
        yield f"{name} is {'now' if is_asked else 'no longer'} required"
    if not set(map(str, old.get("enum", []))) <= set(map(str, new.get("enum", old.get("enum", [])))):
        yield f"{name} takes {new.get('enum')}, not {old.get('enum')}"
    if "default" in old and new.get("default", old) != old["default"]:
        yield f"{name} is {new.get('default')!r} where it is left out, not {old['default']!r}"


def _add() -> None:
    kept, now = promised(), held_out(contract().document)
    both = {**now, **kept}
    KEPT.parent.mkdir(exist_ok=True)
    KEPT.write_text("".join(json.dumps({"name": name, **both[name]}) + "\n" for name in sorted(both)), "utf-8")


if __name__ == "__main__":
    _add()
