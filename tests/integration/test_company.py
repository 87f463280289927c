"""A client's own settings: put once, they stand at the head of every order and sheet, and its tax below the total."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

import pytest

from service.counter.plan.plan_page import ready_on
from tests.support.shed import SHED, Json
from tests.support.stack import Stack, stack
from workers.orders.company import Company

YARD: Json = {
    "name": "Reed & Tern, siding yard", "address": ["7 Quay", "Harbour"], "phone": "555 0100", "email": "",
    "tax_name": "Sales tax", "tax_percent": "8.25", "note": "Returns within thirty days.", "handover": "pick_up",
    "ready_days": 2, "paper": "a4",
    "suppliers": [{"name": "North", "minimum_order": {"amount": "60", "below": "made_up", "fee": "0"},
                   "order_cost": "0", "delivery": "12.50", "free_delivery_from": None}],
}  # fmt: skip


def test_what_is_put_is_answered_and_kept_apart(tmp_path: Path) -> None:
    """Each client has its own settings; without any they are empty."""
    keys = {sha256(b"harbour-key").hexdigest(): "harbour", sha256(b"quay-key").hexdigest(): "quay"}
    with stack(tmp_path / "data", api_keys=keys) as locked:
        harbour, quay = ({"Authorization": f"Bearer {name}-key"} for name in ("harbour", "quay"))
        assert locked.client.put("/v1/company", json=YARD, headers=harbour).json == YARD
        assert locked.client.get("/v1/company", headers=harbour).json == YARD
        nothing = locked.client.get("/v1/company", headers=quay).json
        assert (nothing["name"], nothing["tax_percent"], nothing["paper"]) == ("", "0", None)


def test_settings_with_faults_are_refused_with_all_of_them(alone: Stack) -> None:
    """Each fault has its place, and what was kept before stays."""
    alone.client.put("/v1/company", json=YARD)
    wrong = {"address": ["x"] * 7, "tax_percent": "101", "paper": "legal", "ready_days": -1, "logo": "tern.png"}
    told = alone.client.put("/v1/company", json=wrong)
    assert told.status_code == 422
    assert {error["pointer"] for error in told.json["errors"]} == {f"#/{name}" for name in wrong}
    assert alone.client.get("/v1/company").json == YARD


def test_a_request_has_what_its_suppliers_charge_from_the_settings(alone: Stack) -> None:
    """Its materials name North, and nothing of what North charges is said; South is not in the settings."""
    alone.client.put("/v1/company", json=YARD)
    for said, names in (({"supplier": "North"}, ["North"]), ({"supplier": "South"}, []), ({}, [])):
        body = {**SHED, "materials": [{**SHED["materials"][0], **said}]}
        read = alone.client.post("/v1/cut-plans?dry_run=true", json=body).json
        assert [each["name"] for each in read["suppliers"]] == names
        kept = alone.store.job(alone.posted(body))
        assert kept is not None
        assert [each.name for each in kept.suppliers] == names
    own = [{"name": "North", "delivery": 3}]
    body = {**SHED, "materials": [{**SHED["materials"][0], "supplier": "North"}], "suppliers": own}
    read = alone.client.post("/v1/cut-plans?dry_run=true", json=body).json
    assert [each["delivery"] for each in read["suppliers"]] == ["3"]


def test_suppliers_are_kept_at_the_page(alone: Stack) -> None:
    """A row each, with one more to type in; what is wrong is told beside its field, and what else is set stays."""
    alone.client.put("/v1/company", json=YARD)
    page = alone.client.get("/settings").text
    assert 'name="s0-name" value="North"' in page
    assert 'name="s1-name" value=""' in page
    typed = {
        "name": "Yard", "s0-name": "North", "s0-amount": "60", "s0-below": "fee", "s0-fee": "5", "s1-name": "South",
        "s1-delivery": "9", "s2-name": "", "s2-below": "refused",
    }  # fmt: skip
    assert alone.client.post("/settings", data=typed).status_code == 303
    first, second = alone.client.get("/v1/company").json["suppliers"]
    assert first["minimum_order"] == {"amount": "60", "below": "fee", "fee": "5"}
    assert (second["name"], second["delivery"], second["minimum_order"]) == ("South", "9", None)
    wrong = alone.client.post("/settings", data={**typed, "s0-fee": "", "s1-name": "North", "s1-delivery": "-9"})
    assert wrong.status_code == 422
    for place in ("s0-fee", "s1-name", "s1-delivery"):
        assert f'id="why-{place}"' in wrong.text
    assert [each["name"] for each in alone.client.get("/v1/company").json["suppliers"]] == ["North", "South"]


def test_sheets_have_head_tax_and_note(serving: Stack) -> None:
    """Six panels at 9.80 are 58.80; 8.25 % of it is 4.851, so 4.85, and 63.65 in all. The company's paper is A4."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    serving.client.put("/v1/company", json=YARD)
    try:
        sheet = serving.client.get(f"/v1/cut-plans/{plan_id}/customer-copy.html").text
        page = serving.client.get(f"/plans/{plan_id}").text
    finally:
        serving.client.put("/v1/company", json={})
    for text in ("Reed &amp; Tern, siding yard", "7 Quay", "58.80", "4.85", "63.65", "Returns within thirty days."):
        assert text in sheet
        assert text in page
    assert "size: 210.0mm" in sheet


@pytest.mark.parametrize(("percent", "total", "tax"), [
    ("8.25", "58.80", "4.85"), ("5", "0.10", "0.01"), ("5", "0.09", "0.00"), ("0", "58.80", "0.00"),
])  # fmt: skip
def test_tax_is_rounded_to_the_cent(percent: str, total: str, tax: str) -> None:
    """Half a cent is rounded up."""
    assert Company(tax_percent=Decimal(percent)).tax_on(Decimal(total)) == Decimal(tax)


@pytest.mark.parametrize(("ordered", "days", "ready"), [
    ("2026-11-27", 0, "2026-11-27"),  # a Friday
    ("2026-11-27", 1, "2026-11-30"),
    ("2026-11-29", 0, "2026-11-30"),  # a Sunday
    ("2026-11-29", 2, "2026-12-02"),
    ("2026-11-30", 5, "2026-12-07"),
])  # fmt: skip
def test_working_days_pass_over_weekends(ordered: str, days: int, ready: str) -> None:
    """An order of a weekend counts from Monday."""
    assert ready_on(date.fromisoformat(ordered), days) == date.fromisoformat(ready)
