"""The documentation is followed as its readers follow it, and served as they find it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path

import pytest
from markupsafe import escape

from service import weeks
from service.app import create_app
from service.documentation import HERE, ORDER
from service.http.problem_kinds import KINDS
from service.state import Config
from service.wire.codes import FAILURES
from tests.support.chromium import served
from tests.support.stack import Stack, stack
from tests.support.told import LISTENS, reader

ROOT = Path(__file__).parents[2]
PAGE = {"Accept": "text/html"}


@pytest.fixture(scope="module")
def address(serving: Stack) -> Iterator[str]:
    """Yield the address of a server of the shared installation: of an app of its own, for none waits once it stops."""
    with served(create_app(Config(serving.redis.url))) as where:
        yield where


def source(name: str) -> str:
    """Return a page as it is written."""
    return (HERE / f"{name}.md").read_text(encoding="utf-8")


def far_off(page: str) -> str:
    """Return a page with its week, whose Monday is the 4th, moved far off, to one whose Monday is the 8th."""
    moved = re.sub(r"2030-02-0(\d)", lambda day: f"2100-03-{int(day[1]) + 4:02}", page)
    return moved.replace("2030-W06", "2100-W10")


@pytest.mark.parametrize("name", [name for name in ORDER if name != "running"])
def test_a_page_is_followed(address: str, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever it says to save and to run is saved and run, and what it shows is what comes.

    The week's Monday has begun by then, and its sheet is not frozen yet.
    """
    monkeypatch.setattr(weeks, "now", lambda: datetime(2100, 3, 8, 9, tzinfo=UTC))
    with reader(tmp_path, address) as somebody:
        somebody.follow(far_off(source(name)).replace(LISTENS, address))


def test_running_it_is_followed(tmp_path: Path) -> None:
    """Keys are made, kept, and there again after a backup; in a home of its own, with no server."""
    with reader(tmp_path, "http://127.0.0.1:1", LAPSTOCK_REDIS_URL="", XDG_DATA_HOME="") as somebody:
        somebody.follow(source("running"))


def test_every_page_has_its_blocks_run() -> None:
    """A page of the folder is one that is served and followed, and README leads to them."""
    assert sorted(page.stem for page in HERE.glob("*.md")) == sorted(ORDER)


def rows(page: str) -> list[list[str]]:
    """Return the rows of a page's tables, cell by cell."""
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in page.splitlines() if line.startswith("|")]


def test_every_setting_is_told() -> None:
    """The table has each number of the configuration with what it is where it is left out."""
    told = {row[0].strip("`"): row[1] for row in rows(source("running")) if row[0].startswith("`LAPSTOCK_")}
    numbers = {f"LAPSTOCK_{each.name.upper()}": each.default for each in fields(Config) if each.type == "int"}
    assert {name: int(told[name]) for name in numbers} == numbers
    assert (int(told["LAPSTOCK_LEASE_SECONDS"]), int(told["LAPSTOCK_WORKER_MEMORY_MB"])) == (15, 4096)
    read = {name for folder in ("service", "workers") for path in (ROOT / folder).rglob("*.py")
            for name in re.findall(r'"(LAPSTOCK_[A-Z_]+)"', path.read_text(encoding="utf-8"))}  # fmt: skip
    assert read - {*told} == {"LAPSTOCK_STARTED_BY", "LAPSTOCK_SERVER", "LAPSTOCK_API_KEY", "LAPSTOCK_COMMIT"}


def test_the_runbook_knows_every_alarm(serving: Stack) -> None:
    """Each check of readiness, each figure for monitoring and each way for a plan to fail has its line."""
    told = source("runbook")
    figures = re.findall(r"^# TYPE (\w+)", serving.client.get("/metrics").text, re.MULTILINE)
    checks = serving.client.get("/health/ready").json["checks"]
    assert {name for name in (*figures, *checks, *FAILURES) if name not in told} == set()


def test_every_method_is_cited_where_it_stands() -> None:
    """A place that the page of mathematics names is there, and its docstring names the authors and years.

    Where a method has moved, the page is to say so.
    """
    steps = [row for row in rows(source("mathematics")) if len(row) > 3 and "solver/" in row[3]]
    cited = [(row[2], ROOT / row[3].strip("`")) for row in steps]
    titles = source("mathematics").partition("## Titles")[2]
    assert len(cited) > 15
    for papers, place in cited:
        told = ast.get_docstring(ast.parse(place.read_text(encoding="utf-8"))) or ""
        for paper in papers.split("; "):
            authors, _, year = paper.rpartition(" ")
            first = authors.replace(",", " ").split()[0]
            assert first in told, (paper, place)
            assert year in told, (paper, place)
            assert re.search(rf"{first}[^\n]*{year}:", titles), paper


@pytest.mark.parametrize("name", [*ORDER, "readme", "reference", "fields", "codes", ""])
def test_a_page_is_served_and_its_links_lead_somewhere(serving: Stack, name: str) -> None:
    """It is a page of ours without foreign scripts, and each link within the site leads to a page and a place on it."""
    answer = serving.client.get(f"/docs/{name}".rstrip("/"), headers=PAGE)
    assert (answer.status_code, answer.mimetype) == (200, "text/html")
    assert "<script" not in answer.text
    links = set(re.findall(r'href="(/docs(?!/look)[^"]*|#[^"]*)"', answer.text))
    for address, _, place in (link.partition("#") for link in links):
        led = serving.client.get(address, headers=PAGE) if address else answer
        assert led.status_code == 200, address
        assert not place or f'id="{place}"' in led.text, (address, place)


def test_there_is_no_other_page(serving: Stack) -> None:
    """What is no page is a problem."""
    assert serving.client.get("/docs/prices").json["type"] == "/problems/not-found"


def test_the_documentation_needs_no_key(tmp_path: Path) -> None:
    """It is there for whoever is still to get a key."""
    with stack(tmp_path / "data", api_keys={"0" * 64: "harbour"}) as locked:
        for address in ("/docs", "/docs/tutorial", "/docs/look/documentation.css", "/problems/key-missing"):
            with locked.client.get(address) as answer:
                assert answer.status_code == 200, address


@pytest.mark.parametrize("name", KINDS)
def test_a_problem_has_cause_and_remedy(serving: Stack, name: str) -> None:
    """Its address says both, to programs and on a page; they are sentences, and not the same."""
    kind = KINDS[name]
    assert kind.cause.endswith(".")
    assert kind.remedy.endswith(".")
    assert kind.cause != kind.remedy
    plain = serving.client.get(f"/problems/{name}")
    assert (plain.mimetype, plain.text.splitlines()[1:]) == (
        "text/plain", [f"Cause: {kind.cause}", f"Remedy: {kind.remedy}"],
    )  # fmt: skip
    shown = serving.client.get(f"/problems/{name}", headers=PAGE)
    assert shown.mimetype == "text/html"
    assert all(str(escape(words)) in shown.text for words in (kind.title, kind.cause, kind.remedy))
