"""Workers are killed at the worst moments; every accepted plan still comes to an end, with a plan or a reason."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

from tests import scenario
from tests.support.command import ROOT
from tests.support.shed import shed
from tests.support.stack import Stack, alive, children, eventually
from workers import queues
from workers.connection import URL_VARIABLE
from workers.plans.record import State
from workers.plans.store import Ask
from workers.shares import queue_key


def running_once(stack: Stack, folder: Path) -> str:
    """Post a plan that hangs in its first process and wait until it does."""
    witness = folder / "begun"
    plan_id = stack.posted(shed(name=f"once {witness}"))
    eventually(witness.exists)
    return plan_id


def test_a_killed_planning_process_is_replaced_at_once(stubbed: Stack, tmp_path: Path) -> None:
    """SIGKILL to the process that plans: the plan is made by the next one."""
    plan_id = running_once(stubbed, tmp_path)
    for horse in children(stubbed.workers[0].pid):
        os.kill(horse, signal.SIGKILL)
    record = stubbed.settled(plan_id)
    assert (record.state, record.deaths, record.has_plan) == (State.SUCCEEDED, 1, True)


def test_one_process_makes_plan_after_plan(stubbed: Stack) -> None:
    """It stands ready before the first comes, and is there for the next."""
    standing = children(stubbed.workers[0].pid)
    assert len(standing) == 1
    for _ in range(3):
        assert stubbed.settled(stubbed.posted(shed())).state is State.SUCCEEDED
    assert children(stubbed.workers[0].pid) == standing


def test_what_harms_its_process_harms_one_plan_only(stubbed: Stack) -> None:
    """Too much memory, a fault, an abort: the plan after each is made, by a process that has made none before."""
    for word in ("greedy", "broken", "die"):
        standing = children(stubbed.workers[0].pid)
        assert stubbed.settled(stubbed.posted(shed(name=word))).state is State.FAILED
        assert stubbed.settled(stubbed.posted(shed())).state is State.SUCCEEDED
        assert not set(children(stubbed.workers[0].pid)) & set(standing)


def test_a_process_killed_while_it_waits_costs_no_plan(stubbed: Stack) -> None:
    """The worker finds that out before it hands the next plan over: another process makes it."""
    (standing,) = children(stubbed.workers[0].pid)
    os.kill(standing, signal.SIGKILL)
    eventually(lambda: not alive(standing))
    record = stubbed.settled(stubbed.posted(shed()))
    assert (record.state, record.deaths, record.generation) == (State.SUCCEEDED, 0, 1)


def test_a_killed_worker_takes_its_child_along_and_another_takes_over(stubbed: Stack, tmp_path: Path) -> None:
    """SIGKILL to the worker: its planning process dies too, and another worker makes the plan, without blame."""
    plan_id = running_once(stubbed, tmp_path)
    (horse,) = children(stubbed.workers[0].pid)
    stubbed.workers[0].kill()
    stubbed.workers[0].wait()
    eventually(lambda: not alive(horse))
    stubbed.start_worker(stubbed=True)
    record = stubbed.settled(plan_id)
    assert (record.state, record.deaths) == (State.SUCCEEDED, 0)


def test_a_worker_whose_starter_is_dead_before_it_is_loaded_ends(alone: Stack) -> None:
    """No signal tells it of a death that came before it asked to be told; it looks for itself."""
    starts = "import sys; from workers.process import spawn; print(spawn('workers.worker', {}, log=sys.stderr).pid)"
    told = {**os.environ, URL_VARIABLE: alone.redis.url}
    command = [sys.executable, "-c", starts.format(["--die-with-parent"])]
    dead = subprocess.run(command, env=told, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=True)
    eventually(lambda: not alive(int(dead.stdout)))


def test_an_idle_second_worker_notices(stubbed: Stack, tmp_path: Path) -> None:
    """The other worker has been idle all along, and finds the lost plan although no new job wakes it."""
    plan_id = running_once(stubbed, tmp_path)
    stubbed.start_worker(stubbed=True)
    stubbed.workers[0].kill()
    assert stubbed.settled(plan_id).state is State.SUCCEEDED


def test_whoever_waits_is_served_while_every_other_worker_is_busy(stubbed: Stack, tmp_path: Path) -> None:
    """The one worker of any plan is at a long one: the worker for interactive requests makes what is waited for."""
    long = running_once(stubbed, tmp_path)
    stubbed.start_worker("--interactive")
    batch = stubbed.posted(shed())
    answer = stubbed.post(shed(), Prefer="wait=60")
    assert (answer.status_code, answer.json["state"]) == (200, "succeeded")
    assert stubbed.record(long).state is State.RUNNING
    assert stubbed.record(batch).state is State.QUEUED


def test_poison_is_given_up_and_others_go_on(stubbed: Stack) -> None:
    """A job that kills every process that touches it fails with a reason after two; the next one is planned."""
    poison, sound = stubbed.posted(shed(name="die")), stubbed.posted(shed())
    record = stubbed.settled(poison)
    assert record.state is State.FAILED
    assert record.failure is not None
    assert record.failure.code == "worker_died"
    assert stubbed.settled(sound).state is State.SUCCEEDED


def test_a_frozen_worker_loses_its_plan_and_cannot_overwrite(stubbed: Stack, tmp_path: Path) -> None:
    """SIGSTOP past the lease, another worker finishes; woken up, the first one's result is dropped."""
    plan_id = running_once(stubbed, tmp_path)
    (horse,) = children(stubbed.workers[0].pid)
    os.kill(horse, signal.SIGSTOP)
    os.kill(stubbed.workers[0].pid, signal.SIGSTOP)
    stubbed.start_worker(stubbed=True)
    finished = stubbed.settled(plan_id)
    os.kill(horse, signal.SIGCONT)
    os.kill(stubbed.workers[0].pid, signal.SIGCONT)
    eventually(lambda: not alive(horse))
    assert stubbed.record(plan_id) == finished


def test_told_to_stop_at_once_a_worker_hands_its_plan_back(stubbed: Stack, tmp_path: Path) -> None:
    """Two SIGTERMs: the plan is queued again, counts no death, and the next worker makes it."""
    plan_id = running_once(stubbed, tmp_path)
    worker = stubbed.workers[0]
    while worker.poll() is None:
        worker.terminate()
        eventually_ends(worker.pid)
    stubbed.start_worker(stubbed=True)
    record = stubbed.settled(plan_id)
    assert (record.state, record.deaths) == (State.SUCCEEDED, 0)


def eventually_ends(pid: int) -> None:
    """Give a process a moment to end, in steps of rq's deafness to a second signal within a second."""
    for _ in range(15):
        if not alive(pid):
            return
        signal.sigtimedwait([signal.SIGUSR1], 0.1)


def test_a_job_that_needs_too_much_memory_fails_alone(stubbed: Stack) -> None:
    """A planning process is given so much address space and no more; beyond it the job fails with a reason."""
    record = stubbed.settled(stubbed.posted(shed(name="greedy")))
    assert (record.state, record.failure and record.failure.code) == (State.FAILED, "out_of_memory")


def test_a_plan_the_checker_refuses_is_no_answer(stubbed: Stack) -> None:
    """A refused plan is a failed job with a reason, in the resource too."""
    plan_id = stubbed.posted(shed(name="refused"))
    stubbed.settled(plan_id)
    answer = stubbed.client.get(f"/v1/cut-plans/{plan_id}").json
    assert (answer["state"], answer["result"], answer["problem"]["code"]) == ("failed", None, "plan_refused")
    assert stubbed.client.get(f"/v1/cut-plans/{plan_id}/sticks").status_code == 409


def test_a_fault_of_the_program_is_told_without_its_innards(stubbed: Stack) -> None:
    """An unexpected error fails the job; what it was is logged, not shown."""
    plan_id = stubbed.posted(shed(name="broken"))
    record = stubbed.settled(plan_id)
    assert record.failure is not None
    assert (record.failure.code, "no such thing" in record.failure.detail) == ("internal_error", False)


def test_a_plan_that_does_not_come_back_is_cut_off(stubbed: Stack) -> None:
    """Far beyond its solving time a planning process is cut off, and the job fails with a reason."""
    job = replace(scenario.shed(), name="asleep")
    plan_id = stubbed.store.create("a" * 32, Ask("anybody", queues.BATCH, job))
    queues.enqueue(stubbed.store.redis, queues.BATCH, "anybody", plan_id, 1, seconds=2 - queues.GRACE_SECONDS)
    record = stubbed.settled(plan_id)
    assert (record.state, record.failure and record.failure.code) == (State.FAILED, "timed_out")


def test_a_plan_that_fell_off_the_queue_is_found(alone: Stack) -> None:
    """A worker that dies in the instant of taking a job leaves it on no queue; it is queued again."""
    plan_id = alone.posted(shed())
    alone.store.redis.delete(queue_key(queues.BATCH))
    alone.start_worker()
    assert alone.settled(plan_id).state is State.SUCCEEDED
