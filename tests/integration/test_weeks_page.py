"""A crew's week on pages that work without a script: begun, filled, planned and reported by a foreman.

The week is that of ``tests.support.weeks``: three A of 100 in on Monday, three B of 50 in on Thursday, from 150 in.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from service import weeks
from service.documents.week_sheets import SINCE
from tests.integration.test_rack_pages import words
from tests.support.crews import day
from tests.support.forms import fields_of
from tests.support.stack import Stack

PANEL = {"m0-name": "panel-sand", "m0-category": "siding", "m0-s0-length": "12' 6\"", "m0-s0-price": "9.80"}


class Foreman:
    """A crew's week as its foreman's browser has it."""

    def __init__(self, serving: Stack, crew: str) -> None:
        self.client, self.here = serving.client, f"/weeks/{crew}/2100-W10"
        self.resource = f"/v1/crews/{crew}/weeks/2100-W10"

    def begin(self, **typed: Any) -> Any:  # noqa: ANN401 - answers are pages
        """Begin the week with one panel and a delivery on Monday."""
        form = {"units": "in", "mark": "", "d": day(0), "freeze_at": "05:00", "freeze_days": "0", "timezone": "UTC"}
        return self.client.post(f"{self.here}/setup", data=form | PANEL | typed)

    def job(self, name: str, on: int, text: str, do: str = "put", **typed: str) -> Any:  # noqa: ANN401
        """Put a job in the week from a list, with the mark of the page as it is now."""
        fields = fields_of(self.client.get(f"{self.here}/job").text, "job-form")
        return self.client.post(
            f"{self.here}/job", data=fields | {"job": name, "on": day(on), "text": text, "do": do} | typed
        )

    def press(self, do: str, **typed: str) -> Any:  # noqa: ANN401
        """Press a button of the week, and return the page that comes of it."""
        mark = typed.pop("mark", None) or self.mark()
        return self.client.post(self.here, data={"do": do, "mark": mark} | typed, follow_redirects=True)

    def mark(self) -> str:
        """Return the mark of the page of the week as it is now."""
        return fields_of(self.client.get(f"{self.here}/setup").text, "setup")["mark"]

    def kept(self) -> Any:  # noqa: ANN401 - JSON
        """Return the week as programs see it."""
        return self.client.get(self.resource).json


def begun(serving: Stack, crew: str) -> Foreman:
    """Return a foreman with the week by hand, not planned yet."""
    foreman = Foreman(serving, crew)
    assert foreman.begin().status_code == 303
    assert foreman.job("north wall", 0, "3 @ 100 A").status_code == 303
    assert foreman.job("boat shed", 3, "3 @ 50 B").status_code == 303
    return foreman


def planned(foreman: Foreman) -> Any:  # noqa: ANN401 - a page
    """Have the week planned and return its page."""
    foreman.press("plan")
    foreman.client.post(f"{foreman.resource}/plan", headers={"Prefer": "wait=30"})
    return foreman.client.get(foreman.here)


def test_from_a_crew_and_a_day_to_a_planned_week(serving: Stack) -> None:
    """Three panels, 29.40; Monday keeps three offcuts, which Thursday brings."""
    opened = serving.client.post("/weeks", data={"crew": "page tern", "on": day(2)})
    assert opened.headers["Location"] == "/weeks/page%20tern/2100-W10"
    foreman = begun(serving, "page tern")
    shown = words(planned(foreman))
    assert "Sticks for the week: 29.40 , and no plan costs less" in shown
    assert "Keeps 10-MO1, 4'-2\" panel-sand, for Thursday" in shown
    assert "Brings 10-MO1, 4'-2\" panel-sand" in shown
    assert "north wall 3 pieces, sticks 19.60" in shown
    assert "boat shed 3 pieces, sticks 9.80" in shown
    foreman.job("west wall", 4, "2 @ 200 N")
    assert "west wall 2 pieces, 4 on the sheet, sticks" in words(planned(foreman))
    assert "page tern , 2100-W10" in words(serving.client.get("/weeks"))


def test_the_next_week_is_begun_as_the_last(serving: Stack) -> None:
    """With the same materials and hours, and the delivery on the same day of the week; the rack stays as it is."""
    begun(serving, "page-next").begin(mark=Foreman(serving, "page-next").mark(), order_at="12:00", order_days="1")
    there = "/weeks/page-next/2100-W11/setup"
    assert "As in 2100-W10" in words(serving.client.get(there))
    assert serving.client.post(there, data={"mark": "", "do": "as-before"}).status_code == 303
    week = serving.client.get("/v1/crews/page-next/weeks/2100-W11").json
    assert ([one["id"] for one in week["materials"]], week["deliveries"][0]["date"]) == (["panel-sand"], day(7))
    assert (week["limits"]["order_at"], week["limits"]["order_days"], week["use_rack"]) == ("12:00", 1, False)
    assert week["jobs"] == []


def test_what_a_week_left_is_on_the_rack_for_the_next(serving: Stack) -> None:
    """P-92 of 30 in, which no sheet of the week could use, is on the rack that the next week may cut from."""
    foreman = begun(serving, "page-left")
    offcut = {"id": "P-92", "material": "panel-sand", "length": "30", "factory_end": "none"}
    serving.client.put(f"{foreman.resource}/rack", json={"offcuts": [offcut]})
    planned(foreman)
    there = "/weeks/page-left/2100-W11/setup"
    assert serving.client.post(there, data={"mark": "", "do": "with-left"}).status_code == 303
    assert serving.client.get("/v1/crews/page-left/weeks/2100-W11").json["use_rack"]
    lying = {one["label"]: one["free"] for one in serving.client.get("/v1/rack").json["pieces"]}
    assert lying["P-92"] == 1


def test_a_job_is_moved_and_cancelled(serving: Stack) -> None:
    """To Friday, then out; where it may not go is said in a sentence."""
    foreman = begun(serving, "page-move")
    assert "The job is moved." in words(foreman.press("move:boat shed", to=day(4)))
    assert {job["id"]: job["date"] for job in foreman.kept()["jobs"]}["boat shed"] == day(4)
    assert "is not in 2100-W10" in words(foreman.press("move:boat shed", to=day(9)))
    planned(foreman)
    foreman.press("cancel:boat shed")
    assert "because boat shed was cancelled" in words(planned(foreman))
    assert [job["id"] for job in foreman.kept()["jobs"]] == ["north wall"]


def test_a_list_is_refused_as_at_the_counter(serving: Stack) -> None:
    """A line that is none, a job without a name, a day outside: each beside its field, and the list stands there."""
    foreman = begun(serving, "page-list")
    page = foreman.job("", 1, "2 @ 40 C\n3 @ blue")
    assert page.status_code == 422
    assert "One line needs a look: line 2 is the first." in words(page)
    assert "What is the job called?" in words(page)
    assert fields_of(page.text, "job-form")["text"] == "2 @ 40 C\n3 @ blue"
    assert "The week has a job boat shed" in words(foreman.job("boat shed", 1, "2 @ 40 C"))
    assert "Line 1: takes more than 60 pieces" in words(foreman.job("long one", 1, "1 @ 2999' D"))
    assert len(foreman.kept()["jobs"]) == 2


def test_a_notation_is_asked_about_once(serving: Stack) -> None:
    """What 9-7 means: answered, both lines are read by it, 115 in and 82 in."""
    foreman = begun(serving, "page-asked")
    asked = foreman.job("asked", 1, "9-7\n6-10")
    assert (asked.status_code, "How is 9-7 meant?" in words(asked)) == (422, True)
    fields = fields_of(asked.text, "job-form") | {"answer:n-n": "feet-inches", "do": "put"}
    assert serving.client.post(f"{foreman.here}/job", data=fields).status_code == 303
    assert [item["length"] for item in foreman.kept()["jobs"][-1]["required"]] == [115, 82]


def test_a_list_may_name_a_material_of_the_catalogue(serving: Stack) -> None:
    """It comes into the week with the job."""
    stock = [{"id": "10", "length": 120, "price": "4.10"}]
    serving.client.put("/v1/materials/page-j-trim", json={"units": "in", "category": "channel", "stock": stock})
    foreman = begun(serving, "page-catalogue")
    foreman.job("trim", 2, "page-j-trim:\n4 @ 60")
    week = foreman.kept()
    assert [material["id"] for material in week["materials"]] == ["panel-sand", "page-j-trim"]
    assert week["jobs"][-1]["required"][0]["material"] == "page-j-trim"


def test_a_plan_s_list_is_taken_over_by_its_number(serving: Stack) -> None:
    """With its materials; a number that is none is said to be none."""
    foreman = begun(serving, "page-plan")
    stock = [{"id": "12", "length": 144, "price": "5"}]
    body = {"name": "soffit", "units": "in", "materials": [{"id": "page-soffit", "category": "soffit", "stock": stock}],
            "required": [{"mark": "S", "material": "page-soffit", "length": "24", "quantity": 6}]}  # fmt: skip
    plan_id = serving.posted(body, Prefer="wait=30")
    number = serving.client.get(f"/v1/cut-plans/{plan_id}").json["number"]
    assert "Cut on" in words(foreman.job("", 1, "", "from-plan", number="1"))
    assert foreman.job("", 1, "", "from-plan", number=number).status_code == 303
    week = foreman.kept()
    assert [(job["id"], job["date"]) for job in week["jobs"]][-1] == ("soffit", day(1))
    assert [material["id"] for material in week["materials"]] == ["panel-sand", "page-soffit"]


def test_two_foremen_are_told_and_nothing_is_lost(serving: Stack) -> None:
    """What the second typed stands there still; pressed again it is done, and the first one's job is there too."""
    foreman = Foreman(serving, "page-two")
    foreman.begin()
    both = fields_of(serving.client.get(f"{foreman.here}/job").text, "job-form")
    first = both | {"job": "one", "on": day(0), "text": "1 @ 40", "do": "put"}
    assert serving.client.post(f"{foreman.here}/job", data=first).status_code == 303
    second = both | {"job": "two", "on": day(1), "text": "2 @ 40", "do": "put"}
    page = serving.client.post(f"{foreman.here}/job", data=second)
    assert (page.status_code, "Somebody else changed this week meanwhile" in words(page)) == (422, True)
    again = fields_of(page.text, "job-form") | {"do": "put"}
    assert again["text"] == "2 @ 40"
    assert serving.client.post(f"{foreman.here}/job", data=again).status_code == 303
    assert [job["id"] for job in foreman.kept()["jobs"]] == ["one", "two"]


def test_the_evening_s_report(serving: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """One press for as on the sheet; except: one A was not cut, and an offcut is an inch shorter."""
    foreman = begun(serving, "page-report")
    planned(foreman)
    evening = datetime.fromisoformat(f"{day(0)}T18:00").replace(tzinfo=UTC)
    monkeypatch.setattr(weeks, "now", lambda: evening)
    there = f"{foreman.here}/days/{day(0)}"
    fields = fields_of(serving.client.get(there).text, "report")
    assert serving.client.post(there, data=fields | {"do": "as-planned"}).status_code == 303
    (report,) = foreman.kept()["reports"]
    assert (report["done"][0]["quantity"], len(report["kept"]), report["sticks"][0]["count"]) == (3, 3, 3)
    told = serving.client.post(there, data=fields | {"do": "as-planned"})
    assert "Somebody else changed this week meanwhile" in words(told)
    fields = fields_of(told.text, "report") | {"do": "except", "piece-0": "1", "kept-0-length": "49"}
    assert "how many?" in words(serving.client.post(there, data=fields | {"piece-0": "4"}))
    none = {name: value for name, value in fields.items() if not name.startswith("kept")} | {"stick-0": "0"}
    assert "but sticks and offcuts used are 0" in words(serving.client.post(there, data=none))
    many = serving.client.post(there, data=fields | {"stick-0": "4"})
    assert "of panel-sand are reported used, of 3 left" in words(many)
    assert 'aria-describedby="why-stick-0"' in many.text
    assert serving.client.post(there, data=fields).status_code == 303
    (report,) = foreman.kept()["reports"]
    assert report["done"][0]["quantity"] == 2
    assert sorted(offcut["length"] for offcut in report["kept"]) == [49, 50, 50]


def test_of_a_plan_that_is_no_more_of_the_week_nothing_is_proven(serving: Stack) -> None:
    """Three panels are proven, for what they are of: a job put in since is on no sheet, on the page and on paper."""
    foreman = begun(serving, "page-since")
    assert "Planned. Sticks for the week: 29.40 , and no plan costs less." in words(planned(foreman))
    foreman.job("shed", 4, "5 @ 100 C")
    shown, paper = (words(serving.client.get(at)) for at in (foreman.here, f"{foreman.resource}/page.html"))
    assert "Changed since it was planned. Sticks of the week as it was planned: 29.40 ." in shown
    assert "no plan costs less" not in shown
    assert SINCE in paper


def test_a_missing_piece_is_told_with_what_to_buy(serving: Stack) -> None:
    """Two panels in the yard: one A has none, and one panel more would do."""
    foreman = Foreman(serving, "page-short")
    foreman.begin(**{"m0-s0-available": "2"})
    foreman.job("north wall", 0, "3 @ 100 A")
    shown = words(planned(foreman))
    assert "1 of A , north wall : no stick is left for it on its day" in shown
    assert "To buy for them: 1 × 12'-6\" panel-sand." in shown


def test_what_came_is_noted(serving: Stack) -> None:
    """Two of the three panels that were ordered."""
    foreman = begun(serving, "page-came")
    planned(foreman)
    page = foreman.press(f"came:{day(0)}", **{f"came-{day(0)}-0": "some"})
    assert "How many 12'-6\" panel-sand came? Write a whole number" in words(page)
    page = foreman.press(f"came:{day(0)}", **{f"came-{day(0)}-0": "2"})
    assert "came 2 × 12'-6\" panel-sand" in words(page)
    assert foreman.kept()["deliveries"][0]["received"][0]["count"] == 2


def test_what_is_wrong_with_the_week_is_said_beside_its_field(serving: Stack) -> None:
    """A time zone there is none of, and no length to buy; nothing is begun."""
    foreman = Foreman(serving, "page-wrong")
    assert "Time zone: must be a time zone" in words(foreman.begin(timezone="Mars"))
    assert "In which lengths is panel-sand sold?" in words(foreman.begin(**{"m0-s0-length": "", "m0-s0-price": ""}))
    assert serving.client.get(foreman.resource).status_code == 404
