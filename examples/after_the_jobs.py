"""What built jobs used against their estimates, and what the sheet Company should then say.

Run it:  python examples/after_the_jobs.py [FOLDER]
"""

import sys
from pathlib import Path

from basecalc import load_season, write_season
from basecalc.demo import fresh_directory, write_demo
from basecalc.season.run import new_words, old_words

SEASON = Path(__file__).parent / "season"  # invented tickets, hours and results of invented jobs


def main(folder: Path) -> None:
    demo = write_demo(folder)
    season = load_season([SEASON], [SEASON / "jobs"], demo.prices)
    for job in season.jobs:
        made = "" if job.margin_made is None else f", made {job.margin_made:.1%}"
        print(f"{job.quote.job.number}: {job.result}, margin planned {job.margin_planned:.1%}{made}")
    print("\nFor the sheet Company; nothing is written there:")
    for one in season.suggestions:
        print(f"  {one.of}, {one.what}: {old_words(one)}; {new_words(one)}")
    print(f"\nFor the office: {write_season(season, folder / 'season.xlsx')}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else fresh_directory(Path("example-after-the-jobs")))
