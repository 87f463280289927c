"""``lapstock plan``: the same plan without a server, for a person at a terminal or a program in a pipe."""

from __future__ import annotations

import json
import os
import pty
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from service.cli import main
from tests.support.command import LAPSTOCK, ROOT, lapstock
from tests.support.files import workbook
from tests.support.measured import MEASURED
from tests.support.shed import SHED, WALL, shed_with
from tests.support.stack import Stack

LIST = "4 @ 9' 7\"\n6 @ 4'2\"\n4 @ 34 1/2\n"
STOCK = ("--stock", "12' 6\"=9.80")


def run(*arguments: str, stdin: str = "") -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(main, ["plan", *arguments], input=stdin)


def test_a_request_becomes_an_order_and_a_cut_sheet() -> None:
    """The shed: six panels for 58.80, four cut one way and two another, proven."""
    answer = lapstock("plan", "-", stdin=json.dumps(SHED))
    assert (answer.returncode, answer.stderr) == (0, "")
    assert "6 panels" in answer.stdout
    assert "total 58.80" in answer.stdout
    assert "No cheaper order from these lengths and prices can cut this list. Certified:" in answer.stdout
    assert 'S1 to S4  4 x 12\'-6"  9\'-7" (A)  34 1/2" (C)' in answer.stdout


def test_a_request_may_begin_with_a_byte_order_mark(tmp_path: Path) -> None:
    """Some editors put one before every text they keep; the file is a request all the same."""
    (tmp_path / "shed.json").write_text(json.dumps(SHED), encoding="utf-8-sig")
    answer = run(str(tmp_path / "shed.json"))
    assert (answer.exit_code, "total 58.80" in answer.stdout) == (0, True)


def test_a_wall_is_told_course_by_course() -> None:
    """Each course is a line with its pieces, their sticks and its laps."""
    told = run("-", stdin=json.dumps(WALL)).stdout
    courses = [line for line in told.splitlines() if "north, course" in line]
    assert len(courses) == 3
    assert all("laps at" in line for line in courses)


def test_measurements_are_taken_off_and_planned() -> None:
    """A ceiling of 21 ft by 7'-10": 252 / 12 = 21 panels, two out of 16 ft; what has no material is named."""
    uses = {"soffit": "soffit"}
    measured = {**MEASURED, "walls": [], "uses": uses}
    told = run("-", stdin=json.dumps(measured))
    assert (told.exit_code, "11 panels" in told.stdout) == (0, True), told.output
    assert "MEASURED" in told.stderr
    assert "no material is used as soffit channel" in told.stderr


def test_json_is_the_resource_of_the_api(serving: Stack) -> None:
    """With --json the result is the API's, field for field."""
    told = json.loads(run("-", "--json", stdin=json.dumps(SHED)).stdout)
    served = serving.post(SHED, Prefer="wait=30").json
    assert told["result"] == served["result"]
    assert told.keys() == served.keys()


def test_a_pasted_list_is_planned_from_the_stock_named_beside_it(tmp_path: Path) -> None:
    """The same pieces as lines of text give the same order."""
    (tmp_path / "list.txt").write_text(LIST)
    answer = run(str(tmp_path / "list.txt"), *STOCK)
    assert (answer.exit_code, "total 58.80" in answer.stdout) == (0, True)


def test_what_was_read_from_each_line_is_told() -> None:
    """On standard error, so that a misreading is seen and standard output stays the order and the sheet."""
    answer = run("-", *STOCK, stdin="shed:\n4 @ 9' 6\" lap left [A]\n\n2 x 4'2\n")
    assert answer.stderr.splitlines()[:3] == [
        "READ",
        "  line 2  4 @ 9' 6\" lap left [A]  4 x 9'-6\", mark A, lap left",
        "  line 4  2 x 4'2                 2 x 4'-2\"",
    ]
    assert "READ" not in answer.stdout


def test_only_readings_that_were_found_are_offered() -> None:
    """4 x 96 has two; 9-7 alone may be nine of seven inches, but not seven of nine feet."""
    crossed = run("-", *STOCK, stdin="4 x 96\n").stderr
    assert '"n x n=quantity-length" (4 x 8\'-0") or "n x n=length-quantity" (96 x 4")' in crossed
    alone = run("-", *STOCK, stdin="9-7\n").stderr
    assert '"n-n=feet-inches" (1 x 9\'-7") or "n-n=quantity-length" (9 x 7") would settle' in alone


def test_an_ambiguous_list_is_settled_once() -> None:
    """9-7 throughout a list is asked about, and --assume answers for every line."""
    text = "9-7\n4-2\n"
    asked = run("-", *STOCK, stdin=text)
    assert (asked.exit_code, "n-n=feet-inches" in asked.stderr) == (2, True)
    answer = run("-", *STOCK, "--assume", "n-n=feet-inches", stdin=text)
    assert (answer.exit_code, "9'-7\"" in answer.stdout) == (0, True)


@pytest.mark.parametrize(("arguments", "text", "told"), [
    ((), json.dumps(shed_with("required/0/length", "9-7")), "#/required/0/length"),
    ((), "{", "not JSON"),
    ((), "[]", "must be a JSON object"),
    ((), LIST, "--stock"),
    (STOCK, "9-7\n", "line 1"),
    (STOCK, "4 @ 20'\n", "line 1: takes 20'-0\", longer than"),
    (("--stock", "long=9.80"), LIST, "length"),
    (STOCK, "", "Nothing to cut was read: the list is empty"),
    (STOCK, "# shed\nplease call\n", "line 2: taken as a comment: please call"),
    (STOCK, "4 @ 9' 7\"\n2 @ 200'\n", "line 2: takes 200'-0\", longer"),
    ((*STOCK, "--stock", "10=x"), LIST, "--stock '10=x': must be decimal digits"),
    ((*STOCK, "--assume", "n-n=cubits"), LIST, "--assume 'n-n=cubits': not an answer; use one of"),
    (STOCK, json.dumps(SHED), "--stock: only for a pasted list"),
    (STOCK, "corner posts:\n4 @ 10'\n", "also names corner posts"),
])  # fmt: skip
def test_bad_input_exits_two_and_says_why(arguments: tuple[str, ...], text: str, told: str) -> None:
    """What is wrong goes to standard error, nothing to standard output."""
    if "longer" in told:
        arguments = (*arguments, "--category", "soffit")
    answer = run("-", *arguments, stdin=text)
    assert (answer.exit_code, answer.stdout) == (2, "")
    assert told in answer.stderr
    assert "Traceback" not in answer.stderr
    assert ("#/" in answer.stderr) == ("#/" in told)


def planned(path: str, value: object) -> str:
    """Return what is printed for the shed with one value changed."""
    return run("-", stdin=json.dumps(shed_with(path, value))).stdout


def test_a_proof_speaks_of_the_whole_bill() -> None:
    """Sold in cartons of four alone, six panels are billed as eight, and no order is cheaper."""
    row = {"id": "12-6", "length": 150, "price": "9.80", "carton": 4}
    printed = planned("materials/0/stock/0", {**row, "singles": False})
    assert "No cheaper order from these lengths and prices can cut this list." in printed
    assert "78.40" in printed


def test_what_is_left_is_told_in_lengths() -> None:
    """Six panels are 75 ft for 898 in of pieces: 2 in of scrap. One B leaves 100 in to keep of a panel.

    With three offcuts of 61 1/2 in five panels do: 750 + 184 1/2 - 898 = 36 1/2 in of scrap.
    """
    assert 'TO CUT: panel-sand, 6 panels; 2" scrap of 75\'-0" bought\n' in planned("units", "in")
    assert "1 panel; 8'-4\" kept of 12'-6\" bought\n" in planned("required", [SHED["required"][1] | {"quantity": 1}])
    rack = [{"id": "R-17", "material": "panel-sand", "length": "61 1/2", "quantity": 3}]
    told = run("-", stdin=json.dumps(SHED | {"offcuts": rack})).stdout
    assert "5 panels and 3 offcuts on hand; 3'-0 1/2\" scrap of 62'-6\" bought and 15'-4 1/2\" on hand\n" in told


def test_a_list_cut_from_offcuts_alone_speaks_of_no_panels() -> None:
    """One B of 50 in from an offcut of 61 1/2 in: 11 1/2 in of scrap, and nothing bought."""
    rack = [{"id": "R-17", "material": "panel-sand", "length": "61 1/2"}]
    one = SHED | {"offcuts": rack, "required": [SHED["required"][1] | {"quantity": 1}]}
    assert 'TO CUT: panel-sand, 1 offcut on hand; 11 1/2" scrap' in run("-", stdin=json.dumps(one)).stdout


def test_cartons_are_counted_in_words() -> None:
    """Six panels are a carton of five and a loose one, or two cartons of four and two panels spare."""
    row = {"id": "12-6", "length": 150, "price": "9.80"}
    assert "1 carton and 1 loose" in planned("materials/0/stock/0", {**row, "carton": 5})
    assert "2 cartons, 2 of them spare " in planned("materials/0/stock/0", {**row, "carton": 4, "singles": False})


def test_what_can_not_be_cut_is_said_and_nothing_else() -> None:
    """With no panel to be had nothing is ordered or cut, and each mark says how many of what and why."""
    printed = planned("materials/0/stock/0/available", 0)
    assert "nothing: none of this can be cut from these lengths" in printed
    assert "mark A: 4 pieces of 9'-6\": every stick" in printed
    assert "TO CUT" not in printed
    short = planned("materials/0/stock/0/available", 5)
    assert "mark A: 1 piece of 9'-6\":" in short


def test_what_is_on_hand_costs_nothing() -> None:
    """A piece from an offcut: nothing to order, and in the resource a total of 0.00."""
    request = SHED | {"required": [SHED["required"][2] | {"quantity": 1}]}
    request |= {"offcuts": [{"id": "R-17", "material": "panel-sand", "length": "61 1/2"}]}
    assert "nothing: what is on hand is enough" in run("-", stdin=json.dumps(request)).stdout
    assert json.loads(run("-", "--json", stdin=json.dumps(request)).stdout)["result"]["order_total"] == "0.00"


def test_a_file_that_is_not_there_exits_two() -> None:
    """A missing file is bad input."""
    assert run("no-such-file.json").exit_code == 2


def test_on_a_terminal_a_bar_shows_how_far_it_is(tmp_path: Path) -> None:
    """Standard error being a terminal, a bar is drawn there and wiped; standard output stays clean."""
    request = tmp_path / "shed.json"
    request.write_text(json.dumps(SHED))
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [*LAPSTOCK, "plan", str(request)], stdout=subprocess.PIPE, stderr=theirs, cwd=ROOT, text=True
    ) as process:
        os.close(theirs)
        printed, _ = process.communicate(timeout=60)
    drawn = os.read(ours, 65536).decode()
    os.close(ours)
    assert drawn.endswith("\x1b[K")
    assert "\x1b" not in printed
    assert "total 58.80" in printed


def test_a_workbook_is_planned_as_its_rows_are(tmp_path: Path) -> None:
    """Four of 9'-6" out of a sheet with titles; a file that is none is named."""
    path = tmp_path / "list.xlsx"
    path.write_bytes(workbook({"List": [["Qty", "Length"], ["4", "9' 6\""]]}))
    answer = run(str(path), *STOCK)
    assert (answer.exit_code, "line 2" in answer.stderr, "9'-6\"" in answer.stdout) == (0, True, True)
    path.write_bytes(b"PK\x03\x04")
    assert (run(str(path), *STOCK).exit_code, "is damaged" in run(str(path), *STOCK).stderr) == (2, True)
