"""What is kept of finished answers: so many bytes, those asked for last."""

from __future__ import annotations

from service.finished import Answer, Answers

ROOM = 8_000
"""Bytes: room for three answers of 1,000 with what each takes beside its body, not for four."""


def answer(size: int) -> Answer:
    """Return an answer of so many bytes."""
    return Answer(bytes(size), (("Content-Type", "text/csv"),))


def test_it_is_given_back_as_it_was() -> None:
    """Body and headers."""
    answers, given = Answers(ROOM), answer(3)
    answers.put("a", given)
    kept = answers.get("a")
    assert kept is not None
    assert (kept.response().get_data(), kept.response().headers["Content-Type"]) == (bytes(3), "text/csv")
    assert answers.get("b") is None


def test_what_was_not_asked_for_longest_makes_room() -> None:
    """Of three, the first is asked for again: the fourth takes the place of the second."""
    answers = Answers(ROOM)
    for name in "abc":
        answers.put(name, answer(1_000))
    answers.get("a")
    answers.put("d", answer(1_000))
    assert [name for name in "abcd" if answers.get(name)] == ["a", "c", "d"]


def test_small_answers_are_not_kept_without_end() -> None:
    """However empty they are, each takes some of the room."""
    answers = Answers(ROOM)
    for number in range(100):
        answers.put(str(number), answer(0))
    assert sum(answers.get(str(number)) is not None for number in range(100)) < 10


def test_what_is_larger_than_all_the_room_is_not_kept() -> None:
    """It takes no other's place."""
    answers = Answers(ROOM)
    answers.put("a", answer(10))
    answers.put("b", answer(ROOM))
    assert (answers.get("a") is not None, answers.get("b")) == (True, None)
