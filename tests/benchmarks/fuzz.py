"""Damaged requests by the hundred thousand, to every reader: none may be a fault of the server, hang, or mislead.

``python -m tests.benchmarks.fuzz`` makes a million; ``--inputs`` fewer. Each begins as what people and programs send
and is damaged at random: bytes and words changed, repeated or cut out, values of JSON in each other's places. One in
ten is sent to the app, and its answer held to the contract; the others go to the reader behind the address, which must
give a value or a refusal that callers are told. What it read must be read again from how it is said. Of what could be
planned some is, and the checker must not refuse it. It prints how many came to which end and the most CPU that one
took, and ends with 1 and the inputs themselves if any was at fault.
"""

from __future__ import annotations

import argparse
import io
import json
import logging
import signal
import sys
import time
from base64 import b64encode
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from csv import writer
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from service.http.problems import Problem
from service.http.strict_json import parse, require_object
from service.routes.plan_checks import answer_to
from service.spreadsheets import Unreadable, sheets_of
from service.weeks import refuse_faults
from service.wire.cut_list import read_pasted, render_cut_list
from service.wire.job import read_job, render_request, units_of
from service.wire.materials.catalogue import read_price_file
from service.wire.materials.price_list import PriceListFaults, read_price_list
from service.wire.numbers import in_units
from service.wire.rack import read_pieces
from service.wire.required import RequiredSchema
from service.wire.takeoffs.taken_off import render_take_off
from service.wire.takeoffs.takeoff import read_take_off
from service.wire.week import RackSchema, WeekJobSchema, WeekSchema, dated_job_of, loaded, under, week_of
from solver import plan_job
from solver.errors import PlanRefused, Unplannable
from solver.lengths import TICKS_PER_64TH, TICKS_PER_MM, AmbiguousLength, LengthError, Unit, read_length, say
from tests.benchmarks.table import table
from tests.support.contract import Departure
from tests.support.damage import damaged_bytes, damaged_json, damaged_text
from tests.support.files import workbook
from tests.support.hands import hands
from tests.support.measured import EXAMPLES, MEASURED
from tests.support.shed import SHED
from tests.support.stack import Stack, stack

SLOW_SECONDS = 3.0
"""CPU that no answer may take."""
HANG_SECONDS = 20.0
"""CPU after which one is given up."""
SENT = 10
"""Of so many inputs one is sent to the app."""
_PLANNED = 20
"""Of so many requests that could be planned one is."""
LENGTHS = (
    "9' 6\"", "9'-7\"", "9-6", "9 6", "34 1/2", "4' 2\"", "4 ft 2 in", "12.5'", "12.5", "12.06", "142-3/8", "3510 mm",
    "3,51 m", "3,510", "351 cm", "-1/16", "9' 7\" (2921 mm)", "½", "12½\"", "2/10'", "6'-11 15/16\"", "0",
)  # fmt: skip
Made = tuple[str, str, bytes, str]
"""Method, address, body, and its type."""
JSON_TYPE = "application/json"


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
        whole, unit, materials = random.choice(self._lists)
        lines = whole.split("\n")
        begin = random.randrange(len(lines))
        # what a list begins with often holds for all of it
        text = "\n".join([*lines[: random.choice((0, 1, 3))], *lines[begin : begin + random.choice((1, 4, 40))]])
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
        fewer = {name: random.sample(MEASURED[name], random.randint(0, 1)) for name in ("walls", "ceilings")}
        return _post("/v1/takeoffs", damaged_json(random, MEASURED | fewer if random.random() < 0.8 else MEASURED))

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


REFUSALS = (Problem, LengthError, AmbiguousLength, Unreadable, PriceListFaults)
"""What callers are told; anything else that a reader raises is a fault."""


class Hung(BaseException):
    """A reader did not come to its end."""


def _hang(*_: object) -> None:
    raise Hung


def _list(_: str, body: Mapping[str, Any]) -> None:
    asked = read_pasted(body, lambda _: {})
    items = [{"material": "sand", **item} for item in render_cut_list(asked)["required"]]
    with in_units(asked.unit):
        RequiredSchema(many=True).load(items)


def _request(_: str, body: Mapping[str, Any]) -> None:
    job = read_job(body)
    again = read_job(parse(json.dumps(render_request(job)).encode()))
    assert again == job, "it is read as another one from how it is said"


def _take_off(_: str, body: Mapping[str, Any]) -> None:
    render_take_off(read_take_off(body), body)


def _week(address: str, body: Mapping[str, Any]) -> None:
    unit = units_of(body)
    if address.endswith("/rack"):
        loaded(RackSchema, body, unit, lambda data: data)
    elif "/jobs/" in address:
        loaded(WeekJobSchema, body, unit, lambda data: dated_job_of(data, "north"))
    else:
        week = loaded(WeekSchema, body, unit, lambda data: week_of(data, "tern", 2100, 10, None))
        refuse_faults(week, None, under("#"))


READ: Mapping[str, Callable[[str, Mapping[str, Any]], object]] = {
    "lists as text": _list, "lists as files": _list, "requests to plan": _request, "requests, byte by byte": _request,
    "measurements": _take_off, "plans to check": lambda _, body: answer_to(body), "weeks": _week,
    "price lists": lambda _, body: read_price_list(sheets_of(read_price_file(body), whole_dates=True)),
    "racks": lambda _, body: read_pieces(body),
}  # fmt: skip
"""The reader behind each kind's address."""


def _length(random: Random) -> Made:
    text = damaged_text(random, random.choice(LENGTHS))
    return str(random.choice([*Unit])), "", text.encode(errors="surrogatepass"), ""


def _read_length(made: Made) -> None:
    unit = Unit(made[0])
    ticks = read_length(made[2].decode("utf-8", "surrogatepass"), unit).ticks
    off = abs(read_length(say(ticks, unit), unit).ticks - ticks)
    assert off <= (TICKS_PER_MM if unit.metric else TICKS_PER_64TH), "it is read as another one from how it is said"


def read_fault(name: str, made: Made) -> tuple[str, str]:
    """Return how a reader ended, and what is wrong with that if anything."""
    try:
        if name == "lengths":
            _read_length(made)
        else:
            READ[name](made[1], require_object(parse(made[2])))
    except REFUSALS:
        return "refused", ""
    except Exception as error:  # noqa: BLE001 - that none comes is what is tried
        return "fault", repr(error)[:300]
    return "read", ""


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


class Tally:
    """How inputs of each kind ended, and those that were at fault."""

    def __init__(self) -> None:
        self.ends: dict[str, Counter[str]] = defaultdict(Counter)
        self.worst: dict[str, float] = defaultdict(float)
        self.wrong: list[tuple[str, Made]] = []

    def add(self, name: str, made: Made, ended: Callable[[], tuple[str, str]]) -> str:
        """Take what is to be done with an input, do it, and return its end."""
        begun = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, HANG_SECONDS)
        try:
            end, fault = ended()
        except Hung:
            end, fault = "hung", "it did not come to its end"
        signal.setitimer(signal.ITIMER_PROF, 0)
        spent = time.process_time() - begun
        self.ends[name][end] += 1
        self.worst[name] = max(self.worst[name], spent)
        if fault or spent > SLOW_SECONDS:
            self.wrong.append((fault or f"{spent:.1f} s", made))
        return end

    def told(self) -> str:
        """Return the table."""
        rows = [(name, sum(ends.values()), ", ".join(f"{how} {n}" for how, n in sorted(ends.items())),
                 f"{self.worst[name]:.2f}") for name, ends in self.ends.items()]  # fmt: skip
        return table(("reader", "inputs", "ends", "most CPU s"), [*rows, ("all", sum(row[1] for row in rows), "", "")])


def put_in(running: Stack, readers: Readers, tally: Tally, number: int, seed: int) -> None:
    """Make one input, and send it or have it read."""
    random = Random(f"{seed} {number}")
    if number % SENT == 0:
        name = [*readers.kinds][number // SENT % len(readers.kinds)]
        made = readers.kinds[name](random)
        end = tally.add(f"sent: {name}", made, lambda: fault_of(running, made))
        taken = end == "200"
    else:
        name = [*READ, "lengths"][(number + number // SENT) % (len(READ) + 1)]
        made = readers.kinds[name](random) if name in READ else _length(random)
        taken = tally.add(name, made, lambda: read_fault(name, made)) == "read"
    if taken and name == "requests to plan" and random.randrange(_PLANNED) == 0:
        tally.add("planned", made, lambda: ("planned", refused_plan(made[2])))


def main(inputs: int, seed: int) -> int:
    """Put them in, print the table and return the exit code."""
    tally = Tally()
    signal.signal(signal.SIGPROF, _hang)
    logging.disable(logging.WARNING)
    # interrupted, it tells of what was put in until then
    with TemporaryDirectory() as folder, stack(Path(folder), rate=10**9) as running, suppress(KeyboardInterrupt):
        readers = Readers(running)
        for number in range(inputs):
            put_in(running, readers, tally, number, seed)
    print(tally.told())
    for fault, (method, address, body, _) in tally.wrong[:50]:
        print(fault, method, address, b64encode(body[:20_000]).decode(), sep="\n  ")
    return int(bool(tally.wrong))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    sys.exit(main(args.inputs, args.seed))
