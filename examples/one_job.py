"""One job, from readings to a priced quote and its three workbooks.

Run it:  python examples/one_job.py [FOLDER]
"""

import sys
from pathlib import Path

from basecalc import lines_frame, load_job, load_prices, order_text, quantities_frame, quote, write_quote
from basecalc.demo import fresh_directory, write_demo


def main(folder: Path) -> None:
    demo = write_demo(folder)  # stands in for your own price workbook and job file
    job = load_job(demo.jobs[1])
    made = quote(job, load_prices(demo.prices))

    for name, ground in made.ground.items():
        print(f"{name}: {ground.strength.strength_class} ground, {ground.rule}")
        print(f"  stone only:   {made.depths[name].reason}")
        print(f"  with geogrid: {made.geogrid_depths[name].reason}")
    print(f"\nOffered: {made.offered}, {made.offer.total:,.2f}")
    for name, prices in made.deeper.areas.items():
        added = ", ".join(f"{price:,.2f}" for price in prices)
        print(f"{name}, each {made.deeper.step} more of base if the ground turns out softer adds in all: {added}")
    print()

    print(quantities_frame(made.offer)[["code", "amount", "unit"]].round(2).to_string(index=False))
    print(lines_frame(made.offer)[["code", "quantity", "unit", "unit_price", "amount"]].to_string(index=False))

    files = write_quote(made, folder / "quotes")
    print(f"\nFor the client: {files.client}\nFor the office: {files.office}\nFor the crew:   {files.crew}\n")
    print(order_text(made))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else fresh_directory(Path("example-one-job")))
