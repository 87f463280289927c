"""Planning on a server from the shell: submit a request, ask how it stands, fetch what came of it."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from typing import Any

import click

from service.cli.shared import BAD_INPUT, FAILURE, PENDING, told
from service.client import OVER, Client, Refused, Unreachable
from service.http.problems import Problem
from service.http.strict_json import parse, require_object

RESULT = "result"
"""What is fetched unless a document is named."""


def submit(client: Client, data: bytes, once: str | None, *, wait: bool) -> int:
    """Submit a request or measurements, print the plan's id or once it is over the plan, and return the exit code."""
    body = require_object(parse(data))
    asked = client.submit_measured(body, once=once) if "uses" in body else client.submit(body, once=once)
    if wait:
        return _print(client.wait(asked["id"]))
    click.echo(asked["id"])
    return 0


def status(client: Client, plan_id: str, *, as_json: bool = False) -> int:
    """Print in a line how a plan stands: number, state, cost and bound. Return 0 once it has a result."""
    plan = client.look(plan_id)
    progress = plan["progress"]
    if as_json:
        told = {name: plan[name] for name in ("id", "number", "state", "progress", "problem") if name in plan}
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
        return _code(plan)
    click.echo("\t".join(str(word) for word in (plan["number"], plan["state"], progress["cost"], progress["bound"])))
    return _code(plan)


def fetch(client: Client, plan_id: str, document: str) -> int:
    """Write a plan's resource or one of its documents to standard output. Return 0 if it has a result."""
    if document == RESULT:
        return _print(client.look(plan_id))
    sys.stdout.buffer.write(client.sheet(plan_id, document))
    return 0


def answered(call: Callable[[], int]) -> int:
    """Return the exit code of a call; say in sentences what is refused, and that a server does not answer."""
    try:
        return call()
    except Problem as problem:
        click.echo(told(problem), err=True)
        return BAD_INPUT
    except Refused as refused:
        faults = (f"  {error.get('pointer', '')}: {error.get('detail', '')}" for error in refused.errors)
        click.echo("\n".join((refused.detail, *faults)), err=True)
        return BAD_INPUT if refused.status < 500 else FAILURE
    except Unreachable as error:
        click.echo(str(error), err=True)
        return FAILURE


def _print(plan: Mapping[str, Any]) -> int:
    click.echo(json.dumps(plan, indent=2, ensure_ascii=False))
    return _code(plan)


def _code(plan: Mapping[str, Any]) -> int:
    if plan["result"]:
        return 0
    return FAILURE if plan["state"] in OVER else PENDING
