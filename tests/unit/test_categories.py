"""Categories of materials: what a name speaks for, and that a new one takes one row."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from service.counter.changes import category_of
from solver.categories import Category
from tests.support.stack import stack

ROOT = Path(__file__).parents[2]
ROW = """    COPING = "coping", Kind(
        words="wall coping", spoken="coping", is_vinyl=False,
        defaults=Settings(
            lap=_IN, end_gap=0, kerf=0, lap_ends=LapEnds.ANY, shortest_piece=None, lap_spacing=None, lap_repeat=None,
            in_line_within=None, keep_offcuts_from=24 * _IN,
        ),
    )

    def __new__("""
"""A category that nobody knows of, as the one row that it takes."""
USES = """
import service
from service.app import create_app
from service.state import Config
from service.documents.blocks import Paper
from service.documents.sheets import html
from service.documents.cut_sheet import sheet_of
from service.documents.blocks import TitleBlock
from service.cli.plan import sheet
from service.wire import read_job
from solver import plan_job
from datetime import UTC, datetime
import time

assert service.__file__.startswith({here!r}), service.__file__
material = {{"id": "c", "category": "coping", "stock": [{{"id": "12", "length": 144}}]}}
pieces = [{{"material": "c", "length": 60, "quantity": 3}}]
job = read_job({{"units": "in", "materials": [material], "required": pieces}})
plan = plan_job(job, time.monotonic)
assert "2 sticks" in sheet(job, plan)
assert "2 sticks" in html(sheet_of(job, plan, TitleBlock(), datetime.now(UTC), Paper.LETTER))
client = create_app(Config({redis!r})).test_client()
form = {{"units": "in", "text": "3 @ 60", "do": "read", "m0-name": "", "m0-category": "coping", "m0-s0-length": "12'"}}
page = client.post("/", data=form)
assert page.status_code == 200, page.text
assert '<option value="coping" selected>wall coping</option>' in page.text
named = client.post("/", data=form | {{"do": "add-material:white coping"}})
assert named.text.count('<option value="coping" selected>') == 2
assert '"soffit","starter","post","channel","other","coping"' in client.get("/openapi.json").text
"""
"""The sheet, the command's print, the page and the contract, each with a material of that category."""


@pytest.mark.parametrize(("name", "category"), [
    ("panel-8in-sand", Category.SIDING),
    ("sand", Category.SIDING),
    ("Double 4 clay", Category.SIDING),
    ("vented soffit white", Category.SOFFIT),
    ("soffit channel", Category.CHANNEL),
    ("3/4 J white", Category.CHANNEL),
    ("J-channel", Category.CHANNEL),
    ("utility trim", Category.CHANNEL),
    ("starter strip", Category.STARTER),
    ("outside corner post 3/4 J", Category.POST),
    ("OSC tan", Category.POST),
    ("drip cap", Category.OTHER),
    ("fascia cover", Category.OTHER),
])  # fmt: skip
def test_a_name_speaks_for_its_category(name: str, category: Category) -> None:
    """The last word of the trade tells, as in English: a soffit channel is a channel. Common practice, no source."""
    assert category_of(name) is category


def test_a_new_category_takes_one_row(tmp_path: Path) -> None:
    """With a row in the table and nothing else it is planned, printed, drawn, and on the page and in the contract."""
    for package in ("solver", "service", "workers"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    table = tmp_path / "solver" / "categories.py"
    table.write_text(table.read_text().replace("    def __new__(", ROW, 1))
    (tmp_path / "list.txt").write_text("3 @ 60\n")
    planned = ["-m", "service", "plan", "list.txt", "--category", "coping", "--stock", "12'"]
    with stack(tmp_path / "data") as running:
        for arguments in (["-c", USES.format(here=str(tmp_path), redis=running.redis.url)], planned):
            command = [sys.executable, *arguments]
            done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
            assert done.returncode == 0, done.stderr
    assert "2 sticks" in done.stdout
