"""Damaged requests by the hundred thousand, to every reader: none may be a fault of the server, hang, or mislead.

``python -m tests.benchmarks.fuzz`` sends a million; ``--inputs`` fewer. Each begins as what people and programs send
and is damaged at random: bytes and words changed, repeated or cut out, values of JSON in each other's places. Every
answer is held to the contract. Of what could be planned some is, and the checker must not refuse it. It prints how
many came to which status and the most CPU that one took, and ends with 1 and the inputs themselves if any was at fault.
"""

from __future__ import annotations

import argparse
import io
import json
import sys
import time
from base64 import b64encode
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from contextlib import suppress
from copy import deepcopy
from csv import writer
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from service.http.problems import Problem
from service.wire.job import read_job
from solver import plan_job
from solver.errors import PlanRefused, Unplannable
from tests.benchmarks.table import table
from tests.support.contract import Departure
from tests.support.files import workbook
from tests.support.hands import hands
from tests.support.measured import EXAMPLES, MEASURED
from tests.support.shed import SHED
from tests.support.stack import Stack, stack

SLOW_SECONDS = 3.0
"""CPU that no answer may take."""
_PLANNED = 20
"""Of so many requests that could be planned one is."""
NASTY: tuple[Any, ...] = (
    None, True, -1, 0, 1, 10**9, 2**53, 10**400, 0.1, -0.0, 1e-320, 1e308, float("nan"), "", " ", "0", "-1", "1/0",
    "9' 6\"", "9-6", "3 1/2", "34 1/2 +", "½", "\u202e10", "\0", "\ud800", "٣٤", "1" * 5_000, "a" * 70_000, "=1+1", "é́",
    [], {}, [[]], [None], {"": ""}, "2026-02-30", "9999-12-31", "in", "mm", "panel-sand",
)  # fmt: skip
WORDS = ("x", "@", "each", "pcs", "\n", "\t", ",", ";", "\"", "'", "-", "/", "1/0", "½", "ft", "mm", "dozen", "same",
         "0", "99999999999", "\0", "\u202e", "(", ")", "[", "]", "{", "}", "\\", "e9", "=", "#")  # fmt: skip
Made = tuple[str, str, bytes, str]
"""Method, address, body, and its type."""
JSON_TYPE = "application/json"


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
                holder[random.choice(("unknown", "quantity", "length", "__proto__"))] = holder[key]
            case _:
                holder[key] = random.choice(NASTY)
        if not list(_places(body)):
            return body
    return body


def _places(body: Any) -> Iterator[tuple[Any, Any]]:  # noqa: ANN401
    for key in [*body] if isinstance(body, dict) else range(len(body)) if isinstance(body, list) else ():
        yield body, key
        yield from _places(body[key])


class Readers:
    """What can be sent, by the name of who reads it."""

    def __init__(self, running: Stack) -> None:
        """Take as seeds what the suite has, and a plan that the installation makes."""
        self._lists = [(hand.text, hand.unit, list(hand.materials)) for hand in hands()]
        self._files = list(_files())
        self._jobs = [SHED, json.loads((EXAMPLES / "wall.json").read_text())]
        answer = running.client.get(f"/v1/cut-plans/{_planned(running)}").json["result"]
        self._check = {"request": SHED, "plan": answer}
        running.client.put("/v1/materials/panel-sand", json={"units": "in", **SHED["materials"][0]})
        self._price_list = running.client.get("/v1/price-list.csv").data
        self._week = {"units": "in", "materials": SHED["materials"], "deliveries": [{"date": "2100-03-08"}],
                      "limits": {"carry": 3, "timezone": "America/Chicago"}}  # fmt: skip
        self.kinds: dict[str, Callable[[Random], Made]] = {
            "lists as text": self._text, "lists as files": self._file, "requests to plan": self._job,
            "requests, byte by byte": self._raw, "measurements": self._measured, "plans to check": self._checked,
            "price lists": self._prices, "weeks": self._weeks, "racks": self._racks, "addresses": self._address,
        }  # fmt: skip

    def _text(self, random: Random) -> Made:
        text, unit, materials = random.choice(self._lists)
        return _post("/v1/cut-lists", {"text": damaged_text(random, text), "units": unit, "materials": materials})

    def _file(self, random: Random) -> Made:
        data = damaged_bytes(random, random.choice(self._files))
        return _post("/v1/cut-lists", {"file": b64encode(data).decode(), "units": "in", "materials": ["sand"]})

    def _job(self, random: Random) -> Made:
        return _post("/v1/cut-plans?dry_run=true", damaged_json(random, random.choice(self._jobs)))

    def _raw(self, random: Random) -> Made:
        text = damaged_text(random, json.dumps(random.choice(self._jobs)))
        return "POST", "/v1/cut-plans?dry_run=true", text.encode(errors="surrogatepass"), JSON_TYPE

    def _measured(self, random: Random) -> Made:
        return _post("/v1/takeoffs", damaged_json(random, MEASURED))

    def _checked(self, random: Random) -> Made:
        return _post("/v1/plan-checks", damaged_json(random, self._check))

    def _prices(self, random: Random) -> Made:
        data = damaged_text(random, self._price_list.decode()).encode(errors="replace")
        return _post("/v1/price-list", {"file": b64encode(data).decode()})

    def _weeks(self, random: Random) -> Made:
        part, body = random.choice((
            ("", self._week),
            ("/jobs/north", {"date": "2100-03-08", "required": SHED["required"]}),
            ("/rack", {"offcuts": [{"id": "x", "material": "panel-sand", "length": "50"}]}),
        ))  # fmt: skip
        _, _, data, kind = _post("", damaged_json(random, body))
        return "PUT", f"/v1/crews/tern/weeks/2100-W10{part}", data, kind

    def _racks(self, random: Random) -> Made:
        piece = {"label": f"F-{random.randrange(50)}", "material": "panel-sand", "length": "61 1/2", "count": 2}
        return _post("/v1/rack", damaged_json(random, {"units": "in", "pieces": [piece]}))

    def _address(self, random: Random) -> Made:
        address = random.choice((
            "/v1/cut-plans?q=tern&limit=5", "/v1/rack?units=mm&material=x", "/v1/materials?limit=2", "/plans?q=tern",
            "/v1/crews/tern/weeks/2100-W10", "/v1/customers/tern/answers",
        ))  # fmt: skip
        text = damaged_text(random, address)
        return "GET", "/" + "".join(letter for letter in text if " " < letter < "\ud800").lstrip("/"), b"", JSON_TYPE


def _files() -> Iterator[bytes]:
    for hand in hands():
        rows = [[cell.strip('" ') for cell in text.split(",")] for text, _ in hand.lines[:12]]
        if hand.form == "csv":
            told = io.StringIO()
            writer(told).writerows(rows)
            yield told.getvalue().encode()
        if hand.form in ("csv", "book"):
            yield workbook({"list": rows})


def _post(address: str, body: object) -> Made:
    return "POST", address, json.dumps(body).encode(errors="surrogatepass"), JSON_TYPE


def _planned(running: Stack) -> str:
    running.start_worker()
    return running.settled(running.posted(SHED)).id


def fault_of(running: Stack, made: Made) -> tuple[str, str]:
    """Return the status of an answer, and what is wrong with it if anything."""
    method, address, body, kind = made
    try:
        answer = running.client.open(address, method=method, data=body or None, content_type=kind)
    except Departure as departure:
        if " 308: " in str(departure):
            return "308", ""
        return "no contract", str(departure)[:300]
    except (ValueError, UnicodeError) as error:
        return "not sent", "" if method == "GET" else repr(error)
    return str(answer.status_code), answer.text[:300] if answer.status_code >= 500 else ""


def refused_plan(body: bytes) -> str:
    """Return what is wrong where a request that is accepted comes to a plan that the checker refuses."""
    try:
        plan_job(read_job({**json.loads(body), "limits": {"seconds": 0.2}}), time.monotonic)
    except (Problem, Unplannable):
        return ""
    except PlanRefused as error:
        return repr(error)
    return ""


def main(inputs: int, seed: int) -> int:
    """Send them, print the table and return the exit code."""
    states: dict[str, Counter[str]] = defaultdict(Counter)
    worst: dict[str, float] = defaultdict(float)
    wrong: list[tuple[str, Made]] = []
    with TemporaryDirectory() as folder, stack(Path(folder), rate=10**9) as running:
        readers = Readers(running)
        # interrupted, it tells of what was sent until then
        with suppress(KeyboardInterrupt):
            for number in range(inputs):
                random = Random(f"{seed} {number}")
                name = [*readers.kinds][number % len(readers.kinds)]
                made = readers.kinds[name](random)
                begun = time.process_time()
                status, fault = fault_of(running, made)
                spent = time.process_time() - begun
                states[name][status] += 1
                worst[name] = max(worst[name], spent)
                if not fault and name == "requests to plan" and status == "200" and random.randrange(_PLANNED) == 0:
                    states[name]["planned"] += 1
                    fault = refused_plan(made[2])
                if fault or spent > SLOW_SECONDS:
                    wrong.append((fault or f"{spent:.1f} s", made))
    head = ("reader", "inputs", "answers", "most CPU s")
    rows = [(name, sum(found.values()) - found["planned"], ", ".join(f"{how} {n}" for how, n in sorted(found.items())),
             f"{worst[name]:.2f}") for name, found in states.items()]  # fmt: skip
    print(table(head, rows))
    for fault, (method, address, body, _) in wrong[:50]:
        print(fault, method, address, b64encode(body[:20_000]).decode(), sep="\n  ")
    return int(bool(wrong))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    sys.exit(main(args.inputs, args.seed))
