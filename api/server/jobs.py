"""Upkeep of the queue of background jobs, done by the workers themselves.

A worker that is killed leaves its job marked as being done. Workers send a heartbeat, so a job
whose worker has gone silent is put back in the queue for another one: each job ends once.
A task can therefore be begun more than once, and must write in one transaction.
"""

from procrastinate import JobContext
from procrastinate.contrib.django import app
from procrastinate.jobs import Status
from procrastinate.manager import JobManager

HEARTBEAT_S = 10
SILENT_S_MAX = 30
# A job that ends its worker each time would otherwise go round for ever.
ATTEMPTS_MAX = 5
_KEEP_ENDED_HOURS = 30 * 24


async def take_up_stalled_jobs(manager: JobManager, *, silent_s_max: float) -> None:
    """Put the jobs of silent workers back in the queue; fail those tried often enough."""
    for job in await manager.get_stalled_jobs(seconds_since_heartbeat=silent_s_max):
        if job.attempts + 1 < ATTEMPTS_MAX:
            await manager.retry_job(job)
        else:
            await manager.finish_job(job, status=Status.FAILED, delete_job=False)


@app.periodic(cron="* * * * *")
@app.task(name="take-up-stalled", queueing_lock="take-up-stalled", pass_context=True)
async def take_up_stalled(context: JobContext, timestamp: int) -> None:
    """Look each minute for jobs whose worker has gone silent."""
    del timestamp  # the queue passes the minute it is for
    await take_up_stalled_jobs(context.app.job_manager, silent_s_max=SILENT_S_MAX)


@app.periodic(cron="17 3 * * *")
@app.task(name="forget-ended", queueing_lock="forget-ended", pass_context=True)
async def forget_ended(context: JobContext, timestamp: int) -> None:
    """Delete each night the jobs that ended a month ago or earlier."""
    del timestamp  # the queue passes the night it is for
    await context.app.job_manager.delete_old_jobs(
        nb_hours=_KEEP_ENDED_HOURS,
        include_failed=True,
        include_cancelled=True,
        include_aborted=True,
    )
