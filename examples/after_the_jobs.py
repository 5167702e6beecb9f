"""What built jobs used against their estimates, and what the sheet Company should then say.

Run it where `basecalc demo` has left its folder:  python examples/after_the_jobs.py
"""

from basecalc import load_season, write_season

# invented tickets, hours, invoices and results of invented jobs
season = load_season(["examples/season"], ["examples/season/jobs"], "basecalc-demo/prices.xlsx")
for job in season.jobs:
    made = "" if job.margin_made is None else f", made {job.margin_made:.1%}"
    print(f"{job.quote.job.number}: {job.result}, margin planned {job.margin_planned:.1%}{made}")
print("\nFor the sheet Company; nothing is written there:")
for one in season.suggestions:
    if one.new is not None:
        now = "nothing" if one.old is None else f"{one.old:.4g}"
        print(
            f"  {one.of}, {one.what}: {now} now, {one.new:.4g} suggested ({one.low:.4g} to {one.high:.4g}), {one.cell}"
        )
print(f"\nFor the office: {write_season(season, 'season.xlsx')}")
