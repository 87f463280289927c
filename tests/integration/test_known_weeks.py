"""A crew's week as somebody knows it: nothing to send where it is still so, and no change where it is not."""

from __future__ import annotations

from tests.support.crews import Crew, day, job, setup
from tests.support.stack import Stack


def test_an_unchanged_week_costs_no_bytes(serving: Stack) -> None:
    """GET with the ETag of what is known answers 304; with that of an earlier state the whole week."""
    crew = Crew(serving, "etag")
    etag = crew.put("", setup()).headers["ETag"]
    address = "/v1/crews/etag/weeks/2100-W10"
    for known in (etag, f"W/{etag}"):
        answer = serving.client.get(address, headers={"If-None-Match": known})
        assert (answer.status_code, answer.data, answer.headers["ETag"]) == (304, b"", etag)
    crew.put("/jobs/north", job(0, "100", 3))
    assert serving.client.get(address, headers={"If-None-Match": etag}).status_code == 200


def test_a_change_of_a_week_is_refused_where_it_is_not_as_known(serving: Stack) -> None:
    """Two people have the same state before them: the second to change it is told, and nothing is lost."""
    crew, address = Crew(serving, "match"), "/v1/crews/match/weeks/2100-W10"
    stale = {"If-Match": crew.put("", setup()).headers["ETag"]}
    fresh = {"If-Match": crew.put("/jobs/north", job(0, "100", 3)).headers["ETag"]}
    client = serving.client

    def tried(headers: dict[str, str]) -> list[int]:
        changes = [
            client.put(address, json=setup(), headers=headers),
            client.put(f"{address}/jobs/shed", json=job(1, "50", 3), headers=headers),
            client.put(f"{address}/deliveries/{day(1)}", json={}, headers=headers),
            client.put(f"{address}/rack", json={"offcuts": []}, headers=headers),
            client.delete(f"{address}/jobs/north", headers=headers),
            client.delete(address, headers=headers),
        ]
        return [answer.status_code for answer in changes]

    assert tried(stale) == [412] * 6
    assert [entry["id"] for entry in crew.get().json["jobs"]] == ["north"]
    assert tried(fresh) == [200, *[412] * 5]


def test_a_week_that_is_not_there_matches_nothing(serving: Stack) -> None:
    """``If-Match: *`` asks that there be one; without it the week is begun."""
    answer = serving.client.put("/v1/crews/none/weeks/2100-W10", json=setup(), headers={"If-Match": "*"})
    assert (answer.status_code, answer.json["type"]) == (412, "/problems/changed")
    assert Crew(serving, "none").get().status_code == 404
