"""A job, read from a file and checked: the client, what was read where, and the areas to pave."""

from basecalc.job.read import job_problems, load_job, parse_job
from basecalc.job.record import Job, JobArea, Spot

__all__ = ["Job", "JobArea", "Spot", "job_problems", "load_job", "parse_job"]
