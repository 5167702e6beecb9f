"""The call from the site: the ground is softer than it was read. A change order at the signed prices.

Run it:  python examples/softer_ground.py [FOLDER]
"""

import sys
from pathlib import Path

from basecalc import change_order, load_job, load_prices, load_quote, quote, write_change, write_quote
from basecalc.demo import fresh_directory, write_demo


def main(folder: Path) -> None:
    demo = write_demo(folder)
    job = load_job(demo.jobs[0])
    out = write_quote(quote(job, load_prices(demo.prices)), folder / "signed")  # the quote that the client signed

    signed = load_quote(out.office)  # its own prices, whatever today's are
    area = job.areas[0].name
    order = change_order(signed.quote, {area: "medium"}, signed.revision)
    print(f"{signed.quote.job.number}: {area}, designed for {signed.quote.ground[area].strength.strength_class} ground")
    for line in order.lines:
        print(f"  {line.title:<40} {line.difference:>12,.2f}")
    print(f"  {'to be signed before work goes on':<40} {order.total:>12,.2f}\n")

    files = write_change(order, folder / "signed")
    print(f"For the client: {files.client}\nFor the office: {files.office}\nFor the crew:   {files.crew}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else fresh_directory(Path("example-softer-ground")))
