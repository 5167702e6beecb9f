"""The owner's price workbook: a new one, everything still wrong with it, and what a filled one holds.

Run it:  python examples/owners_prices.py [FOLDER]
"""

import sys
from pathlib import Path

import pandas as pd

from basecalc import load_prices, write_price_workbook
from basecalc.demo import fresh_directory, write_demo
from basecalc.pricing.prices import problems


def main(folder: Path) -> None:
    demo = write_demo(folder)
    empty = write_price_workbook(folder / "to-fill-in.xlsx")
    found = problems(empty)
    print(f"{len(found)} cells of a new price workbook wait for the owner, the first of them:")
    for problem in found[:3]:
        print(f"  {problem}")

    book = load_prices(demo.prices)
    print(f"\n{book.company.name}: overhead {book.company.overhead:.0%}, profit {book.company.profit:.0%} of the price")
    rows = [(price.code, price.unit, price.unit_price, price.cell) for price in book.prices.values()]
    print(pd.DataFrame(rows, columns=["code", "unit", "unit price", "cell"]).to_string(index=False))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else fresh_directory(Path("example-prices")))
