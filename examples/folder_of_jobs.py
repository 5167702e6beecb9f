"""A folder of job files into quotes; a job that cannot be quoted does not stop the others.

Run it:  python examples/folder_of_jobs.py [FOLDER]
"""

import sys
from pathlib import Path

import pandas as pd

from basecalc.demo import fresh_directory, write_demo
from basecalc.runs import job_files, quote_files


def main(folder: Path) -> None:
    demo = write_demo(folder)
    swamp = folder / "jobs" / "4-too-soft.toml"
    swamp.write_text(demo.jobs[0].read_text("utf-8").replace('"dump truck", reading = 0.5', '"stand", reading = 4'))

    rows = []
    for outcome in quote_files(job_files([folder / "jobs"]), demo.prices, demo.quotes):
        made = outcome.quote
        rows.append(
            {
                "job": outcome.job.name,
                "offered": made.offered if made else "",
                "total": made.offer.total if made else None,
                "file or reason": outcome.files.client.name if outcome.files else outcome.refusal,
            }
        )
    with pd.option_context("display.max_colwidth", None, "display.width", None):
        print(pd.DataFrame(rows).to_string(index=False))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else fresh_directory(Path("example-folder")))
