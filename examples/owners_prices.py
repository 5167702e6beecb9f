"""The owner's price workbook: what it holds, and everything still wrong with a new one.

Run it where `basecalc demo` has left its folder:  python examples/owners_prices.py
"""

from basecalc import BasecalcError, load_prices, write_price_workbook

book = load_prices("basecalc-demo/prices.xlsx")
print(f"{book.company.name}: overhead {book.company.overhead:.0%}, profit {book.company.profit:.0%} of the price")
for price in book.prices.values():
    print(f"  {price.code:<18} {price.unit_price:>9} for one {price.unit:<5} {price.cell}")

empty = write_price_workbook("to-fill-in.xlsx")
try:
    load_prices(empty)
except BasecalcError as refusal:
    print(f"\nNot filled in yet, as 'basecalc check {empty}' lists cell by cell: {refusal}")
