"""Every kind of problem that this server answers, each with its cause and its remedy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem: its status, its title, why it is answered, what to do, and the header that helps there."""

    status: int
    title: str
    cause: str
    remedy: str
    header: str | None = None


KINDS: Mapping[str, Kind] = {
    "not-json": Kind(
        400,
        "The body is not JSON",
        "What was sent is no JSON text, or one that programs read in different ways. The detail names the place.",
        "Send one JSON object, UTF-8, no key twice, no NaN or Infinity.",
    ),
    "malformed-header": Kind(
        400,
        "A header can't be read",
        "A header that this address heeds is not written as its standard has it.",
        "See the header's own standard, named in the detail.",
    ),
    "malformed-query": Kind(
        400,
        "The query string can't be read",
        "A parameter behind the question mark is unknown here, or its value is none that it takes.",
        "Correct the parameter named in the detail.",
    ),
    "key-missing": Kind(
        401,
        "An API key is needed",
        "This server asks who calls. No key was sent, or one that it does not know, or one that was revoked.",
        "Send Authorization: Bearer and your key.",
        "WWW-Authenticate",
    ),
    "not-allowed": Kind(
        403,
        "The key is not good for that",
        "Each key has scopes, and this call needs one that the key has not.",
        "Use a key with the scope that the detail names.",
    ),
    "not-found": Kind(
        404,
        "There is nothing here",
        "Nothing was ever under this address, it was forgotten, or it is another client's, who alone is told so.",
        "Check the address; a plan's address is in Location.",
    ),
    "not-ready": Kind(
        409,
        "There is no plan yet",
        "The plan still waits for a worker, or is being worked out.",
        "Ask again after Retry-After seconds.",
        "Retry-After",
    ),
    "no-plan": Kind(
        409,
        "There is no plan",
        "The planning ended without a plan: it failed, or was cancelled before there was one.",
        "See problem in the resource for why there is none.",
    ),
    "not-measured": Kind(
        404,
        "There are no measurements",
        "The plan was asked for as a list of lengths, and nothing was measured for it.",
        "Only a plan that was taken off keeps what was measured.",
    ),
    "not-over": Kind(
        409,
        "The plan is not over",
        "A plan that waits or is being worked out can't be forgotten.",
        "Cancel it first, or wait until it is over.",
    ),
    "unreadable": Kind(
        409,
        "What is kept can't be read",
        "What the store has under this address was damaged, or another version of this program kept it.",
        "Put it again; what was planned of it is planned anew.",
    ),
    "changed": Kind(
        412,
        "It has changed meanwhile",
        "If-Match had an ETag that is no longer the one of what is kept: somebody changed it since you looked.",
        "Get it again, and send its ETag as If-Match.",
    ),
    "expired": Kind(
        410,
        "The result has expired",
        "Results are kept for so many days as this server is set to, and these are over.",
        "Post the request again.",
    ),
    "length-required": Kind(
        411,
        "Content-Length is missing",
        "The body came without a word of how long it is, so that one that was cut off could pass for a whole one.",
        "Send Content-Length.",
    ),
    "too-large": Kind(
        413,
        "The body is too large",
        "The body has more bytes than this server takes.",
        "Divide the request; the limit is in the detail.",
    ),
    "not-accepted": Kind(
        415,
        "The body must be plain application/json",
        "The body was said to be of another type, in another encoding, or compressed.",
        "Send Content-Type: application/json, UTF-8, not compressed.",
        "Accept-Encoding",
    ),
    "unplannable": Kind(
        422,
        "The request can't be planned",
        "The body is JSON, but not a request that can be planned: fields are wrong, or contradict one another.",
        "Each entry of errors says where and what to change.",
    ),
    "frozen": Kind(
        409,
        "That day's sheet is frozen",
        "The crew works by that day's sheet already: it froze at the time that the week's limits say.",
        "Give the job a later day; today's sheet stays as it is.",
    ),
    "week-over": Kind(
        409, "The week is over", "All days of that week have passed.", "Put the job in this week or a later one."
    ),
    "job-elsewhere": Kind(
        409,
        "The job is in another week",
        "A job of this name stands in another week of the crew, and would be cut twice.",
        "Withdraw it there first.",
    ),
    "continued": Kind(
        409,
        "It was gone on with already",
        "Another plan was made of what was left of this one and took its place.",
        "Go on with the plan that took its place.",
    ),
    "nothing-left": Kind(
        409,
        "Nothing is left to cut",
        "By what was reported, all pieces of the plan are cut.",
        "Every piece is cut; there is nothing to plan.",
    ),
    "offcut-taken": Kind(
        409,
        "Others have it by now",
        "What this plan was to use of the rack was taken by another plan while it was made.",
        "Plan it again: it is planned with what is left.",
    ),
    "key-reused": Kind(
        422,
        "The Idempotency-Key was used before",
        "The same key came with another request, which is still known under it.",
        "Use a new key for a different request.",
    ),
    "too-many": Kind(
        429,
        "Too many requests",
        "The client has asked for more within a minute than this server lets one ask for, or follows too many plans.",
        "Ask again after Retry-After seconds.",
        "Retry-After",
    ),
    "fault": Kind(
        500,
        "A fault of this server",
        "The program met something that it should have been ready for. The request is not to blame.",
        "It has been logged; tell whoever runs this server the Request-Id.",
    ),
    "busy": Kind(
        503,
        "Too much is waiting already",
        "As many of the client's plans wait for a worker as may, or as many callers follow plans.",
        "Ask again after Retry-After seconds.",
        "Retry-After",
    ),
    "store-away": Kind(
        503,
        "The store does not answer",
        "Redis, where everything is kept, is being started, is full, has too few replicas, or can't be reached.",
        "Nothing was acknowledged, and may have been done: after Retry-After seconds send it again, with the same "
        "Idempotency-Key, or look first what is there.",
        "Retry-After",
    ),
}
"""Every kind of problem by its name, as served under ``/problems/{name}``."""
