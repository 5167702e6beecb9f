"""A folder of job files into quotes; a job that cannot be quoted does not stop the others.

Run it where `basecalc demo` has left its folder:  python examples/folder_of_jobs.py
"""

from pathlib import Path

from basecalc import BasecalcError, load_prices, quote

prices = load_prices("basecalc-demo/prices.xlsx")
for job in sorted(Path("basecalc-demo/jobs").glob("*.toml")):
    try:
        made = quote(job, prices)
        files = made.save("folder")
    except BasecalcError as refusal:
        print(f"{job.name}: {refusal}")
    else:
        print(f"{job.name}: {made.offered}, {made.offer.total:,.2f}, {files.client}")
