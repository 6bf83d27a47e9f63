"""Each background job ends once, also when its worker is killed in the middle of it."""

import os
import time
from pathlib import Path

import pytest
from django.db import transaction
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import ProcrastinateEvent, ProcrastinateJob

from api.server import jobs, worker
from tests.workers import empty_the_queue, running_worker, take_up_stalled

# A worker as `millrace worker` runs it, with one job more: it notes each time it is begun and
# ended, and never ends the first time, so that its worker can be killed meanwhile.
WORKER = """
import os, sys, time
from pathlib import Path
import django
django.setup()
from procrastinate.contrib.django import app
from api.server import worker

@app.task(name="press-sheet")
def press_sheet(*, notes):
    earlier = Path(notes).read_text()
    with Path(notes).open("a") as file:
        print("begun", file=file, flush=True)
        while not earlier:
            time.sleep(0.1)
        print("ended", file=file)

worker.work()
"""
# Workers that are stopped ever later after their start.
STARTS_AND_STOPS = """
import time
import django
django.setup()
from api.server.worker import BackgroundWorker

for stop_after_ms in range(40):
    with BackgroundWorker():
        time.sleep(stop_after_ms / 1000)
"""
WAIT_S = 60

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def empty_queue() -> None:
    empty_the_queue()


def wait_until(condition: str, job_id: int, notes: Path) -> None:
    """Wait for a status of the job or a line in its notes; fail rather than hang."""
    deadline_s = time.monotonic() + WAIT_S
    while time.monotonic() < deadline_s:
        if condition in {
            ProcrastinateJob.objects.get(id=job_id).status,
            *notes.read_text().split(),
        }:
            return
        time.sleep(0.05)
    pytest.fail(f"The job is still not {condition!r} after {WAIT_S} s.")


def defer(notes: Path) -> int:
    notes.write_text("")
    return app.configure_task("press-sheet", allow_unknown=True).defer(notes=str(notes))


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is Unix's")
def test_a_job_whose_worker_is_killed_is_ended_once_by_another(tmp_path: Path) -> None:
    notes = tmp_path / "notes"
    job_id = defer(notes)
    with running_worker(WORKER) as first:
        wait_until("begun", job_id, notes)
        first.kill()
    assert ProcrastinateJob.objects.get(id=job_id).status == "doing"
    take_up_stalled(silent_s_max=0)
    with running_worker(WORKER):
        wait_until("succeeded", job_id, notes)
    assert notes.read_text().split() == ["begun", "begun", "ended"]
    ends = ProcrastinateEvent.objects.filter(job_id=job_id, type="succeeded")
    assert ends.count() == 1


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is Unix's")
def test_a_job_whose_worker_still_answers_is_left_to_it(tmp_path: Path) -> None:
    notes = tmp_path / "notes"
    job_id = defer(notes)
    with running_worker(WORKER) as busy:
        wait_until("begun", job_id, notes)
        take_up_stalled(silent_s_max=jobs.SILENT_S_MAX)
        assert ProcrastinateJob.objects.get(id=job_id).status == "doing"
        busy.kill()


def test_a_job_that_ends_its_worker_each_time_is_given_up(tmp_path: Path) -> None:
    job_id = defer(tmp_path / "notes")
    for tries in range(jobs.ATTEMPTS_MAX):
        assert ProcrastinateJob.objects.get(id=job_id).attempts == tries
        # As a worker that is killed right after it took the job leaves it.
        ProcrastinateJob.objects.filter(id=job_id).update(status="doing")
        take_up_stalled(silent_s_max=0)
    assert ProcrastinateJob.objects.get(id=job_id).status == "failed"


def test_workers_look_for_stalled_jobs_each_minute() -> None:
    periodic = {task.task.name: task.cron for task in app.periodic_registry.periodic_tasks.values()}
    assert periodic["take-up-stalled"] == "* * * * *"
    assert periodic["forget-ended"] == "17 3 * * *"


def test_every_job_has_a_lane() -> None:
    lanes = [queue for lane in worker.LANES for queue in lane]
    assert len(lanes) == len(set(lanes))
    assert {task.queue for task in app.tasks.values()} == set(lanes), "Say in LANES which."


def test_the_worker_in_a_thread_does_the_jobs_and_stops_with_its_context(tmp_path: Path) -> None:
    notes = tmp_path / "notes"
    job_id = app.configure_task("forget-ended").defer(timestamp=0)
    notes.write_text("")
    with worker.BackgroundWorker():
        wait_until("succeeded", job_id, notes)
    later = app.configure_task("forget-ended").defer(timestamp=0)
    assert ProcrastinateJob.objects.get(id=later).status not in {"doing", "succeeded"}


def test_a_worker_that_is_stopped_as_it_starts_ends() -> None:
    with running_worker(STARTS_AND_STOPS) as process:
        assert process.wait(timeout=WAIT_S) == 0


def test_a_job_deferred_in_a_transaction_that_fails_does_not_exist(tmp_path: Path) -> None:
    def book_and_slip() -> None:
        with transaction.atomic():
            defer(tmp_path / "notes")
            slip = "a slip"
            raise ValueError(slip)

    with worker.BackgroundWorker():
        with pytest.raises(ValueError, match="a slip"):
            book_and_slip()
        assert not ProcrastinateJob.objects.filter(task_name="press-sheet").exists()
